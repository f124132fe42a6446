"""Records in PostgreSQL are backed up as a dump of them all, and come back whole."""

from __future__ import annotations

import json

import pytest
from django.contrib.auth import get_user_model

from setwright.workbench.backup.errors import CannotRestore
from setwright.workbench.backup.making import automatic_backup, make_backup
from setwright.workbench.backup.restoring import restore_backup
from setwright.workbench.backup.verifying import open_backup
from setwright.workbench.blobs import BlobStore
from setwright.workbench.records import history, keeping
from setwright.workbench.search.models import SearchEntry
from setwright.workbench.sets.models import SetRecord

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def data(shelf, settings, tmp_path):
    folder = settings.DATA_DIR = tmp_path / "data"
    get_user_model().objects.create_user("mate", password="a long word")
    BlobStore(folder / "photos").put(b"a picture", ".jpg")
    return folder


def test_there_and_back(data, tmp_path):
    made = make_backup(data, tmp_path / "b.zip", with_files=True)
    with open_backup(made) as backup:
        assert backup.database == "records.json"
        models = {row["model"] for row in json.loads(backup.zip.read("records.json"))}
    assert {"sets.setrecord", "families.familyrecord", "records.revision", "auth.user"} <= models
    bench = SetRecord.objects.get()
    text, found = bench.text, SearchEntry.objects.count()
    keeping.remove(bench, None)
    get_user_model().objects.all().delete()
    restored = restore_backup(data, made)
    assert (restored.files, restored.missing) == (1, ())
    assert (restored.aside / "before.zip").exists()
    bench = SetRecord.objects.get()
    assert (bench.text, history.text_at(bench, 1)) == (text, text)
    assert get_user_model().objects.get(username="mate").check_password("a long word")
    assert SearchEntry.objects.count() == found > 0
    # New records get numbers of their own.
    keeping.keep(bench, text.replace('"back off"', '"outside"'), by=None, what="x")
    with open_backup(restored.aside / "before.zip") as before:
        assert b"Removed" in before.zip.read("records.json")


def test_the_daily_one_names_pictures(data):
    with open_backup(automatic_backup(data, "daily")) as backup:
        assert len(backup.outside) == 1


def test_a_backup_that_cannot_be_loaded_changes_nothing(data, tmp_path, monkeypatch):
    made = make_backup(data, tmp_path / "b.zip", with_files=False)
    keeping.remove(SetRecord.objects.get(), None)
    monkeypatch.setattr("setwright.workbench.backup.restoring.rebuild", broken)
    with pytest.raises(CannotRestore, match="those that were there stand"):
        restore_backup(data, made)
    assert not SetRecord.objects.exists()
    assert SetRecord.everything.count() == 1


def broken():
    from django.db import DatabaseError

    raise DatabaseError("no such table")
