"""Keeping the index with the records.

A change writes only the rows it changed, inside its own transaction: what was stored can be found, what was taken
back cannot. The whole index is made anew where it was made by other rules than `INDEX_VERSION`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from typing import Any

from django.db import connection, transaction
from django.db.migrations.executor import MigrationExecutor

from setwright.files import FileProblems
from setwright.workbench.records.kinds import all_kinds, kind_named, kind_of
from setwright.workbench.records.models import Document
from setwright.workbench.search.documents.item import Item
from setwright.workbench.search.models import IndexVersion, SearchEntry, SearchWord
from setwright.workbench.search.words import has_digit, has_mark, words_of

INDEX_VERSION = 1
"""Raise it with every change of what is found and under which words."""

BATCH = 500


def follow_change(sender: type[Document], record: Document, **rest: object) -> None:
    """Brings the index after a record that was changed; see `records.keeping.changed`."""
    refresh_record(record)
    for kind, key in _depending(record):
        # One that no longer fits its changed family is either refused with it or follows in the same transaction.
        with suppress(FileProblems):
            refresh(kind, key)


def follow_migration(sender: object, **rest: object) -> None:
    """Makes the index anew after an upgrade that changed its rules, once every table stands as it should."""
    executor = MigrationExecutor(connection)
    if not executor.migration_plan(executor.loader.graph.leaf_nodes()):
        ensure_current()


def ensure_current() -> bool:
    """Make the index anew if it was made by other rules; whether it was."""
    if IndexVersion.objects.filter(number=INDEX_VERSION).exists():
        return False
    rebuild()
    return True


def rebuild() -> int:
    """Make the whole index anew; how many things can be found then. One transaction."""
    with transaction.atomic():
        SearchEntry.objects.all().delete()
        SearchWord.objects.all().delete()
        for kind in all_kinds():
            for record in kind.model.objects.iterator(chunk_size=50):
                refresh_record(record)
        IndexVersion.objects.all().delete()
        IndexVersion.objects.create(number=INDEX_VERSION)
        return SearchEntry.objects.count()


def refresh(kind: str, key: str) -> None:
    """Bring the index after one record, named by its kind and key; a removed one is found no more."""
    record = kind_named(kind).model.everything.filter(key=key).first()
    if record is None:
        SearchEntry.objects.filter(record_kind=kind, record_key=key).delete()
    else:
        refresh_record(record)


def refresh_record(record: Document) -> None:
    """Bring the index after a record: write what is new or changed in it, take out what is gone."""
    rows = SearchEntry.objects.filter(record_kind=record.record_kind, record_key=record.key)
    kept = {anchor: (number, digest) for number, anchor, digest in rows.values_list("id", "anchor", "digest")}
    family = kind_of(record).family_key(record) or ""
    gone, new = set(kept), []
    with transaction.atomic():
        for item in _items(record):
            if item.anchor in kept and kept[item.anchor][1] == item.digest(family):
                gone.discard(item.anchor)
            else:
                new.append(item)
        _take_out([kept[anchor][0] for anchor in gone])
        _put_in(new, record, family)


def _take_out(numbers: list[int]) -> None:
    for start in range(0, len(numbers), BATCH):
        SearchEntry.objects.filter(id__in=numbers[start : start + BATCH]).delete()


def _put_in(items: Iterable[Item], record: Document, family: str) -> None:
    entries = [_entry(item, record, family) for item in items]
    SearchEntry.objects.bulk_create(entries, batch_size=BATCH)
    words = {word for entry in entries for word in f"{entry.title_words} {entry.body_words}".split() if has_digit(word)}
    rows = [SearchWord(word=word, pattern=like_pattern(word) if has_mark(word) else "") for word in sorted(words)]
    SearchWord.objects.bulk_create(rows, batch_size=BATCH, ignore_conflicts=True)


def _entry(item: Item, record: Document, family: str) -> SearchEntry:
    return SearchEntry(
        record_kind=record.record_kind,
        record_key=record.key,
        anchor=item.anchor,
        kind=item.kind,
        title=item.title,
        body=item.body,
        family=family,
        address=item.address,
        title_words=" ".join(words_of(item.title)),
        body_words=" ".join([*words_of(item.body), *words_of(item.aliases)]),
        cites=f" {' '.join(item.cites)} " if item.cites else "",
        digest=item.digest(family),
    )


def like_pattern(word: str) -> str:
    """What a word with illegible characters can stand for, as LIKE has it; words hold nothing else LIKE knows."""
    return word.replace("?", "_").replace("*", "%")


def _items(record: Document) -> Iterator[Item]:
    """What can be found of a record; nothing once it, or the family it belongs to, is removed."""
    field = kind_of(record).parent_field
    if record.is_removed or (field and getattr(record, field).is_removed):
        return iter(())
    return _makers()[record.record_kind](record)


def _makers() -> dict[str, Callable[[Any], Iterator[Item]]]:
    from setwright.workbench.search.documents.circuits import chart_items, circuit_items
    from setwright.workbench.search.documents.families import family_items
    from setwright.workbench.search.documents.literature import literature_items
    from setwright.workbench.search.documents.sets import set_items
    from setwright.workbench.search.documents.survivors import survivor_items

    return {
        "family": family_items,
        "set": set_items,
        "survivors": survivor_items,
        "literature": literature_items,
        "circuit": circuit_items,
        "chart": chart_items,
    }


def _depending(record: Document) -> list[tuple[str, str]]:
    """The records whose pages say something that this one says: those of a family, when the family changed."""
    if record.record_kind != "family":
        return []
    return [
        (kind.name, key)
        for kind in all_kinds()
        if kind.parent_field == "family"
        for key in kind.model.objects.filter(**{f"{kind.parent_field}__key": record.key}).values_list("key", flat=True)
    ]
