"""The shelf: one line for each set, found by words, in pages."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from django.core.paginator import Page, Paginator
from django.db.models import Q, QuerySet
from django.db.models.expressions import Combinable

from setwright.workbench.sets.models import BY_NAME, SetRecord, ShelfLine
from setwright.workbench.sets.shelf_lines import is_present, lines_of
from setwright.workbench.site.words import percent

ON_A_PAGE = 20

ORDERS: dict[str, tuple[str, tuple[str | Combinable, ...]]] = {
    "name": ("by name", BY_NAME),
    "changed": ("last changed first", ("-changed_at", "key")),
}
"""The orders of the shelf: how a page calls them, and what they go by."""


@dataclass(frozen=True, slots=True)
class ShelfRow:
    """One set with what it most probably is and its next step. note : how far that can be trusted just now."""

    record: SetRecord
    verdict: str
    percent: str
    note: str
    step: str


@dataclass(frozen=True, slots=True)
class Asked:
    """What the shelf was asked for: words that must occur, a family's key, an order, and the page."""

    words: str = ""
    family: str = ""
    order: str = "name"
    page: str = "1"

    @classmethod
    def of(cls, query: Mapping[str, str]) -> Asked:
        """As it stands in an address; what makes no sense there is passed over."""
        order = query.get("order", "name")
        return cls(
            words=query.get("q", "")[:200].replace("\0", "").strip(),
            family=query.get("family", "")[:200].replace("\0", ""),
            order=order if order in ORDERS else "name",
            page=query.get("page", "1"),
        )

    @property
    def narrowed(self) -> bool:
        """Whether sets were left out."""
        return bool(self.words or self.family)

    @property
    def query(self) -> str:
        """The same as it stands in an address, up to the number of the page."""
        given = {"q": self.words, "family": self.family, "order": "" if self.order == "name" else self.order}
        kept = urlencode({name: value for name, value in given.items() if value})
        return f"{kept}&" if kept else ""


def found(records: QuerySet[SetRecord], asked: Asked) -> QuerySet[SetRecord]:
    """The sets asked for, in their order: every word stands in name, id, serial, family or verdict."""
    for word in asked.words.split():
        records = records.filter(
            Q(name__icontains=word)
            | Q(key__icontains=word)
            | Q(serial__icontains=word)
            | Q(family__name__icontains=word)
            | Q(shelf_line__verdict__icontains=word)
        )
    if asked.family:
        records = records.filter(family__key=asked.family)
    return records.order_by(*ORDERS[asked.order][1])


def page_of_shelf(records: QuerySet[SetRecord], asked: Asked) -> Page[SetRecord]:
    """One page of them; a page that is not there becomes the nearest one."""
    return Paginator(found(records, asked), ON_A_PAGE).get_page(asked.page)


def shelf_rows(records: Sequence[SetRecord]) -> tuple[tuple[ShelfRow, ...], bool]:
    """A row for each set, and whether some of their lines are being made anew."""
    lines, pending = lines_of(records)
    return tuple(_row(record, lines.get(record.pk)) for record in records), pending


def _row(record: SetRecord, line: ShelfLine | None) -> ShelfRow:
    if line is None:
        return ShelfRow(record, "Being worked out.", "", "", "")
    if line.probability is None:
        return ShelfRow(record, f"Not worked out: {line.verdict}", "", "", line.step)
    note = "quick answer" if line.quick else ""
    if not is_present(record, line):
        note = "from before the last change, being worked out anew"
    return ShelfRow(record, line.verdict, percent(line.probability), note, line.step)
