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

from django.db import DatabaseError, connection
from django.db.migrations.recorder import MigrationRecorder
from django.utils import timezone

from setwright.files import FileProblems
from setwright.workbench.backup.errors import CannotBackUp
from setwright.workbench.backup.manifest import LIST, SQLITE, Listed, written
from setwright.workbench.backup.places import Occasion, new_path, prune
from setwright.workbench.backup.tables import NewerTables, size_of_all, write_tables
from setwright.workbench.backup.verifying import open_backup
from setwright.workbench.blobs import BlobStore

STORES = ("photos", "literature")
"""The folders of pictures and scans in the data folder."""

RESERVE = 50_000_000
"""So much of the disk a backup leaves free [bytes]."""


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
            records = _records(data, Path(scratch))
            packed = Path(scratch, "backup.zip")
            _pack(data, packed, records, with_files, made_at)
            with open_backup(packed, str(target)):
                # Sums and lengths of everything in it were held against the list.
                os.replace(packed, target)
    except FileProblems as failure:
        raise CannotBackUp(f"The backup did not read back as it was written: {failure.lines[0]}") from failure
    except NewerTables as error:
        raise CannotBackUp(f"A newer Setwright upgraded the records (it knows {error}). Use that one.") from error
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
    needed = 2 * _records_size(data)
    if with_files:
        needed += sum(path.stat().st_size for name in STORES for path in BlobStore(data / name).paths())
    free = shutil.disk_usage(target.parent).free
    if free < needed + RESERVE:
        raise CannotBackUp(
            f"A backup needs {(needed + RESERVE) / 1e6:,.0f} MB, and {free / 1e6:,.0f} MB are free in {target.parent}. "
            "Make room, or name a file on another disk."
        )


def _records_size(data: Path) -> int:
    if connection.vendor != "sqlite":
        return size_of_all()
    return sum(path.stat().st_size for path in (data / SQLITE, data / f"{SQLITE}-wal") if path.exists())


def _records(data: Path, scratch: Path) -> dict[str, Path]:
    """Copies of the records as they stand at one moment, by their names in the backup."""
    if connection.vendor != "sqlite":
        return {f"records/{path.name}": path for path in write_tables(scratch)}
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
    return {SQLITE: copy}


def _pack(data: Path, packed: Path, records: dict[str, Path], with_files: bool, made_at: datetime) -> None:
    files: list[Listed] = []
    outside: list[Listed] = []
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as target:
        files += [_put(target, path, member, zipfile.ZIP_DEFLATED) for member, path in records.items()]
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
