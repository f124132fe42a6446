"""Several photos that were sent at once: what can be taken is kept and entered in the set's file as one change."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime

from django.contrib.auth.models import AbstractBaseUser
from django.core.files.uploadedfile import UploadedFile

from setwright.files import SetFile, editing
from setwright.identity.model import Family
from setwright.workbench.photos import store
from setwright.workbench.photos.cleaning import LARGEST_BYTES, Cleaned, PhotoRefused, cleaned, too_large
from setwright.workbench.records import keeping
from setwright.workbench.services.records import family_of, set_file_of
from setwright.workbench.sets.models import SetRecord

MOST_AT_ONCE = 40
MOST_NAME = 120


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of photos that were sent.

    added : hashes that stand in the set's file now and did not before. there : names of those it had already.
    refused : one sentence each.
    """

    added: tuple[str, ...]
    there: tuple[str, ...]
    refused: tuple[str, ...]


def cleaned_file(file: UploadedFile[bytes]) -> Cleaned:
    """A file that was sent, cleaned. Raises PhotoRefused; one that is too large is not even read."""
    name = plain_name(file.name or "")
    if (file.size or 0) > LARGEST_BYTES:
        raise too_large(name, file.size or 0)
    return cleaned(file.read(), name)


def plain_name(name: str) -> str:
    """A file name as it may stand in the set's file.

    >>> plain_name("C:/pictures/IMG\\t1.jpg"), plain_name("")
    ('IMG1.jpg', 'photo')
    """
    last = name.replace("\\", "/").rsplit("/", 1)[-1]
    return "".join(c for c in last if c.isprintable()).strip()[-MOST_NAME:] or "photo"


def take(
    record: SetRecord,
    files: Iterable[UploadedFile[bytes]],
    *,
    by: AbstractBaseUser | None,
    feature: str | None = None,
    caption: str = "",
) -> Taken:
    """Keep the photos and enter them in the set's file, all that can be taken in one change.

    Raises OSError where the disk is full, FileProblems where the file would not read; nothing is entered then.
    """
    family = family_of(record.family)
    named = {(photo.sha256, photo.feature) for photo in set_file_of(record).case.photos}
    tables: list[dict[str, object]] = []
    there, refused = [], []
    for file in files:
        try:
            photo = cleaned_file(file)
        except PhotoRefused as problem:
            refused.append(f"{problem.message}.")
            continue
        if (photo.sha256, feature) in named:
            there.append(photo.name)
            continue
        named.add((photo.sha256, feature))
        store.keep(photo)
        tables.append(table_of(photo, keeping.name_of(by), feature, caption))
    if tables:
        keeping.edit(record, lambda file: _with(file, family, tables), by=by, what=_what(family, len(tables), feature))
    return Taken(tuple(str(table["sha256"]) for table in tables), tuple(there), tuple(refused))


def table_of(photo: Cleaned, by_name: str, feature: str | None = None, caption: str = "") -> dict[str, object]:
    """The photo's table in the set's file."""
    return {
        "sha256": photo.sha256,
        "name": photo.name,
        "caption": caption or None,
        "feature": feature,
        "taken": photo.taken,
        "added_at": moment(),
        "added_by": by_name,
    }


def moment() -> str:
    """Now, as the set's file writes it."""
    return datetime.now(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")


def _with(file: SetFile, family: Family, tables: list[dict[str, object]]) -> SetFile:
    for table in tables:
        file = editing.add_photo(file, family, table)
    return file


def _what(family: Family, number: int, feature: str | None) -> str:
    added = "Photo added" if number == 1 else f"{number} photos added"
    return added if feature is None else f"{added}: {family.feature(feature).label}"
