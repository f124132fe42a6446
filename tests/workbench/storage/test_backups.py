"""Backups are whole, read back, few, and come back; what cannot be is told and changes nothing."""

# A table of cases reads best with one case a line.
# ruff: noqa: E501

from __future__ import annotations

import errno
import os
import shutil
import sqlite3
import subprocess
import sys
import threading
import time
import zipfile
from collections import namedtuple
from contextlib import closing
from datetime import UTC, datetime, timedelta
from hashlib import sha256

import pytest
from django.db import OperationalError

from setwright.files import FileProblems
from setwright.workbench.backup import attending, restoring
from setwright.workbench.backup.errors import CannotBackUp, CannotRestore
from setwright.workbench.backup.locking import Alone, InUse
from setwright.workbench.backup.making import automatic_backup, make_backup
from setwright.workbench.backup.middleware import FullDisk, is_full_disk
from setwright.workbench.backup.places import backups_in, folder_of, new_path, prune
from setwright.workbench.backup.restoring import restore_backup
from setwright.workbench.backup.verifying import last_good, open_backup
from setwright.workbench.blobs import BlobStore

pytestmark = pytest.mark.django_db
NOW = datetime(2024, 5, 2, 19, 4, 10, tzinfo=UTC)


def write(data, word: str) -> None:
    data.mkdir(exist_ok=True)
    with closing(sqlite3.connect(data / "setwright.sqlite3")) as records, records:
        records.execute("PRAGMA journal_mode=WAL")
        records.execute("CREATE TABLE IF NOT EXISTS words (word TEXT)")
        records.execute("INSERT INTO words VALUES (?)", [word])


def words(data) -> list[str]:
    with closing(sqlite3.connect(data / "setwright.sqlite3")) as records:
        return [row[0] for row in records.execute("SELECT word FROM words ORDER BY rowid")]


@pytest.fixture
def data(tmp_path, settings):
    """A data folder with a database, a picture and a scan."""
    folder = settings.DATA_DIR = tmp_path / "data"
    write(folder, "one")
    BlobStore(folder / "photos").put(b"a picture", ".jpg")
    BlobStore(folder / "literature").put(b"%PDF", ".pdf")
    return folder


def pictures(folder) -> list[str]:
    return [path.name for store in ("photos", "literature") for path in BlobStore(folder / store).paths()]


def test_a_backup_goes_into_another_folder(data, tmp_path):
    made = make_backup(data, tmp_path / "b.zip", with_files=True, made_at=NOW)
    write(data, "two")
    there = tmp_path / "there"
    restored = restore_backup(there, made)
    assert (restored.made_at, restored.aside, restored.files, restored.missing) == (NOW, None, 2, ())
    assert words(there) == ["one"]
    assert pictures(there) == pictures(data)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["b.zip", "data", "there"]


def test_what_was_there_is_kept_aside(data, tmp_path):
    made = make_backup(data, tmp_path / "b.zip", with_files=True)
    write(data, "two")
    BlobStore(data / "photos").put(b"a later picture", ".jpg")
    restored = restore_backup(data, made)
    assert words(data) == ["one"]
    assert words(restored.aside) == ["one", "two"]
    assert len(pictures(data)) == 3
    assert not list(data.glob(".restored-*"))


def test_changes_that_stand_only_in_the_log_go_along(data, tmp_path):
    with closing(sqlite3.connect(data / "setwright.sqlite3")) as other:
        other.execute("PRAGMA wal_autocheckpoint=0")
        with other:
            other.execute("INSERT INTO words VALUES ('in the log')")
        made = make_backup(data, tmp_path / "b.zip", with_files=False)
        restore_backup(tmp_path / "there", made)
    assert words(tmp_path / "there") == ["one", "in the log"]


