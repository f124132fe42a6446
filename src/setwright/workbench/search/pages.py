"""The page of what was found, put into reading order; the same for the page and as data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.records.kinds import kind_named
from setwright.workbench.search.excerpts import Piece, excerpt, marked
from setwright.workbench.search.finding import HITS_A_PAGE, Found
from setwright.workbench.search.kinds import HEADINGS
from setwright.workbench.search.models import IndexMark, SearchEntry


@dataclass(frozen=True, slots=True)
class Hit:
    """One thing found: its title, and the sentence that holds the words."""

    title: tuple[Piece, ...]
    sentence: tuple[Piece, ...]
    address: str
    family: str

    def as_data(self) -> dict[str, str]:
        """The same as data."""
        return {
            "title": _plain(self.title),
            "text": _plain(self.sentence),
            "address": self.address,
            "family": self.family,
        }


@dataclass(frozen=True, slots=True)
class Group:
    """What was found of one kind; `count` in all, `hits` those shown."""

    kind: str
    heading: str
    count: int
    hits: tuple[Hit, ...]

    @property
    def more(self) -> bool:
        """Whether there is more of this kind than is shown."""
        return self.count > len(self.hits)


@dataclass(frozen=True, slots=True)
class IndexState:
    """How far the index is. behind : of how many records it does not know yet what they say.

    left_out : the records that cannot be found because they cannot be read, each with the reason.
    """

    behind: int
    left_out: tuple[str, ...]


def index_state(*, with_names: bool) -> IndexState:
    """How far the index is now. with_names : say which records cannot be read; else that stays unsaid."""
    marks = list(IndexMark.objects.exclude(behind=False, problem="").order_by("record_kind", "record_key"))
    left_out = tuple(
        f"The {kind_named(mark.record_kind).noun} {mark.record_key}: {mark.problem}"
        for mark in marks
        if mark.problem and with_names
    )
    return IndexState(sum(mark.behind for mark in marks), left_out)


@dataclass(frozen=True, slots=True)
class FoundPage:
    """Everything the page shows. kind : where only one kind is listed, in sheets. vague : see Question."""

    asked: str
    total: int
    groups: tuple[Group, ...]
    kind: str = ""
    sheet: int = 1
    sheets: int = 1
    vague: tuple[str, ...] = ()

    @property
    def before(self) -> int:
        """The number of the sheet before."""
        return self.sheet - 1

    @property
    def after(self) -> int:
        """The number of the next sheet."""
        return self.sheet + 1

    def as_data(self) -> dict[str, Any]:
        """The same as data."""
        groups = [
            {"kind": group.kind, "count": group.count, "hits": [hit.as_data() for hit in group.hits]}
            for group in self.groups
        ]
        return {"format": "setwright-found/1", "asked": self.asked, "total": self.total, "groups": groups}


def found_page(found: Found, kind: str | None, sheet: int) -> FoundPage:
    """Lays out what was found."""
    keys = {hit.family for hit in found.hits if hit.family}
    names = dict(FamilyRecord.objects.filter(key__in=keys).values_list("key", "name"))
    groups = []
    for name, heading in HEADINGS.items():
        hits = tuple(_hit(found, hit, names) for hit in found.hits if hit.kind == name)
        if hits or (name == kind and found.counts.get(name)):
            groups.append(Group(name, heading, found.counts[name], hits))
    sheets = -(-found.counts.get(kind, 0) // HITS_A_PAGE) if kind else 1
    return FoundPage(
        found.question.asked, found.total, tuple(groups), kind or "", sheet, max(sheets, 1), found.question.vague
    )


def _hit(found: Found, entry: SearchEntry, names: Mapping[str, str]) -> Hit:
    title, sentence = marked(entry.title, found.question), excerpt(entry.body, found.question)
    family = "" if entry.kind == "family" else names.get(entry.family, "")
    return Hit(title, sentence, entry.address, family)


def _plain(pieces: tuple[Piece, ...]) -> str:
    return "".join(piece.text for piece in pieces)
