"""The values dating computes with: what is dated, where it stands, what is assumed. All are immutable."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

import numpy as np

from setwright.notation import DateInterval


class NothingDated(ValueError):
    """Neither a set nor a document gives any date."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """One piece of dating evidence.

    kind : "stamp" (when the set was finished), "part" (a dated part) or "document" (not after).
    date : the days it can mean; None where only a `code` was read.
    code, scheme : a part's date code as read, and how such codes are made up where known.
    part : which part carries it.
    """

    kind: Literal["stamp", "part", "document"]
    date: DateInterval | None = None
    code: str | None = None
    scheme: str | None = None
    part: str | None = None

    @property
    def written(self) -> str:
        """What was read, as written."""
        return self.code if self.code is not None else str(self.date)


@dataclass(frozen=True, slots=True)
class Block:
    """Serials allotted together behind a prefix: `first` … `last` (None: no end is documented), position `starts_at`
    on.

    `first` is None where it is not documented which number was the first.
    """

    prefix: str
    first: int | None
    last: int | None
    starts_at: int


@dataclass(frozen=True, slots=True)
class Run:
    """One line of production: its positions first … last in the order of numbering.

    stretches : the parts of it that hold sets, both ends included; default all of it.
    unit : "serial", or "fraction of the run" where no serial is known and positions are equal parts of the run.
    first_documented, last_documented : the documents say which serial was the first, and the last.
    epochs : positions at which the pace of production may change, ascending; they come from documents or from
        fixed numbers (`usual_epochs`), never from survivors.
    """

    line: str
    first: int
    last: int
    stretches: tuple[tuple[int, int], ...] = ()
    unit: str = "serial"
    first_documented: bool = False
    last_documented: bool = False
    blocks: tuple[Block, ...] = ()
    epochs: tuple[int, ...] = ()

    @property
    def holding(self) -> tuple[tuple[int, int], ...]:
        """The stretches that hold sets."""
        return self.stretches or ((self.first, self.last),)


@dataclass(frozen=True, slots=True)
class Place:
    """Positions first … last of a line where a set can stand, both ends included."""

    line: str
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class PlaceBelief:
    """Where a set stands on a line, as something other than its serial tells it (its features).

    probability : of the line. edges : (cells + 1,) last position of each cell, before them the last position before
    the first cell. mass : (cells,) probability of each cell, given the line.
    """

    line: str
    probability: float
    edges: np.ndarray
    mass: np.ndarray


@dataclass(frozen=True, slots=True)
class DatedSet:
    """A set: where it can stand by its serial, and what dates it.

    places : all the positions its serial fits; one position where it was read in full, all lines without a serial.
    """

    id: str
    places: tuple[Place, ...]
    evidence: tuple[Evidence, ...] = ()

    @property
    def position(self) -> tuple[str, int] | None:
        """Line and position where there is only one."""
        if len(self.places) == 1 and self.places[0].first == self.places[0].last:
            return self.places[0].line, self.places[0].first
        return None


@dataclass(frozen=True, slots=True)
class Production:
    """What is documented of a family for dating: its lines, and when it was introduced and discontinued."""

    runs: tuple[Run, ...]
    introduced: DateInterval | None = None
    discontinued: DateInterval | None = None

    def run(self, line: str) -> Run:
        """The run of one line; KeyError if there is none."""
        for run in self.runs:
            if run.line == line:
                return run
        raise KeyError(line)


@dataclass(frozen=True, slots=True)
class Assumptions:
    """What dating assumes; all of it common practice, no source.

    scatter_weeks : sets are finished out of the order of their numbers by so much (standard deviation).
    wrong_stamp : a stamp or document does not belong to the set, or was misread.
    replaced : a dated part is a later replacement, by part where the parts differ; `replaced_otherwise` for the rest.
    replaced_within_weeks : a replacement's date lies within so long after the set's, evenly.
    misread : a figure of a part code was misread.
    start_weeks : the first set follows the date of introduction, and the last one precedes that of discontinuation, by
        so much on average.
    level : probability that ranges hold.
    """

    scatter_weeks: float = 1.0
    wrong_stamp: float = 0.02
    replaced: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    replaced_otherwise: float = 0.1
    replaced_within_weeks: int = 2080
    misread: float = 0.03
    start_weeks: float = 8.0
    level: float = 0.9

    def replaced_rate(self, part: str | None) -> float:
        """How probable it is beforehand that this part is a later replacement."""
        return self.replaced.get(part or "", self.replaced_otherwise)


EPOCHS_A_DOUBLING = 4
"""The pace of production may change so often while the number made doubles."""


FIRST_EPOCH = 256
"""Within so many of the first sets the pace stays the same."""


def usual_epochs(first: int, last: int, *more: int, least: int = FIRST_EPOCH) -> tuple[int, ...]:
    """Positions at which the pace may change: four for every doubling of the number made, and those given besides.

    least : within so many of the first sets it stays the same; of a run whose length is documented a 64th will do.

    >>> usual_epochs(1, 1200, 900)
    (256, 304, 362, 430, 512, 608, 724, 861, 900, 1024)
    """
    usual = set()
    position, step = first, math.ceil(EPOCHS_A_DOUBLING * math.log2(least))
    while position < last:
        position = first - 1 + math.floor(2.0 ** (step / EPOCHS_A_DOUBLING) + 1e-9)
        usual.add(position)
        step += 1
    return tuple(sorted(position for position in {*usual, *more} if first < position < last))