def test_automatic_backups_name_pictures_and_hold_the_records(data):
    made = automatic_backup(data, "daily")
    with open_backup(made) as backup:
        assert [entry.name for entry in backup.files] == ["setwright.sqlite3"]
        assert sorted(entry.sha256 for entry in backup.outside) == sorted(
            sha256(content).hexdigest() for content in (b"a picture", b"%PDF")
        )
    (gone,) = BlobStore(data / "photos").paths()
    gone.unlink()
    assert restore_backup(data, made).missing == (f"photos/{gone.parent.name}/{gone.name}",)


def test_only_so_many_are_kept(data):
    folder_of(data).mkdir()
    for day in range(12):
        for occasion in ("daily", "upgrade"):
            new_path(data, occasion, NOW + timedelta(days=day)).write_bytes(b"")
    mine = folder_of(data) / "mine.zip"
    mine.write_bytes(b"")
    killed, going_on = folder_of(data) / ".unfinished-x", folder_of(data) / ".unfinished-y"
    for left in (killed, going_on):
        left.mkdir()
        (left / "backup.zip").write_bytes(b"half of it")
    yesterday = time.time() - 25 * 3600
    os.utime(killed, (yesterday, yesterday))
    prune(data)
    days = {occasion: [kept.made_at.day for kept in backups_in(data, occasion)] for occasion in ("daily", "upgrade")}
    assert days == {"daily": [13, 12, 11, 10, 9, 8, 7], "upgrade": [13, 12, 11, 10]}
    assert (mine.exists(), killed.exists(), going_on.exists()) == (True, False, True)
    assert len(list(folder_of(data).iterdir())) == 13


def test_one_a_day(data, monkeypatch):
    first = attending.back_up_if_due(data)
    assert first is not None
    assert attending.back_up_if_due(data) is None
    monkeypatch.setattr(attending.timezone, "now", lambda: datetime.now(UTC) + timedelta(days=1, minutes=1))
    assert attending.back_up_if_due(data) is not None
    # A clock that was set back must not keep backups from being made for years.
    monkeypatch.setattr(attending.timezone, "now", lambda: NOW)
    assert attending.back_up_if_due(data) is not None


def test_the_site_attends_to_it_and_stops(data, monkeypatch):
    made = threading.Event()
    monkeypatch.setattr(attending, "FIRST_LOOK_SECONDS", 0.01)
    monkeypatch.setattr(attending, "LOOK_EVERY_SECONDS", 0.01)
    monkeypatch.setattr(attending, "back_up_if_due", lambda folder: made.set())
    with attending.daily_backups(data):
        assert made.wait(20)
    assert "daily backups" not in [thread.name for thread in threading.enumerate()]


def test_a_daily_backup_that_fails_is_told_in_the_log(data, caplog):
    (data / "setwright.sqlite3").write_bytes(b"no database" * 1000)
    assert attending.back_up_if_due(data) is None
    assert "The daily backup was not made: The records cannot be read" in caplog.text
    assert not list(folder_of(data).iterdir())


# What cannot be

Usage = namedtuple("Usage", "total used free")


def test_too_little_room_is_told(data, tmp_path, monkeypatch):
    made = make_backup(data, tmp_path / "b.zip", with_files=True)
    monkeypatch.setattr(shutil, "disk_usage", lambda path: Usage(0, 0, 1_000_000))
    with pytest.raises(CannotBackUp, match=r"needs 50 MB, and 1 MB are free"):
        make_backup(data, tmp_path / "c.zip", with_files=True)
    with pytest.raises(CannotRestore, match=r"needs 50 MB, and 1 MB are free"):
        restore_backup(data, made)
    assert not (tmp_path / "c.zip").exists()


def test_a_disk_that_fills_up_meanwhile_leaves_nothing(data, tmp_path, monkeypatch):
    def full(*arguments, **options):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(zipfile.ZipFile, "write", full)
    with pytest.raises(CannotBackUp, match="cannot be written: No space left"):
        make_backup(data, tmp_path / "b.zip", with_files=True)
    assert [path.name for path in tmp_path.iterdir()] == ["data"]


