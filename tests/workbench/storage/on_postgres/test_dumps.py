"""Records in PostgreSQL are backed up as they stand, table by table, and come back whole, through an upgrade too."""

from __future__ import annotations

import csv
import io
import json
import subprocess
import sys
import zipfile
from pathlib import Path

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

CAST = Path(__file__).parents[3] / "cast"
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
        (bench,) = csv.DictReader(io.StringIO(backup.zip.read("records/sets_setrecord.csv").decode()))
        assert bench["key"] == "bench-1"
        assert {"families_familyrecord", "records_revision", "auth_user"} <= set(backup.tables)
        assert not [name for name in backup.tables if name.startswith(("search", "django_session"))]
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
        assert b"Removed" in before.zip.read("records/records_revision.csv")


def test_the_daily_one_names_pictures(data):
    with open_backup(automatic_backup(data, "daily")) as backup:
        assert len(backup.outside) == 1


def test_a_backup_that_cannot_be_loaded_changes_nothing(data, tmp_path, monkeypatch):
    made = make_backup(data, tmp_path / "b.zip", with_files=False)
    keeping.remove(SetRecord.objects.get(), None)
    monkeypatch.setattr("setwright.workbench.search.index.ensure_current", broken)
    with pytest.raises(CannotRestore, match="those that were there stand"):
        restore_backup(data, made)
    assert not SetRecord.objects.exists()
    assert SetRecord.everything.count() == 1


def broken():
    from django.db import DatabaseError

    raise DatabaseError("no such table")


OLD = """
import sys
from setwright.workbench import server
server.prepare()
from setwright.workbench.services.imports import import_files
import_files(sys.argv[1:])
from django.contrib.auth import get_user_model
get_user_model().objects.create_user("mate", password="a long word")
from django.core.management import call_command
call_command("migrate", "sets", "0003", verbosity=0)
"""
TODAY = """
import json
from setwright.workbench import server
folder = server.prepare()
from setwright.workbench.records.models import Revision
from setwright.workbench.search.models import SearchEntry
from setwright.workbench.sets.models import SetRecord
print(json.dumps({
    "backups": sorted(str(path) for path in (folder / "backups").glob("*.zip")),
    "sets": list(SetRecord.objects.values_list("key", "name")), "entries": Revision.objects.count(),
    "found": SearchEntry.objects.filter(kind="set").count()}))
"""
RESTORE = "import sys; from setwright.cli import main; sys.argv[0:] = ['setwright', 'restore', sys.argv[1]]; main()"
CHANGE = """
from setwright.workbench import server
server.prepare()
from setwright.workbench.records import keeping
from setwright.workbench.sets.models import SetRecord
keeping.remove(SetRecord.objects.get(), None)
"""


def run(own_store, *command, status=0):
    process = subprocess.run(
        [sys.executable, *map(str, command)], env=own_store, capture_output=True, text=True, timeout=240, check=False
    )
    assert process.returncode == status, process.stderr
    return process.stdout or process.stderr


def test_tables_of_an_older_setwright_are_backed_up_before_their_upgrade(own_store):
    cast = [CAST / name for name in ("heron.toml", "bench-1.toml", "survivors.csv")]
    run(own_store, "-c", OLD, *cast)
    first = json.loads(run(own_store, "-c", TODAY))
    (made,) = first.pop("backups")
    assert first == {"sets": [["bench-1", ""]], "entries": 3, "found": 1}
    with zipfile.ZipFile(made) as backup:
        header = backup.read("records/sets_setrecord.csv").decode().partition("\n")[0].split(",")
        assert ("text" in header, "name" in header) == (True, False)
        assert b"sets.0003_first_entries" in backup.read("backup.toml")
        assert b"sets.0004" not in backup.read("backup.toml")
    run(own_store, "-c", CHANGE)
    assert json.loads(run(own_store, "-c", TODAY))["sets"] == []
    assert "are back" in run(own_store, "-c", RESTORE, made)
    assert json.loads(run(own_store, "-c", TODAY)) == {**first, "backups": [made]}


def test_a_backup_goes_into_an_empty_database(own_store, data, tmp_path):
    made = make_backup(data, tmp_path / "b.zip", with_files=True)
    assert "What was there before" not in run(own_store, "-c", RESTORE, made)
    there = json.loads(run(own_store, "-c", TODAY))
    assert (there["sets"], there["found"], there["entries"]) == ([["bench-1", ""]], 1, 3)


def test_a_table_that_is_none_is_refused(data, tmp_path):
    made = make_backup(data, tmp_path / "b.zip", with_files=False)
    with zipfile.ZipFile(made) as source:
        members = {name: source.read(name) for name in source.namelist()}
    members["records/pg_authid.csv"] = members.pop("records/auth_user.csv")
    members["backup.toml"] = members["backup.toml"].replace(b"records/auth_user.csv", b"records/pg_authid.csv")
    with zipfile.ZipFile(made, "w") as target:
        for name, content in members.items():
            target.writestr(name, content)
    with pytest.raises(CannotRestore, match="there was no table pg_authid then"):
        restore_backup(data, made)
    assert SetRecord.objects.exists()
