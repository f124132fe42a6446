"""The page of what was found, put into reading order; the same for the page and as data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.search.excerpts import Piece, excerpt, marked
from setwright.workbench.search.finding import HITS_A_PAGE, Found
from setwright.workbench.search.kinds import HEADINGS
from setwright.workbench.search.models import SearchEntry


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