def test_no_records_and_damaged_ones_are_told(tmp_path, settings, data):
    with pytest.raises(CannotBackUp, match="no records"):
        make_backup(tmp_path / "empty", tmp_path / "b.zip", with_files=False)
    spoil(data / "setwright.sqlite3")
    with pytest.raises(CannotBackUp, match=r"damaged|cannot be read"):
        make_backup(data, tmp_path / "b.zip", with_files=False)
    assert not (tmp_path / "b.zip").exists()


def spoil(path) -> None:
    """Damage the pages of a table in a database file."""
    with closing(sqlite3.connect(path)) as records:
        records.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        size = records.execute("PRAGMA page_size").fetchone()[0]
    content = bytearray(path.read_bytes())
    content[size : size + 200] = b"\xff" * 200
    path.write_bytes(content)


@pytest.mark.parametrize("place", [0.02, 0.3, 0.6, 0.9, 0.999])
def test_a_damaged_backup_is_refused_and_nothing_touched(data, tmp_path, place):
    made = make_backup(data, tmp_path / "b.zip", with_files=True)
    content = bytearray(made.read_bytes())
    content[int(len(content) * place)] ^= 0x55
    made.write_bytes(content)
    before = {path: path.read_bytes() for path in data.rglob("*") if path.is_file()}
    try:
        restore_backup(data, made)
    except (FileProblems, CannotRestore):
        assert {
            path: path.read_bytes() for path in data.rglob("*") if path.is_file() and path.name != ".in-use"
        } == before
    else:
        # A byte that means nothing, such as a time of a member.
        assert words(data) == ["one"]


@pytest.mark.parametrize("cut", [0, 10, -1, -300])
def test_a_truncated_backup_is_refused(data, tmp_path, cut):
    made = make_backup(data, tmp_path / "b.zip", with_files=True)
    made.write_bytes(made.read_bytes()[:cut])
    with pytest.raises(FileProblems, match="not whole"):
        restore_backup(data, made)


def again(path, change):
    """The backup packed anew with its list changed."""
    with zipfile.ZipFile(path) as source:
        members = {name: source.read(name) for name in source.namelist()}
    members["backup.toml"] = change(members["backup.toml"])
    with zipfile.ZipFile(path, "w") as target:
        for name, content in members.items():
            target.writestr(name, content)
    return path


@pytest.mark.parametrize(
    ("change", "kind", "expected"),
    [
        (lambda text: text.replace(b"migrations = [", b'migrations = ["sets.9999_later", '), CannotRestore, "made by a newer Setwright"),
        (lambda text: text.replace(b"setwright-backup/1", b"setwright-backup/2"), FileProblems, "newer Setwright may be needed"),
        (lambda text: text.replace(b"setwright-backup/1", b"setwright-set/1"), FileProblems, "this is a set file"),
        (lambda text: text.replace(b"photos/", b"../photos/"), FileProblems, "is not in the list of files"),
        (lambda text: text.replace(b'"setwright.sqlite3"', b'"records/auth_user.csv"'), FileProblems, "is not in the backup"),
        (lambda text: text.replace(b'"setwright.sqlite3"', b'"records.json"'), FileProblems, "must hold either setwright.sqlite3 or tables"),
    ],
)  # fmt: skip
def test_a_backup_that_does_not_belong_here_is_refused(data, tmp_path, change, kind, expected):
    made = again(make_backup(data, tmp_path / "b.zip", with_files=True), change)
    with pytest.raises(kind, match=expected):
        restore_backup(data, made)
    assert words(data) == ["one"]


