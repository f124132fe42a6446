"""What the pictures of a date show: the date curve of every line, the dated sets on it, this set's parts."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from setwright.chronology.answer import Mark, Picture
from setwright.chronology.fit import Fitted
from setwright.chronology.model import DatedSet, Evidence
from setwright.chronology.parts import Part, parts_table, reading_of
from setwright.chronology.weeks import monday_of

MOST_MARKS = 400
_ODD = 0.8


def picture_of(fitted: Fitted, one: DatedSet, mass: np.ndarray, level: float) -> Picture:
    """Everything to draw for one set, whose week has probability mass (count,)."""
    ribbon = tuple(_alone(fitted, item) for item in one.evidence if item.kind == "part")
    place: dict[str, list[tuple[int, int]]] = {}
    for spot in one.places:
        place.setdefault(spot.line, []).append((spot.first, spot.last))
    return Picture(
        weeks=fitted.weeks,
        mass=mass,
        curves=fitted.curves(level),
        marks=tuple(_marks(fitted)),
        place={line: tuple(ranges) for line, ranges in place.items()},
        parts=ribbon,
    )


def _alone(fitted: Fitted, item: Evidence) -> np.ndarray:
    """(count,) probability of the set's week from one dated part alone."""
    if not reading_of(item, fitted.assumptions).dates:
        return np.full(fitted.weeks.count, 1.0 / fitted.weeks.count)
    part = Part.of(item, fitted.assumptions)
    table = parts_table([Part(part.dates, 0.0)], fitted.weeks, fitted.lags.otherwise, fitted.assumptions)
    row = table.likelihood(fitted.lags.of(item.part))
    return np.asarray(row / row.sum())


def _marks(fitted: Fitted) -> Iterator[Mark]:
    """Sets that stand on a chain, by what dates them best; evenly chosen where there are very many."""
    odd = {number for number, probability in fitted.contradictions if probability > _ODD}
    places = {
        number: fitted.sets[number].position or (name, int(line.chain.position[node]))
        for name, line in fitted.lines.items()
        for number, node in line.node_of.items()
    }
    standing = sorted(places)
    step = max(len(standing) // MOST_MARKS, 1)
    for number in standing[::step]:
        one = fitted.sets[number]
        line, position = places[number]
        best = min(one.evidence, key=lambda item: (item.kind != "stamp", item.kind == "document"))
        if best.date is not None:
            low, high = best.date.first, best.date.last
        else:
            inside = [
                found
                for found in reading_of(best, fitted.assumptions).dates
                if found.misread is None and found.last >= fitted.weeks.first - 52
            ]
            if not inside:
                continue
            low, high = monday_of(inside[0].first), monday_of(inside[0].last)
        yield Mark(one.id, line, position, low, high, best.kind, number in odd)
