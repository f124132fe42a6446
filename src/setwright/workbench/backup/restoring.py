"""Puts a backup back: verified before anything is touched, what was there kept aside."""

from __future__ import annotations

import os
import shutil
import sqlite3
import tempfile
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from django.core.management import call_command
from django.db import DatabaseError, connection, transaction
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder

from setwright.workbench.backup.errors import CannotBackUp, CannotRestore
from setwright.workbench.backup.locking import Alone, InUse
from setwright.workbench.backup.making import RESERVE, make_backup
from setwright.workbench.backup.manifest import BLOB, SQLITE
from setwright.workbench.backup.tables import NewerTables, load_tables
from setwright.workbench.backup.verifying import Backup, open_backup
from setwright.workbench.blobs import BlobStore


@dataclass(frozen=True, slots=True)
class Restored:
    """What was put back. aside : the folder with what was there before, None where there was nothing.

    missing : pictures and scans that the backup only names and that are not in the data folder any more.
    """

    made_at: datetime
    aside: Path | None
    files: int
    missing: tuple[str, ...]


def restore_backup(data: Path, source: Path) -> Restored:
    """Make the records of a data folder those of a backup; its pictures and scans are added to what is there.

    Raises FileProblems for a backup that is not whole, CannotRestore where it cannot be put back here; nothing was
    touched then.
    """
    try:
        data.mkdir(parents=True, exist_ok=True)
        with open_backup(source) as backup, Alone(data):
            _check_fits(backup, data)
            files = _put_files(backup, data)
            aside = _load_records(backup, data) if backup.tables else _put_sqlite(backup, data)
            missing = tuple(entry.name for entry in backup.outside if not (data / entry.name).is_file())
            return Restored(backup.made_at, aside, files, missing)
    except InUse as error:
        raise CannotRestore(
            f"Setwright is at work in {data}: stop the server (or whatever uses the folder), and restore again."
        ) from error
    except OSError as error:
        raise CannotRestore(
            f"{data} cannot be written ({error.strerror or error}); the records are as before."
        ) from error


def _check_fits(backup: Backup, data: Path) -> None:
    known = {f"{app}.{name}" for app, name in MigrationLoader(None).disk_migrations}
    newer = [name for name in backup.migrations if name not in known]
    if newer:
        raise CannotRestore(f"The backup was made by a newer Setwright (it knows {newer[0]}). Install that one first.")
    here = "postgresql" if backup.tables else "sqlite"
    if connection.vendor != here:
        words = {"sqlite": "SQLite", "postgresql": "PostgreSQL"}
        raise CannotRestore(
            f"The backup holds records from {words[here]}, and here they are in "
            f"{words.get(connection.vendor, connection.vendor)}; a casebook goes from one to the other."
        )
    needed = sum(entry.bytes for entry in backup.files) + RESERVE
    free = shutil.disk_usage(data).free
    if free < needed:
        raise CannotRestore(
            f"Putting it back needs {needed / 1e6:,.0f} MB, and {free / 1e6:,.0f} MB are free in {data}."
        )


def _put_files(backup: Backup, data: Path) -> int:
    """Pictures and scans: named by their content, so nothing that is there is lost by them."""
    count = 0
    for entry in backup.files:
        match = BLOB.fullmatch(entry.name)
        if match is not None:
            BlobStore(data / match[1]).put(backup.zip.read(entry.name), match[4])
            count += 1
    return count


def _put_sqlite(backup: Backup, data: Path) -> Path | None:
    """The database in its place at one stroke; the old one is in a folder of its own before that."""
    handle, name = tempfile.mkstemp(prefix=".restored-", dir=data)
    try:
        with os.fdopen(handle, "wb") as stream:
            for piece in backup.zip.pieces(SQLITE):
                stream.write(piece)
            stream.flush()
            os.fsync(stream.fileno())
        _check_database(Path(name))
        connection.close()
        aside = _copy_aside(data)
        for ending in ("-wal", "-shm"):
            # Would be taken for the new database's; a copy of each is aside.
            (data / f"{SQLITE}{ending}").unlink(missing_ok=True)
        os.replace(name, data / SQLITE)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    _sync(data)
    return aside


def _check_database(path: Path) -> None:
    try:
        with closing(sqlite3.connect(path)) as opened:
            found = opened.execute("PRAGMA integrity_check(1)").fetchone()[0]
            opened.execute("PRAGMA journal_mode=DELETE")
    except sqlite3.Error as error:
        found = str(error)
    if found != "ok":
        raise CannotRestore(f"The database in the backup is damaged ({found}). Take another backup.")


def _copy_aside(data: Path) -> Path | None:
    there = [path for ending in ("", "-wal", "-shm") if (path := data / f"{SQLITE}{ending}").exists()]
    if not there:
        return None
    aside = Path(tempfile.mkdtemp(prefix=f"before-restore-{datetime.now(UTC):%Y-%m-%dT%H%M%S}Z-", dir=data))
    for path in there:
        shutil.copy2(path, aside / path.name)
        _sync(aside / path.name)
    _sync(aside)
    return aside


def _load_records(backup: Backup, data: Path) -> Path | None:
    """Every table into PostgreSQL, in one transaction; what was there is backed up aside before."""
    try:
        aside = _back_up_aside(data)
        with transaction.atomic():
            load_tables({name: backup.zip.pieces(member) for name, member in backup.tables.items()}, backup.migrations)
            call_command("migrate", verbosity=0, interactive=False)  # which makes the search index, too
    except NewerTables as error:
        raise CannotRestore(f"The records here were upgraded by a newer Setwright (it knows {error}).") from error
    except (CannotBackUp, DatabaseError, ValueError) as error:
        raise CannotRestore(f"The records cannot be put back ({error}); those that were there stand.") from error
    return aside


def _back_up_aside(data: Path) -> Path | None:
    if not MigrationRecorder(connection).applied_migrations():
        return None
    aside = Path(tempfile.mkdtemp(prefix=f"before-restore-{datetime.now(UTC):%Y-%m-%dT%H%M%S}Z-", dir=data))
    make_backup(data, aside / "before.zip", with_files=False)
    return aside


def _sync(path: Path) -> None:
    """Force a file, or a folder's entries, to the disk (Windows does not open folders)."""
    if path.is_dir() and os.name == "nt":
        return
    handle = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
