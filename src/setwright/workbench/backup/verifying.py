"""Opens a backup and verifies all of it."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from setwright.files.case_reading import read_moment
from setwright.files.problems import FileProblems, ProblemList, quoted, refuse
from setwright.files.shape_check import check_shape
from setwright.files.source_text import SourceBytes, cannot_open
from setwright.files.toml.text import check_format, read_toml
from setwright.files.zipped import ZippedFile
from setwright.notation import NotationError
from setwright.workbench.backup.manifest import BLOB, FORMAT, LIMITS, LIST, SQLITE, TABLE, BackupShape, FileShape
from setwright.workbench.backup.places import Kept, backups_in


@dataclass(frozen=True)
class Backup:
    """A backup whose every file was held against its sum."""

    name: str
    made_at: datetime
    migrations: tuple[str, ...]
    files: tuple[FileShape, ...]
    outside: tuple[FileShape, ...]
    zip: ZippedFile

    @property
    def tables(self) -> dict[str, str]:
        """The members that hold a table of PostgreSQL, by the table's name; empty for a backup of SQLite."""
        return {match[1]: entry.name for entry in self.files if (match := TABLE.fullmatch(entry.name))}

    def __enter__(self) -> Backup:
        return self

    def __exit__(self, *unused: object) -> None:
        self.zip.close()


def open_backup(path: Path, name: str | None = None) -> Backup:
    """Open and verify a backup; FileProblems with everything that is wrong."""
    name = name or str(path)
    try:
        stream = path.open("rb")
    except OSError as error:
        raise refuse(name, cannot_open(error)) from error
    try:
        packed = ZippedFile(stream, name, LIMITS)
        return _verified(packed, name)
    except BaseException:
        stream.close()
        raise


def _verified(packed: ZippedFile, name: str) -> Backup:
    if LIST not in packed.names:
        raise refuse(name, f"this is a zip file, but no backup: it holds no {LIST}")
    toml = read_toml(SourceBytes(f"{name}: {LIST}", packed.read(LIST)))
    problems = ProblemList(toml.name)
    check_format(toml, FORMAT, problems)
    shape = check_shape(BackupShape, toml, problems).shape
    problems.raise_if_any()
    try:
        made_at = read_moment(shape.made_at)
    except NotationError as error:
        raise refuse(toml.name, error.message, where="key made_at") from error
    problems = ProblemList(name)
    listed = {entry.name: entry for entry in shape.file}
    if (SQLITE in listed) == any(TABLE.fullmatch(member) for member in listed):
        problems.add("", f"must hold either {SQLITE} or tables, which are records/TABLE.csv")
    for member in sorted(set(packed.names) - {LIST} - set(listed)):
        problems.add(quoted(member), "is not in the list of files")
    for member, entry in listed.items():
        trouble = _trouble(packed, entry) if member in packed.names else "is not in the backup"
        if trouble:
            problems.add(quoted(member), trouble)
    problems.raise_if_any()
    return Backup(name, made_at, tuple(shape.migrations), tuple(shape.file), tuple(shape.outside), packed)


def _trouble(packed: ZippedFile, entry: FileShape) -> str | None:
    if entry.name != SQLITE and not (TABLE.fullmatch(entry.name) or BLOB.fullmatch(entry.name)):
        return "is no place where a backup holds a file"
    digest, size = hashlib.sha256(), 0
    try:
        for piece in packed.pieces(entry.name):
            digest.update(piece)
            size += len(piece)
    except FileProblems as failure:
        return failure.problems[0].message
    if size != entry.bytes:
        return f"is {size:,} bytes long; the list of files says {entry.bytes:,}"
    if digest.hexdigest() != entry.sha256:
        return "is damaged: its sum is not the one in the list of files"
    return None


def last_good(data: Path) -> Kept | None:
    """The newest backup in a data folder that is whole; None where there is none."""
    for kept in backups_in(data):
        try:
            with open_backup(kept.path):
                return kept
        except FileProblems:
            continue
    return None
