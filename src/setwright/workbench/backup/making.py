"""Makes a backup while the site runs, and reads it back."""

from __future__ import annotations

import hashlib
import os
import shutil
import sqlite3
import tempfile
import zipfile
from contextlib import closing
from datetime import datetime
from pathlib import Path

from django.core.management import call_command
from django.db import DatabaseError, connection
from django.db.migrations.recorder import MigrationRecorder
from django.utils import timezone

from setwright.files import FileProblems
from setwright.workbench.backup.errors import CannotBackUp
from setwright.workbench.backup.manifest import LIST, RECORDS, SQLITE, Listed, written
from setwright.workbench.backup.places import Occasion, new_path, prune
from setwright.workbench.backup.verifying import open_backup
from setwright.workbench.blobs import BlobStore

STORES = ("photos", "literature")
"""The folders of pictures and scans in the data folder."""

RESERVE = 50_000_000
"""So much of the disk a backup leaves free [bytes]."""

LEFT_OUT = ["contenttypes", "auth.permission", "sessions", "search"]
"""What a dump of records leaves out: made anew by itself."""


def make_backup(data: Path, target: Path, *, with_files: bool, made_at: datetime | None = None) -> Path:
    """Write a backup of the data folder to `target`, whole or not at all, and verify it; gives `target`.

    with_files : whether pictures and scans go in; else they are only named. The site may run meanwhile.
    Raises CannotBackUp.
    """
    made_at = made_at or timezone.now()
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        _check_space(data, target, with_files)
        with tempfile.TemporaryDirectory(prefix=".unfinished-", dir=target.parent) as scratch:
            database = _database(data, Path(scratch))
            packed = Path(scratch, "backup.zip")
            _pack(data, packed, database, with_files, made_at)
            with open_backup(packed, str(target)):
                # Sums and lengths of everything in it were held against the list.
                os.replace(packed, target)
    except FileProblems as failure:
        raise CannotBackUp(f"The backup did not read back as it was written: {failure.lines[0]}") from failure
    except (sqlite3.Error, DatabaseError) as error:
        raise CannotBackUp(f"The records cannot be read for a backup ({error}).") from error
    except OSError as error:
        raise CannotBackUp(f"The backup {target} cannot be written: {error.strerror or error}.") from error
    return target


def automatic_backup(data: Path, occasion: Occasion) -> Path:
    """A backup of the records in the data folder's own folder of backups; older ones beyond those kept go."""
    now = timezone.now()
    made = make_backup(data, new_path(data, occasion, now), with_files=False, made_at=now)
    prune(data)
    return made


def _check_space(data: Path, target: Path, with_files: bool) -> None:
    needed = 2 * sum(path.stat().st_size for path in _database_files(data))
    if with_files:
        needed += sum(path.stat().st_size for name in STORES for path in BlobStore(data / name).paths())
    free = shutil.disk_usage(target.parent).free
    if free < needed + RESERVE:
        raise CannotBackUp(
            f"A backup needs {(needed + RESERVE) / 1e6:,.0f} MB, and {free / 1e6:,.0f} MB are free in {target.parent}. "
            "Make room, or name a file on another disk."
        )


def _database_files(data: Path) -> list[Path]:
    return [path for path in (data / SQLITE, data / f"{SQLITE}-wal") if path.exists()]


def _database(data: Path, scratch: Path) -> Path:
    """A copy of the records as they stand at one moment."""
    if connection.vendor != "sqlite":
        copy = scratch / RECORDS
        with copy.open("w", encoding="utf-8") as stream:
            call_command("dumpdata", exclude=LEFT_OUT, natural_foreign=True, stdout=stream)
        return copy
    source = data / SQLITE
    if not source.exists():
        raise CannotBackUp(f"There are no records in {data} yet.")
    copy = scratch / SQLITE
    with (
        closing(sqlite3.connect(f"{source.as_uri()}?mode=ro", uri=True)) as here,
        closing(sqlite3.connect(copy)) as there,
    ):
        here.backup(there)
        found = there.execute("PRAGMA integrity_check(1)").fetchone()[0]
    if found != "ok":
        raise CannotBackUp(f"The records are damaged ({found}), so they were not backed up; older backups stay.")
    return copy


def _pack(data: Path, packed: Path, database: Path, with_files: bool, made_at: datetime) -> None:
    files: list[Listed] = []
    outside: list[Listed] = []
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as target:
        files.append(_put(target, database, database.name, zipfile.ZIP_DEFLATED))
        for name in STORES:
            for path in BlobStore(data / name).paths():
                member = f"{name}/{path.parent.name}/{path.name}"
                if with_files:
                    files.append(_put(target, path, member, zipfile.ZIP_STORED))
                else:
                    outside.append((member, path.stem, path.stat().st_size))
        target.writestr(LIST, written(made_at, _migrations(), files, outside))
    with packed.open("r+b") as stream:
        os.fsync(stream.fileno())


def _put(target: zipfile.ZipFile, path: Path, member: str, method: int) -> Listed:
    with path.open("rb") as stream:
        digest = hashlib.file_digest(stream, "sha256").hexdigest()
    target.write(path, member, compress_type=method)
    return member, digest, path.stat().st_size


def _migrations() -> list[str]:
    """The migrations that the database has had, as app.name."""
    return sorted(f"{app}.{name}" for app, name in MigrationRecorder(connection).applied_migrations())
