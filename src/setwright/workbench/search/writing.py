"""Writing into the index: what of a record is new or changed goes in, what is gone comes out."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any

from setwright.workbench.records.kinds import kind_of
from setwright.workbench.records.models import Document, digest_of
from setwright.workbench.search.documents.item import Item
from setwright.workbench.search.models import SearchEntry, SearchWord
from setwright.workbench.search.words import has_digit, has_mark, words_of

INDEX_VERSION = 2
"""Raise it with every change of what is found and under which words."""

BATCH = 500

_held: ContextVar[set[str] | None] = ContextVar("words held back", default=None)


def state_of(record: Document, digest: str | None = None) -> str:
    """A fingerprint of everything that the entries of a record are made of. digest : of another text than it has."""
    parent = _parent_of(record)
    made_of: list[object] = [digest or record.digest, record.is_removed, INDEX_VERSION]
    if parent is not None:
        made_of += [parent.digest, parent.is_removed]
    return digest_of(" ".join(map(str, made_of)))


def family_of_entries(record: Document) -> str:
    """Whose permission it takes to find what is in a record; "" where it belongs to no family."""
    return kind_of(record).family_key(record) or ""


def items_of(record: Document) -> Iterator[Item]:
    """What can be found of a record; nothing once it, or the family it belongs to, is removed. Raises FileProblems."""
    parent = _parent_of(record)
    if record.is_removed or (parent is not None and parent.is_removed):
        return iter(())
    return _makers()[record.record_kind](record)


def known_entries(record: Document) -> dict[str, tuple[int, str]]:
    """The number and digest of each of its entries, by anchor."""
    rows = SearchEntry.objects.filter(record_kind=record.record_kind, record_key=record.key)
    return {anchor: (number, digest) for number, anchor, digest in rows.values_list("id", "anchor", "digest")}


def fingerprint(item: Item, family: str) -> str:
    """What an entry of this item is known by, under the rules of this index."""
    return item.digest(f"{INDEX_VERSION} {family}")


def take_out(numbers: list[int]) -> None:
    """Take entries out."""
    for start in range(0, len(numbers), BATCH):
        SearchEntry.objects.filter(id__in=numbers[start : start + BATCH]).delete()


def put_in(items: Iterable[Item], record: Document, family: str) -> None:
    """Put entries in, and the words with digits that stand in them."""
    entries = [_entry(item, record, family) for item in items]
    SearchEntry.objects.bulk_create(entries, batch_size=BATCH)
    words = {word for entry in entries for word in f"{entry.title_words} {entry.body_words}".split() if has_digit(word)}
    held = _held.get()
    if held is None:
        _write_words(words)
    else:
        held |= words


@contextmanager
def words_last() -> Iterator[None]:
    """The words of what is put in while this lasts are written at its end.

    Whoever writes a word that another transaction has just written waits for that one to end. So that two never wait
    for each other, a transaction writes its words when it needs nothing else any more, and always in one order.
    """
    if _held.get() is not None:
        yield
        return
    held: set[str] = set()
    token = _held.set(held)
    try:
        yield
    finally:
        _held.reset(token)
    _write_words(held)


def _write_words(words: set[str]) -> None:
    rows = [SearchWord(word=word, pattern=like_pattern(word) if has_mark(word) else "") for word in sorted(words)]
    SearchWord.objects.bulk_create(rows, batch_size=BATCH, ignore_conflicts=True)


def like_pattern(word: str) -> str:
    """What a word with illegible characters can stand for, as LIKE has it; words hold nothing else LIKE knows."""
    return word.replace("?", "_").replace("*", "%")


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
        digest=fingerprint(item, family),
    )


def _parent_of(record: Document) -> Document | None:
    field = kind_of(record).parent_field
    return getattr(record, field) if field else None


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
