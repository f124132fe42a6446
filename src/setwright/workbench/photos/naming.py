"""Which pictures a set or a survivor names: nothing else is served."""

from __future__ import annotations

from django.http import Http404
from django.shortcuts import get_object_or_404

from setwright.files.case import Photo
from setwright.files.survivors.photos import COLUMN, read_photos
from setwright.notation import NotationError
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.services.records import set_file_of
from setwright.workbench.services.survivors import rows_of
from setwright.workbench.sets.models import SetRecord


def photos_of_set(record: SetRecord) -> tuple[Photo, ...]:
    """The photos in the set's file, in its order."""
    return set_file_of(record).case.photos


def entries_of(record: SetRecord, sha256: str) -> list[tuple[int, Photo]]:
    """Where in the set's file a picture stands: numbers from 0, with what is said there. 404 where nowhere."""
    found = [(number, photo) for number, photo in enumerate(photos_of_set(record)) if photo.sha256 == sha256]
    if not found:
        raise Http404
    return found


def photos_of_survivor(family: str, name: str) -> tuple[Photo, ...]:
    """The photos in a survivor's row; none where the cell cannot be read. 404 where there is no such survivor."""
    records = FamilyRecord.objects.select_related("register").defer("text", "register__text")
    cells = rows_of(get_object_or_404(records, key=family)).get(name)
    if cells is None:
        raise Http404
    try:
        return read_photos(cells.get(COLUMN, ""))
    except NotationError:
        return ()
