"""Where backups that are made by themselves lie, which is the newest, and which go."""

from __future__ import annotations

import re
import shutil
import time
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal

Occasion = Literal["daily", "upgrade"]

KEPT: dict[Occasion, int] = {"daily": 7, "upgrade": 4}
"""So many of each are kept, the newest."""

ONE_DAY_SECONDS = 24 * 3600.0

_NAME = re.compile(r"setwright-(\d{4}-\d{2}-\d{2}T\d{6})Z-(daily|upgrade)\.zip")
_STAMP = "%Y-%m-%dT%H%M%S"


@dataclass(frozen=True, slots=True, order=True)
class Kept:
    """A backup in the folder: when it was made, on what occasion, where it lies."""

    made_at: datetime
    occasion: str
    path: Path


def folder_of(data: Path) -> Path:
    """The folder of backups in a data folder."""
    return data / "backups"


def new_path(data: Path, occasion: Occasion, now: datetime) -> Path:
    """Where a new backup is put."""
    return folder_of(data) / f"setwright-{now.astimezone(UTC):{_STAMP}}Z-{occasion}.zip"


def backups_in(data: Path, occasion: Occasion | None = None) -> list[Kept]:
    """The backups there are, the newest first. occasion : only those of one; None for all."""
    found = []
    for path in folder_of(data).glob("setwright-*.zip"):
        match = _NAME.fullmatch(path.name)
        if match is None or occasion not in (None, match[2]):
            continue
        try:
            made_at = datetime.strptime(match[1], _STAMP).replace(tzinfo=UTC)
        except ValueError:
            continue  # somebody's own file with digits that are no date
        found.append(Kept(made_at, match[2], path))
    return sorted(found, reverse=True)


def prune(data: Path) -> None:
    """Delete the backups beyond those that are kept, and what a killed process left unfinished over a day ago."""
    for occasion, most in KEPT.items():
        for old in backups_in(data, occasion)[most:]:
            old.path.unlink(missing_ok=True)
    for left in folder_of(data).glob(".unfinished-*"):
        with suppress(FileNotFoundError):  # whoever was making it may be done
            if time.time() - left.stat().st_mtime > ONE_DAY_SECONDS:
                shutil.rmtree(left)
