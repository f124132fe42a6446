"""Looks after the records: sound at the start, backed up before an upgrade and once a day while the site runs."""

from __future__ import annotations

import logging
import math
import sqlite3
import threading
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import timedelta
from pathlib import Path

from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.utils import timezone

from setwright.workbench.backup.errors import CannotBackUp
from setwright.workbench.backup.making import automatic_backup
from setwright.workbench.backup.manifest import SQLITE
from setwright.workbench.backup.places import backups_in
from setwright.workbench.backup.unnamed import tidy
from setwright.workbench.backup.verifying import last_good

ONE_DAY = timedelta(days=1)
FIRST_LOOK_SECONDS = 60.0
"""The first minute belongs to whoever has just started the site."""
LOOK_EVERY_SECONDS = 600.0
LARGEST_CHECKED = 200_000_000
"""A larger database is only opened at the start; looking through all of it would take too long."""

_log = logging.getLogger(__name__)


def damage(data: Path) -> str | None:
    """What is wrong with the database file, None where nothing shows or there is none."""
    path = data / SQLITE
    if connection.vendor != "sqlite" or not path.exists() or path.stat().st_size == 0:
        return None
    try:
        with closing(sqlite3.connect(path, timeout=20)) as opened:
            if path.stat().st_size > LARGEST_CHECKED:
                opened.execute("SELECT count(*) FROM sqlite_master").fetchone()
                return None
            found = str(opened.execute("PRAGMA quick_check(1)").fetchone()[0])
    except sqlite3.DatabaseError as error:
        found = str(error)
    return None if found == "ok" else found


def told_damage(data: Path, found: str) -> str:
    """What to do about a damaged database, in plain words."""
    good = last_good(data)
    if good is None:
        way = "There is no backup in the data folder; if you have one elsewhere: setwright restore FILE"
    else:
        way = (
            f"The last good backup is of {good.made_at:%d %B %Y, %H:%M} UTC. Put it back: setwright restore {good.path}"
        )
    return (
        f"The records in {data} are damaged ({found}). Nothing was changed. {way}\n"
        "(What is there now is kept aside then.) Before that, copy the whole folder if you want somebody to look at it."
    )


def before_upgrade(data: Path) -> Path | None:
    """A backup before the tables change; None where they do not, or nothing is in them yet.

    Raises CannotBackUp, whatever it is that goes wrong: without a backup there is no upgrade.
    """
    if connection.vendor == "sqlite" and not (data / SQLITE).exists():
        return None
    executor = MigrationExecutor(connection)
    targets = executor.loader.graph.leaf_nodes()
    if not executor.loader.applied_migrations or not executor.migration_plan(targets):
        return None
    try:
        return automatic_backup(data, "upgrade")
    except CannotBackUp:
        raise
    except Exception as error:
        _log.exception("The backup before the upgrade broke off")
        raise CannotBackUp(f"It broke off ({type(error).__name__}: {error}); nothing was changed.") from error


@contextmanager
def daily_backups(data: Path) -> Iterator[None]:
    """While this context lasts, a backup is made whenever the newest daily one is over a day old."""
    stop = threading.Event()
    thread = threading.Thread(target=_attend, args=(data, stop), name="daily backups", daemon=True)
    thread.start()
    try:
        yield
    finally:
        stop.set()
        thread.join(timeout=5.0)


def _attend(data: Path, stop: threading.Event) -> None:
    wait, tidied = FIRST_LOOK_SECONDS, -math.inf
    while not stop.wait(wait):
        back_up_if_due(data)
        if time.monotonic() - tidied > ONE_DAY.total_seconds():
            take_away_unnamed(data)
            tidied = time.monotonic()
        wait = LOOK_EVERY_SECONDS


def take_away_unnamed(data: Path) -> None:
    """Take pictures and scans away that nothing names; what keeps that from being done is told in the log."""
    try:
        tidy(data)
    except (DatabaseError, OSError) as error:
        _log.error("Files that no record names were not taken away: %s", error)
    finally:
        connection.close()


def back_up_if_due(data: Path) -> Path | None:
    """The daily backup where it is due. What keeps it from being made is told in the log, and tried again later."""
    newest = next(iter(backups_in(data, "daily")), None)
    if newest is not None and ONE_DAY > timezone.now() - newest.made_at >= timedelta():
        return None
    try:
        return automatic_backup(data, "daily")
    except (CannotBackUp, DatabaseError, OSError) as error:
        _log.error("The daily backup was not made: %s", error)
        return None
    finally:
        connection.close()
