"""The photos of a survivor: kept, and named in its row."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from django.core.files.uploadedfile import UploadedFile

from setwright.files.case import Photo
from setwright.files.survivors.editing import change_row
from setwright.files.survivors.photos import COLUMN, read_photos, write_photos
from setwright.files.survivors.table import rows_by_id
from setwright.notation import NotationError
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.photos import store
from setwright.workbench.photos.cleaning import Cleaned, PhotoRefused
from setwright.workbench.photos.incoming import MOST_AT_ONCE, cleaned_file
from setwright.workbench.photos.models import Blob
from setwright.workbench.records.keeping import By
from setwright.workbench.services.records import family_of
from setwright.workbench.services.survivors import change_register
from setwright.workbench.site.words import count


def photos_in(cells: Mapping[str, str]) -> tuple[Photo, ...]:
    """The photos that a row names; none where the cell cannot be read."""
    try:
        return read_photos(cells.get(COLUMN, ""))
    except NotationError:
        return ()


def shown_photos(cells: Mapping[str, str]) -> list[tuple[Photo, Blob]]:
    """The photos of a row that are kept here, each once."""
    photos = {photo.sha256: photo for photo in photos_in(cells)}
    blobs = store.blobs_of(list(photos))
    return [(photo, blobs[name]) for name, photo in photos.items() if name in blobs]


def cleaned_photos(files: Sequence[UploadedFile[bytes]]) -> tuple[list[Cleaned], list[str]]:
    """What can be taken of the files that were sent, and a sentence for each that cannot."""
    good: list[Cleaned] = []
    refused = [f"{count(len(files), 'photo')} at once are too many; send up to {MOST_AT_ONCE}."] * (
        len(files) > MOST_AT_ONCE
    )
    for file in files[:MOST_AT_ONCE]:
        try:
            good.append(cleaned_file(file))
        except PhotoRefused as problem:
            refused.append(problem.message)
    return good, refused


def kept_cell(photos: Iterable[Cleaned], cell: str = "") -> str:
    """Keep photos; the cell that names them behind those it names already. OSError where the disk is full."""
    named = list(read_photos(cell))
    for photo in photos:
        store.keep(photo)
        if photo.sha256 not in {one.sha256 for one in named}:
            named.append(Photo(photo.sha256))
    return write_photos(named)


def add_photos(record: FamilyRecord, name: str, photos: Sequence[Cleaned], *, by: By) -> None:
    """Enter photos in a survivor's row, whatever else was changed there meanwhile."""
    family = family_of(record)
    for photo in photos:
        store.keep(photo)

    def edit(text: str) -> str:
        cell = rows_by_id(text, family).get(name, {}).get(COLUMN, "")
        named = photos_in({COLUMN: cell})
        new = [Photo(one.sha256) for one in photos if one.sha256 not in {photo.sha256 for photo in named}]
        return change_row(text, family, name, {COLUMN: write_photos([*named, *new])})

    change_register(record, edit, by=by, what=f"{name}: {count(len(photos), 'photo')} added")


def drop_photo(record: FamilyRecord, name: str, sha256: str, *, by: By) -> None:
    """Take a photo out of a survivor's row; the picture itself stays, so that the history can bring it back."""
    family = family_of(record)

    def edit(text: str) -> str:
        named = photos_in(rows_by_id(text, family).get(name, {}))
        left = [photo for photo in named if photo.sha256 != sha256]
        return change_row(text, family, name, {COLUMN: write_photos(left) or None})

    change_register(record, edit, by=by, what=f"{name}: a photo taken out")
