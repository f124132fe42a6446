"""Photos that come in with an observation."""

from __future__ import annotations

from collections.abc import Iterable

from django.core.files.uploadedfile import UploadedFile

from setwright.files import SetFile, editing
from setwright.identity.model import Family
from setwright.workbench.photos import store
from setwright.workbench.photos.cleaning import Cleaned
from setwright.workbench.photos.incoming import cleaned_file, table_of

MOST = 12
"""So many photos come in with one observation; the set's page of photos takes more."""


def cleaned_of(files: Iterable[UploadedFile[bytes]]) -> list[Cleaned]:
    """The pictures that were sent, cleaned. Raises PhotoRefused at the first that cannot be taken."""
    return [cleaned_file(file) for file in [*files][:MOST] if file.size]


def keep(photos: Iterable[Cleaned], feature: str, by: str) -> list[dict[str, object]]:
    """Keep them on the disk; their tables for the set's file. Raises OSError where the disk is full."""
    tables = []
    for photo in photos:
        store.keep(photo)
        tables.append(table_of(photo, by, feature))
    return tables


def with_photos(file: SetFile, family: Family, tables: Iterable[dict[str, object]]) -> SetFile:
    """The set's file with these photos behind the others."""
    for table in tables:
        file = editing.add_photo(file, family, table)
    return file
