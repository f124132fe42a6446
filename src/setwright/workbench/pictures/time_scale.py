"""From days to places on the paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from setwright.chronology.answer import DateAnswer, RunCurve
from setwright.workbench.pictures.scale import Tick

STEPS = (1, 3, 6, 12, 24, 60, 120, 240, 600, 1200)
"""Months between two marks of a scale."""

_MARGIN = 0.03


@dataclass(frozen=True, slots=True)
class TimeScale:
    """Maps days, as ordinals, onto left … right of a picture."""

    first: float
    last: float
    left: float
    right: float

    def x(self, position: float) -> float:
        """Where a day lies on the paper; beyond the ends it is held at the margin."""
        share = (position - self.first) / (self.last - self.first)
        return round(self.left + min(max(share, 0.0), 1.0) * (self.right - self.left), 1)

    def of(self, day: date) -> float:
        """The same for a date."""
        return self.x(day.toordinal())

    def ticks(self, most: int) -> tuple[Tick, ...]:
        """Beginnings of months or years, at most so many: a year by its figures, a month by its name."""
        for step in STEPS:
            days = _months(date.fromordinal(int(self.first)), date.fromordinal(int(self.last)), step)
            if len(days) <= most:
                break
        years = any(day.month == 1 for day in days)
        return tuple(
            Tick(self.of(day), _label(day, with_year=not years and day == days[0]), self._anchor(day)) for day in days
        )

    def _anchor(self, day: date) -> str:
        x = self.of(day)
        return "start" if x < self.left + 20 else "end" if x > self.right - 20 else "middle"


def _months(first: date, last: date, step: int) -> list[date]:
    """The first days of every so many months within a time, in step with the years."""
    number = -(-(first.year * 12 + first.month - (1 if first.day == 1 else 0)) // step) * step
    days = []
    while number // 12 < 9999 and (day := date(number // 12, number % 12 + 1, 1)) <= last:
        days.append(day)
        number += step
    return days


def _label(day: date, *, with_year: bool) -> str:
    """What stands at the beginning of a month.

    >>> _label(date(1949, 1, 1), with_year=False), _label(date(1949, 4, 1), with_year=False)
    ('1949', 'Apr')
    """
    if day.month == 1:
        return str(day.year)
    return f"{day:%b %Y}" if with_year else f"{day:%b}"


def time_shown(answer: DateAnswer, curves: Sequence[RunCurve]) -> tuple[float, float]:
    """The days that the pictures of a date begin and end with: the run as far as it is known, and the set."""
    lows = [float(curve.low.min()) for curve in curves] + [answer.date.low.toordinal()]
    highs = [float(curve.high.max()) for curve in curves] + [answer.date.high.toordinal() + 1]
    first, last = min(lows), max(highs)
    room = _MARGIN * (last - first)
    return first - room, last + room