def test_nothing_is_put_back_under_a_running_site(data, tmp_path):
    made = make_backup(data, tmp_path / "b.zip", with_files=True)
    holding = (
        "import sys, pathlib; from setwright.workbench.backup.locking import hold; hold(pathlib.Path(sys.argv[1]));"
        "print('held', flush=True); sys.stdin.read()"
    )
    site = subprocess.Popen(
        [sys.executable, "-c", holding, str(data)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
    )
    try:
        assert site.stdout.readline() == "held\n"
        with pytest.raises(CannotRestore, match="stop the server"):
            restore_backup(data, made)
    finally:
        site.kill()
        site.communicate()
    with Alone(data), pytest.raises(InUse), Alone(data):
        pass
    restore_backup(data, made)


def test_a_restore_that_breaks_off_leaves_the_records(data, tmp_path, monkeypatch):
    made = make_backup(data, tmp_path / "b.zip", with_files=True)
    write(data, "two")

    def broken(*arguments):
        raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setattr(restoring.os, "replace", broken)
    with pytest.raises(CannotRestore, match="as before"):
        restore_backup(data, made)
    monkeypatch.undo()
    assert words(data) == ["one", "two"]
    assert not list(data.glob(".restored-*"))


# At the start


def test_a_damaged_database_is_told_with_the_last_good_backup(data):
    assert attending.damage(data) is None
    old = automatic_backup(data, "upgrade")
    newer = new_path(data, "daily", datetime.now(UTC) + timedelta(hours=1))
    shutil.copy(old, newer)
    newer.write_bytes(newer.read_bytes()[:-50])
    spoil(data / "setwright.sqlite3")
    found = attending.damage(data)
    assert found is not None
    told = attending.told_damage(data, found)
    assert f"setwright restore {old}" in told
    assert "Nothing was changed" in told
    assert last_good(data).path == old
    assert restore_backup(data, old).aside is not None
    assert words(data) == ["one"]
    old.unlink()
    assert "There is no backup" in attending.told_damage(data, found)


def test_a_backup_comes_before_an_upgrade_only(data, monkeypatch):
    assert attending.before_upgrade(data) is None
    monkeypatch.setattr(attending.MigrationExecutor, "migration_plan", lambda self, targets: ["one more"])
    made = attending.before_upgrade(data)
    assert made in [kept.path for kept in backups_in(data, "upgrade")]


def test_whatever_breaks_a_backup_off_stops_the_upgrade(data, monkeypatch, caplog):
    def broken(*arguments):
        raise KeyError("name")

    monkeypatch.setattr(attending.MigrationExecutor, "migration_plan", lambda self, targets: ["one more"])
    monkeypatch.setattr(attending, "automatic_backup", broken)
    with pytest.raises(CannotBackUp, match="It broke off \\(KeyError: 'name'\\); nothing was changed"):
        attending.before_upgrade(data)
    assert "Traceback" in caplog.text


# A full disk


@pytest.mark.parametrize(
    ("error", "full"),
    [
        (OSError(errno.ENOSPC, "No space left on device"), True),
        (OSError(errno.ENOENT, "No such file"), False),
        (OperationalError("database or disk is full"), True),
        (OperationalError("disk I/O error"), True),
        (OperationalError("database is locked"), False),
        (ValueError("disk is full"), False),
    ],
)
def test_what_a_full_disk_says(error, full):
    assert is_full_disk(error) is full
    wrapped = RuntimeError("while saving")
    wrapped.__cause__ = error
    assert is_full_disk(wrapped) is full


def test_the_page_of_a_full_disk(rf, data):
    middleware = FullDisk(lambda request: None)
    page = middleware.process_exception(rf.post("/"), OperationalError("database or disk is full"))
    assert page.status_code == 507
    assert "nothing of it was kept" in page.content.decode()
    assert middleware.process_exception(rf.post("/"), ValueError()) is None


def test_backups_are_made_while_others_write(data, tmp_path):
    stop = threading.Event()
    failed = []

    def keep_writing():
        while not stop.is_set():
            try:
                write(data, "more")
            except sqlite3.Error as error:
                failed.append(error)
            time.sleep(0.001)

    writer = threading.Thread(target=keep_writing)
    writer.start()
    try:
        for number in range(3):
            restore_backup(
                tmp_path / f"there-{number}", make_backup(data, tmp_path / f"{number}.zip", with_files=False)
            )
    finally:
        stop.set()
        writer.join()
    assert not failed
    counts = [len(words(tmp_path / f"there-{number}")) for number in range(3)]
    assert counts == sorted(counts)
