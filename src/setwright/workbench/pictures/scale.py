"""From places on a production axis to places on the paper."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from setwright.identity.answer import AxisAnswer
from setwright.identity.model import Family
from setwright.identity.places import FRACTION_UNIT, describe

HILL_POINTS = 160
"""Columns of a hill: fine enough that a cut-in known to one serial still stands out, coarse enough for small pages."""


@dataclass(frozen=True, slots=True)
class Tick:
    """A mark of the scale with its label."""

    x: float
    label: str
    anchor: str


@dataclass(frozen=True, slots=True)
class Scale:
    """Maps an axis's positions onto left … right of a picture."""

    family: Family
    line: str
    unit: str
    first: float
    last: float
    left: float
    right: float

    @classmethod
    def of(cls, family: Family, axis: AxisAnswer, left: float, right: float) -> Scale:
        """The scale that shows the whole axis."""
        first, last = float(axis.edges[0]), float(axis.edges[-1])
        return cls(family, axis.line, axis.unit, first, last, left, right)

    def x(self, position: float) -> float:
        """Where a position of the axis lies on the paper; beyond the ends it is held at the margin."""
        share = (position - self.first) / (self.last - self.first)
        return round(self.left + min(max(share, 0.0), 1.0) * (self.right - self.left), 1)

    def x_of_answer(self, place: float) -> float:
        """The same for a place as answers give it: parts of the run where no serial is known."""
        return self.x(self.first + place * (self.last - self.first) if self.unit == FRACTION_UNIT else place)

    def label(self, position: float) -> str:
        """What stands under a mark of the scale."""
        if self.unit == FRACTION_UNIT:
            return f"{round(100 * (position - self.first) / (self.last - self.first))} %"
        return describe(self.family, self.line, round(position))

    def ticks(self, most: int) -> tuple[Tick, ...]:
        """Round places, at most so many, the ends among them."""
        span = self.last - self.first
        if self.unit == FRACTION_UNIT:
            step = round_step(1.0 / max(most - 1, 1)) * span
            start, inner = self.first, np.arange(self.first + step, self.last - 0.5 * step, step)
        else:
            step = round_step(span / max(most - 1, 1))
            start, inner = self.first + 1, np.arange(np.ceil(self.first / step) * step, self.last, step)
        room = 0.6 * step
        middle = [
            Tick(self.x(p), self.label(p), "middle") for p in inner if p - self.first > room and self.last - p > room
        ]
        return (
            Tick(self.x(start), self.label(start), "start"),
            *middle,
            Tick(self.x(self.last), self.label(self.last), "end"),
        )


def round_step(least: float) -> float:
    """The smallest of 1, 2, 5 × 10ⁿ that is not under `least`."""
    base = 10.0 ** np.floor(np.log10(max(least, 1e-9)) + 1e-12)
    return float(next(base * m for m in (1, 2, 5, 10) if base * m >= least * 0.999))


class Axis(Protocol):
    """What maps numbers from first to last onto the paper."""

    @property
    def first(self) -> float:
        """The first number shown."""

    @property
    def last(self) -> float:
        """The last number shown."""

    def x(self, position: float) -> float:
        """Where a number lies."""


def hill(scale: Axis, edges: np.ndarray, mass: np.ndarray, height: float, base: float) -> str:
    """An SVG path: the density of a probability over an axis, standing on `base`, its summit `height` above.

    edges : (cells + 1,) ends of the cells on the axis. mass : (cells,) probability in each.
    Each hill has its own summit, so a cut-in that is known closely stays a thin spike and one that is
    not a long low ridge of the same height; the range under it tells how wide it is.
    """
    cumulative = np.concatenate([[0.0], np.cumsum(mass)])
    columns = np.linspace(scale.first, scale.last, HILL_POINTS + 1)
    density = np.diff(np.interp(columns, edges, cumulative))
    top = density.max()
    if top <= 0.0:
        return ""
    heights = height * density / top
    shown = np.flatnonzero(heights > 0.04 * height)
    low, high = shown[0], shown[-1]
    xs = [scale.x(float(column)) for column in (columns[:-1] + columns[1:]) / 2]
    points = [f"{xs[i]:g} {base - heights[i]:.1f}" for i in range(low, high + 1)]
    start, end = scale.x(float(columns[low])), scale.x(float(columns[high + 1]))
    return f"M{start:g} {base:g} L{' L'.join(points)} L{end:g} {base:g}Z"
