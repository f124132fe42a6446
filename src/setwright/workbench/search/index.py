"""Keeping the index with the records.

A change of a short record writes the entries it changed, inside its own transaction: what was stored can be found, what
was taken back cannot. Of a long register only the rows that changed are looked at. Where that is much, the record is
only marked: `catching` brings the index after it once the change is stored, so that nobody waits for it, and the
search page says meanwhile that the index is behind. What cannot be read is left out, and told.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from django.db import connection, transaction
from django.db.migrations.executor import MigrationExecutor
from django.db.models import Sum
from django.db.models.functions import Length

from setwright.files import FileProblems
from setwright.workbench.records.kinds import all_kinds
from setwright.workbench.records.models import Document, Revision
from setwright.workbench.search import catching
from setwright.workbench.search.models import IndexMark, IndexVersion, SearchEntry
from setwright.workbench.search.writing import (
    INDEX_VERSION,
    family_of_entries,
    fingerprint,
    items_of,
    known_entries,
    put_in,
    state_of,
    take_out,
    words_last,
)

SHORT = 100_000
"""Characters of a text that is indexed whole with its change; a register of some three hundred sets."""

FEW = 20
"""So many records are followed at once inside one transaction; of more of them the index comes after."""

SMALL = 2_000_000
"""Characters of all texts together that are indexed anew at once; with more the site need not wait for it to start."""

_later: ContextVar[bool] = ContextVar("indexing later", default=False)


def follow_change(sender: type[Document], record: Document, revision: Revision, **rest: object) -> None:
    """Brings the index after a record that was changed, or marks it; see `records.keeping.changed`."""
    with words_last():
        if _later.get():
            mark_behind([record])
        elif len(record.text) <= SHORT:
            refresh_record(record)
        elif not _refresh_rows(record, revision):
            mark_behind([record])
        _follow_dependants(record)


def _follow_dependants(record: Document) -> None:
    """The records that are read against this one, and so may say something else now: those of a family."""
    found: list[Document] = []
    for kind in all_kinds():
        if kind.parent_field and kind.model._meta.get_field(kind.parent_field).related_model is type(record):
            found += kind.model.objects.filter(**{kind.parent_field: record}).select_related(kind.parent_field)
    if _later.get() or len(found) > FEW:
        mark_behind(found)
        return
    for one in found:
        if len(one.text) <= SHORT:
            refresh_record(one)
        else:
            mark_behind([one])


@contextmanager
def later(many: bool = True) -> Iterator[None]:
    """What changes while this lasts is only marked, and indexed once it is stored. many : whether that is worth it.

    For one transaction that makes several changes, and ends with this.
    """
    token = _later.set(many or _later.get())
    try:
        with words_last():
            yield
    finally:
        _later.reset(token)


def follow_migration(sender: object, **rest: object) -> None:
    """Makes the index anew after an upgrade that changed its rules, once every table stands as it should."""
    executor = MigrationExecutor(connection)
    if not executor.migration_plan(executor.loader.graph.leaf_nodes()):
        ensure_current()


def ensure_current() -> bool:
    """Have the index made anew if it was made by other rules; whether it was. Much of it is left to the site."""
    if IndexVersion.objects.filter(number=INDEX_VERSION).exists():
        return False
    lengths = [kind.model.everything.aggregate(total=Sum(Length("text")))["total"] or 0 for kind in all_kinds()]
    _mark_everything()
    if sum(lengths) <= SMALL:
        catching.catch_up()
    return True


def rebuild() -> int:
    """Make the whole index anew, here and now; how many things can be found then."""
    _mark_everything()
    catching.catch_up()
    return SearchEntry.objects.count()


def _mark_everything() -> None:
    with transaction.atomic():
        for kind in all_kinds():
            keys = kind.model.everything.values_list("key", flat=True)
            _write_marks([IndexMark(record_kind=kind.name, record_key=key, behind=True) for key in keys])
        IndexVersion.objects.all().delete()
        IndexVersion.objects.create(number=INDEX_VERSION)


def mark_behind(records: list[Document]) -> None:
    """Say that the index is behind these records; once this is stored it is brought after them."""
    if not records:
        return
    _write_marks([IndexMark(record_kind=one.record_kind, record_key=one.key, behind=True) for one in records])
    transaction.on_commit(catching.wake, robust=True)


def _write_marks(marks: list[IndexMark]) -> None:
    IndexMark.objects.bulk_create(
        marks,
        batch_size=200,
        update_conflicts=True,
        unique_fields=["record_kind", "record_key"],
        update_fields=["made_of", "behind", "claim", "problem"],
    )


def refresh_record(record: Document) -> None:
    """Bring the index after a record: write what is new or changed in it, take out what is gone."""
    family, problem = family_of_entries(record), ""
    with transaction.atomic():
        try:
            items = list(items_of(record))
        except FileProblems as failure:
            # With a family that changed a record may not fit it any more; the family is then refused, or the record
            # follows in the same transaction.
            items, problem = [], failure.lines[0]
        mark = IndexMark(record_kind=record.record_kind, record_key=record.key, made_of=state_of(record))
        mark.problem = problem
        _write_marks([mark])
        kept = known_entries(record)
        same = {one.anchor for one in items if kept.get(one.anchor, (0, ""))[1] == fingerprint(one, family)}
        take_out([number for anchor, (number, _) in kept.items() if anchor not in same])
        put_in([one for one in items if one.anchor not in same], record, family)


def _refresh_rows(record: Document, revision: Revision) -> bool:
    """Bring the index after those rows of a register that one change touched; whether that could be done."""
    from setwright.workbench.search.documents.survivors import changed_rows
    from setwright.workbench.survivors.models import SurvivorRegister

    if not isinstance(record, SurvivorRegister) or record.is_removed:
        return False
    mark = IndexMark.objects.select_for_update().filter(record_kind=record.record_kind, record_key=record.key).first()
    before = Revision.objects.filter(kind=record.record_kind, key=record.key, number=revision.number - 1).first()
    if mark is None or mark.behind or mark.problem or before is None:
        return False
    if mark.made_of != state_of(record, before.digest):
        return False
    found = changed_rows(record, before.text)
    if found is None:
        return False
    gone, new = found
    anchors = {item.anchor for item in (*gone, *new)}
    entries = SearchEntry.objects.filter(record_kind=record.record_kind, record_key=record.key, anchor__in=anchors)
    take_out(list(entries.values_list("id", flat=True)))
    put_in(new, record, family_of_entries(record))
    mark.made_of = state_of(record)
    mark.save(update_fields=["made_of"])
    return True
