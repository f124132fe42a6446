"""The weeks of a set whose place in the run is not known for certain: a mixture over the places it can have."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from setwright.chronology.likelihood import scattered
from setwright.chronology.model import DatedSet, Place, PlaceBelief, Run

if TYPE_CHECKING:
    from setwright.chronology.fit import Fitted

MOST_CELLS = 48
"""So many stretches of a line stand for the places a set can have there."""


@dataclass(frozen=True)
class Standing:
    """The places a set can have, gathered into cells, and the weeks in which these were finished.

    line : (C,) names. low, high : (C,) first and last position of each cell. prior : (C,) its probability.
    week : (C, count) probability of the week in which a set of the cell was finished.
    """

    line: tuple[str, ...]
    low: np.ndarray
    high: np.ndarray
    prior: np.ndarray
    week: np.ndarray

    def finished(self) -> np.ndarray:
        """(count,) probability of the set's week, nothing known that is dated on it."""
        return np.asarray(self.prior @ self.week)

    def posterior(self, likelihood: np.ndarray) -> np.ndarray:
        """(C,) probability of each cell once the set's own evidence (count,) is counted."""
        weight = self.prior * (self.week @ likelihood)
        return np.asarray(weight / weight.sum())

    def by_line(self, weight: np.ndarray) -> dict[str, float]:
        """Weights (C,) of the cells summed for each line."""
        return {name: float(weight[[one == name for one in self.line]].sum()) for name in dict.fromkeys(self.line)}


def standing_of(fitted: Fitted, one: DatedSet, belief: Sequence[PlaceBelief] = ()) -> Standing:
    """Where a set can stand: by its serial, or by what else is believed of its place.

    Beforehand every line the serial fits is equally likely, within it every position (as identity has it, where weights
    of lines go by the share of their positions that fit). belief : replaces this where given.
    """
    found = [(line, cell) for line, cells in _cells(fitted, one, belief).items() for cell in cells]
    prior = np.array([cell.prior for _, cell in found])
    week = np.array([scattered(fitted.numbered(line, cell.middle), fitted.rows.kernel) for line, cell in found])
    return Standing(
        line=tuple(line for line, _ in found),
        low=np.array([cell.low for _, cell in found]),
        high=np.array([cell.high for _, cell in found]),
        prior=prior / prior.sum(),
        week=week / week.sum(axis=1, keepdims=True),
    )


class _Cell(NamedTuple):
    """Positions low … high with their probability beforehand; `middle` stands for them."""

    low: int
    high: int
    prior: float
    middle: int


def _cells(fitted: Fitted, one: DatedSet, belief: Sequence[PlaceBelief]) -> Mapping[str, list[_Cell]]:
    """The cells of each line."""
    believed = {item.line: item for item in belief if item.probability > 0.0}
    if believed and one.position is None:
        return {line: _of_belief(item) for line, item in believed.items()}
    by_line: dict[str, list[Place]] = {}
    for place in one.places:
        by_line.setdefault(place.line, []).append(place)
    return {line: _of_places(fitted.production.run(line), places) for line, places in by_line.items()}


def _of_belief(item: PlaceBelief) -> list[_Cell]:
    """First and last position, weight and mean position of cells of about equal weight, from a belief."""
    behind = np.concatenate([[0.0], np.cumsum(item.mass)])
    middles = (item.edges[:-1] + 1 + item.edges[1:]) / 2.0
    cut = np.unique(np.searchsorted(behind, np.linspace(0.0, behind[-1], MOST_CELLS + 1)[1:-1]))
    bounds = np.unique(np.concatenate([[0], cut, [len(item.mass)]]))
    cells = []
    for a, b in pairwise(bounds):
        weight = float(behind[b] - behind[a])
        if weight > 0.0:
            mean = round(float(np.average(middles[a:b], weights=item.mass[a:b])))
            prior = item.probability * weight / float(behind[-1])
            cells.append(_Cell(int(item.edges[a]) + 1, int(item.edges[b]), prior, mean))
    return cells


def _of_places(run: Run, places: Sequence[Place]) -> list[_Cell]:
    """Cells from the places a serial fits, weighed by the positions in them against all of the line's."""
    held = sum(last - first + 1 for first, last in run.holding)
    parts = [
        (max(place.first, first), min(place.last, last))
        for place in places
        for first, last in run.holding
        if place.first <= last and place.last >= first
    ] or [(place.first, place.last) for place in places]
    least, most = min(first for first, _ in parts), max(last for _, last in parts)
    edges = np.unique(np.linspace(least - 1, most, MOST_CELLS + 1).round().astype(int))
    cells = []
    for before, behind in pairwise(edges):
        inside = [(max(a, before + 1), min(b, behind)) for a, b in parts if a <= behind and b > before]
        if inside:
            count = sum(b - a + 1 for a, b in inside)
            low, high = int(inside[0][0]), int(inside[-1][1])
            cells.append(_Cell(low, high, count / held, (low + high) // 2))
    return cells
