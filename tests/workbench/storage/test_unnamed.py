"""Pictures and scans that nothing names go after a day; those that a history or a removed record names stay."""

from __future__ import annotations

import os
import time
from pathlib import Path

import photos_made as made
import pytest
from django.db import OperationalError

from setwright.files import editing
from setwright.workbench.backup import attending, unnamed
from setwright.workbench.literature import changes
from setwright.workbench.literature.scans import checked
from setwright.workbench.photos import store
from setwright.workbench.photos.cleaning import cleaned
from setwright.workbench.photos.models import Blob
from setwright.workbench.records import keeping
from setwright.workbench.services.records import family_of
from setwright.workbench.sets.models import SetRecord

pytestmark = pytest.mark.django_db


def picture(width: int) -> Blob:
    return store.keep(cleaned(made.encoded(made.drawing(width, 60), "JPEG"), f"{width}.jpg"))


def age(data: Path) -> None:
    """Make every file in the stores two days old."""
    then = time.time() - 2 * 24 * 3600
    for path in data.rglob("*"):
        os.utime(path, (then, then))


@pytest.fixture
def data(shelf, settings, tmp_path) -> Path:
    """A folder with pictures of a set: one it shows, one only its history names, one of a removed document."""
    settings.DATA_DIR = tmp_path
    record = SetRecord.objects.get()
    family = family_of(record.family)
    for width in (90, 91):
        table = {"sha256": picture(width).sha256, "name": f"{width}.jpg"}
        record = keeping.edit(
            record, lambda file, table=table: editing.add_photo(file, family, table), by=None, what="Photo"
        )
    keeping.edit(record, lambda file: editing.remove_photo(file, family, 0), by=None, what="Photo taken out")
    sheet = changes.add({"title": "Sheet"}, by=None)
    scan = checked(made.encoded(made.drawing(92, 60), "PNG"), "sheet.png")
    keeping.remove(changes.attach(sheet, scan, by=None), None)
    return tmp_path


def files(data: Path) -> list[str]:
    return sorted(path.name for path in data.rglob("*") if path.is_file())


def test_only_what_nothing_names_goes(data: Path) -> None:
    before = files(data)
    assert len(before) == 3
    orphan = picture(100)
    left = data / "photos" / orphan.sha256[:2] / ".unfinished-abc"
    left.write_bytes(b"half")
    assert unnamed.tidy(data) == [], "what is young may be about to be named"
    age(data)
    assert unnamed.tidy(data) == [f"{orphan.sha256}.jpg"]
    assert files(data) == before
    assert not Blob.objects.filter(sha256=orphan.sha256).exists()
    assert Blob.objects.count() == 2
    assert unnamed.tidy(data) == []
    assert picture(100).sha256 == orphan.sha256, "the same picture can be kept again"


def test_what_is_kept_again_meanwhile_stays(data: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    orphan = picture(100)
    age(data)
    inner = unnamed._unnamed

    def meanwhile(sums: set[str]) -> set[str]:
        found = inner(sums)
        picture(100)
        return found

    monkeypatch.setattr(unnamed, "_unnamed", meanwhile)
    assert unnamed.tidy(data) == []
    assert store.content_of(orphan.sha256)


def test_nothing_goes_where_there_may_be_other_records(data: Path, caplog: pytest.LogCaptureFixture) -> None:
    picture(100)
    aside = data / "before-restore-x"
    aside.mkdir()
    age(data)
    assert unnamed.tidy(data) == []
    aside.rmdir()
    for width in range(101, 104):
        picture(width)
    age(data)
    assert unnamed.tidy(data) == []
    assert "No record names 4 of the 6 files" in caplog.text


def test_what_keeps_it_from_being_done_is_told(data: Path, monkeypatch, caplog: pytest.LogCaptureFixture) -> None:
    def broken(data: Path) -> None:
        raise OperationalError("database is locked")

    monkeypatch.setattr(attending, "tidy", broken)
    monkeypatch.setattr(attending.connection, "close", lambda: None)
    attending.take_away_unnamed(data)
    assert "were not taken away: database is locked" in caplog.text
