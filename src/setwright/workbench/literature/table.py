"""A table of documents (CSV) before it goes on the shelf, and taking it in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from django.db import transaction

from setwright.files.literature import LiteratureEntry, ShelfIndex
from setwright.workbench.literature.changes import KEY_WORDS, add, change, differs, entry_of
from setwright.workbench.literature.models import LiteratureRecord
from setwright.workbench.records.keeping import By

State = Literal["new", "changed", "same"]


@dataclass(frozen=True, slots=True)
class PreviewRow:
    """One good row: what it would do. changes : for each thing that it changes, its words, before and after."""

    row: int
    state: State
    entry: LiteratureEntry
    changes: tuple[tuple[str, str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Preview:
    """What a table would do to the shelf."""

    rows: tuple[PreviewRow, ...]

    def of(self, state: State) -> tuple[PreviewRow, ...]:
        """The rows that do one thing."""
        return tuple(row for row in self.rows if row.state == state)

    @property
    def does_something(self) -> bool:
        """Whether taking it in changes the shelf."""
        return any(row.state != "same" for row in self.rows)


def preview(index: ShelfIndex) -> Preview:
    """What a table would do to the shelf as it is now."""
    present = {record.key: entry_of(record) for record in LiteratureRecord.objects.all()}
    return Preview(tuple(_row(index, row.row, row.entry, present.get(row.entry.id)) for row in index.rows))


def _row(index: ShelfIndex, number: int, entry: LiteratureEntry, present: LiteratureEntry | None) -> PreviewRow:
    if present is None:
        return PreviewRow(number, "new", entry)
    changes = tuple(
        (KEY_WORDS[key], _shown(getattr(present, key)), _shown(getattr(entry, key)))
        for key in index.columns
        if key != "id" and differs(getattr(present, key), getattr(entry, key))
    )
    return PreviewRow(number, "changed" if changes else "same", entry, changes)


def _shown(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None else str(value)


def take(index: ShelfIndex, *, by: By) -> Preview:
    """Put the good rows of a table on the shelf, all of them or none; what was done."""
    with transaction.atomic():
        done = preview(index)
        records = LiteratureRecord.objects.in_bulk([row.entry.id for row in done.of("changed")], field_name="key")
        why = f"Taken from the table {index.name}"
        for row in done.of("new"):
            keys = {key: getattr(row.entry, key) or None for key in ("id", *KEY_WORDS)}
            add(keys, by=by, what=why)
        for row in done.of("changed"):
            keys = {
                key: getattr(row.entry, key) or None
                for key in index.columns
                if key != "id" and differs(getattr(entry_of(records[row.entry.id]), key), getattr(row.entry, key))
            }
            change(records[row.entry.id], keys, by=by, why=why)
    return done
