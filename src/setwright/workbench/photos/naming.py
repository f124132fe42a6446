"""Which pictures a set or a survivor names: nothing else is served."""

from __future__ import annotations

from django.http import Http404
from django.shortcuts import get_object_or_404

from setwright.files.case import Photo
from setwright.files.survivors.photos import COLUMN, read_photos
from setwright.notation import NotationError
from setwright.workbench.services.records import register_of, set_file_of
from setwright.workbench.sets.models import SetRecord
from setwright.workbench.survivors.models import SurvivorRegister
from setwright.workbench.survivors.reading import index_of


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
    registers = SurvivorRegister.objects.select_related("family").defer("text", "family__text")
    register = register_of(get_object_or_404(registers, family__key=family))
    index = index_of(register.survivors, name)
    if index is None:
        raise Http404
    if not register.rows:
        return ()
    try:
        return read_photos(register.rows[index].get(COLUMN, ""))
    except NotationError:
        return ()
