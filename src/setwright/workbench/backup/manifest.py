"""The list of what is in a backup: backup.toml."""

from __future__ import annotations

import re
from datetime import datetime
from typing import Annotated, Literal

import tomlkit
from pydantic import Field

from setwright import __version__
from setwright.files.shapes import Named, Shape, Sum, Text, When
from setwright.files.source_text import MEGABYTE
from setwright.files.zipped import Limits

FORMAT = "setwright-backup/1"
LIST = "backup.toml"
SQLITE = "setwright.sqlite3"

LIMITS = Limits(members=1_000_000, bytes_in_all=10_000_000 * MEGABYTE, ratio=5_000)
"""Databases can be large and, after much was deleted, mostly empty."""

TABLE = re.compile(r"records/([a-z0-9_]{1,63})\.csv")
"""A table of PostgreSQL; see `tables`."""

BLOB = re.compile(r"(photos|literature)/([0-9a-f]{2})/(\2[0-9a-f]{62})(\.[a-z0-9]{1,8})")
"""A picture or scan by its place in the data folder: store, folder, sum, suffix."""


class FileShape(Shape):
    """One file."""

    name: Named
    sha256: Sum
    bytes: Annotated[int, Field(ge=0)]


class BackupShape(Shape):
    """What is in a backup, and (`outside`) which files of the data folder belong to it."""

    format: Literal["setwright-backup/1"]
    made_at: When
    made_with: Text = ""
    migrations: Annotated[list[Named], Field(max_length=10_000)] = []
    file: Annotated[list[FileShape], Field(max_length=1_000_000)] = []
    outside: Annotated[list[FileShape], Field(max_length=1_000_000)] = []


Listed = tuple[str, str, int]
"""Name, sum and length of a file."""


def written(made_at: datetime, migrations: list[str], files: list[Listed], outside: list[Listed]) -> str:
    """The text of backup.toml."""
    top = tomlkit.document()
    top["format"] = FORMAT
    top["made_at"] = made_at.isoformat(timespec="seconds")
    top["made_with"] = f"Setwright {__version__}"
    top["migrations"] = migrations
    tables = (("file", files), ("outside", outside))
    return tomlkit.dumps(top) + "".join(
        f'\n[[{kind}]]\nname = "{name}"\nsha256 = "{sha256}"\nbytes = {size}\n'
        for kind, listed in tables
        for name, sha256, size in sorted(listed)
    )
