"""Bringing the index after records that it is behind, a few hundred entries at a time.

Each step is a short transaction of its own, so that people can go on writing. A step is only taken while the record
still carries the mark of whoever works on it; where the record moves on meanwhile, it stays marked and is done again.
While the site runs a thread does it, at the start and whenever it is woken; elsewhere it is done on the spot.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import islice
from uuid import uuid4

from django.db import DatabaseError, connection, transaction

from setwright.files import FileProblems
from setwright.workbench.records.keeping import lock
from setwright.workbench.records.kinds import kind_named
from setwright.workbench.records.models import Document
from setwright.workbench.search.documents.item import Item
from setwright.workbench.search.models import IndexMark
from setwright.workbench.search.writing import (
    BATCH,
    family_of_entries,
    fingerprint,
    items_of,
    known_entries,
    put_in,
    state_of,
    take_out,
)

PAUSE_SECONDS = 0.1
"""The thread leaves so much time to others between two steps."""
LOOK_EVERY_SECONDS = 60.0
"""So often the thread looks by itself, for marks that another process left."""

_log = logging.getLogger(__name__)
_awake = threading.Event()
_threads = 0


class _Overtaken(Exception):
    """Somebody else took the record over, or the site is to stop; the mark stays."""


def wake() -> None:
    """Have the index brought after what was marked: by the thread where one runs, else here and now."""
    if _threads:
        _awake.set()
    else:
        catch_up()


@contextmanager
def catching_up() -> Iterator[None]:
    """While this lasts, a thread keeps the index from staying behind."""
    global _threads
    stop = threading.Event()
    thread = threading.Thread(target=_attend, args=(stop,), name="search index", daemon=True)
    _threads += 1
    _awake.set()
    thread.start()
    try:
        yield
    finally:
        _threads -= 1
        stop.set()
        _awake.set()
        thread.join(timeout=5.0)


def _attend(stop: threading.Event) -> None:
    while not stop.is_set():
        _awake.wait(LOOK_EVERY_SECONDS)
        _awake.clear()
        try:
            catch_up(lambda: stop.wait(PAUSE_SECONDS))
        except DatabaseError as error:
            _log.error("The search index could not be brought after the records, and will be: %s", error)
        finally:
            connection.close()


def catch_up(stopped: Callable[[], bool] = lambda: False) -> None:
    """Bring the index after every record that is marked now. stopped : asked between two steps."""
    for mark in list(IndexMark.objects.filter(behind=True).order_by("pk")):
        try:
            _catch_up_with(mark, stopped)
        except _Overtaken:
            if stopped():
                return


def _catch_up_with(mark: IndexMark, stopped: Callable[[], bool]) -> None:
    claim = uuid4().hex
    if not IndexMark.objects.filter(pk=mark.pk, behind=True).update(claim=claim):
        return
    kind = kind_named(mark.record_kind)
    records = kind.model.everything.filter(key=mark.record_key)
    record = (records.select_related(kind.parent_field) if kind.parent_field else records).first()
    if record is None:
        return
    problem = ""
    try:
        _write(record, mark, claim, stopped)
    except FileProblems as failure:
        problem = failure.lines[0]
    except (_Overtaken, DatabaseError):
        raise
    except Exception as error:  # noqa: BLE001 (one record with a defect must not keep all others out)
        _log.exception("%s %s cannot be indexed", kind.noun, record.key)
        problem = f"{type(error).__name__}: {error}"
    if problem:
        _log.warning("The search leaves %s %s out: %s", kind.noun, record.key, problem)
        _take_out_all(record, mark, claim)
    _finish(record, mark, claim, problem)


def _write(record: Document, mark: IndexMark, claim: str, stopped: Callable[[], bool]) -> None:
    """Write what is new or changed in a record, step by step, and then take out what is gone."""
    family, kept = family_of_entries(record), known_entries(record)
    items = items_of(record)
    gone = set(kept)

    def new() -> Iterator[Item]:
        for item in items:
            gone.discard(item.anchor)
            if kept.get(item.anchor, (0, ""))[1] != fingerprint(item, family):
                yield item

    coming = new()
    while batch := list(islice(coming, BATCH)):
        with transaction.atomic():
            _check_claim(mark, claim)
            take_out([kept[item.anchor][0] for item in batch if item.anchor in kept])
            put_in(batch, record, family)
        if stopped():
            raise _Overtaken
    numbers = sorted(kept[anchor][0] for anchor in gone)
    for start in range(0, len(numbers), BATCH):
        with transaction.atomic():
            _check_claim(mark, claim)
            take_out(numbers[start : start + BATCH])
        if stopped():
            raise _Overtaken


def _take_out_all(record: Document, mark: IndexMark, claim: str) -> None:
    with transaction.atomic():
        _check_claim(mark, claim)
        take_out([number for number, _ in known_entries(record).values()])


def _finish(record: Document, mark: IndexMark, claim: str, problem: str) -> None:
    """Say that the index is with the record, unless that moved on; then it stays marked."""
    with transaction.atomic():
        # The record before its mark, as whoever changes it does.
        now = lock(record)
        found = _check_claim(mark, claim)
        if state_of(now) == state_of(record):
            found.behind, found.claim, found.made_of, found.problem = False, "", state_of(record), problem
            found.save()


def _check_claim(mark: IndexMark, claim: str) -> IndexMark:
    found = IndexMark.objects.select_for_update().get(pk=mark.pk)
    if not found.behind or found.claim != claim:
        raise _Overtaken
    return found
