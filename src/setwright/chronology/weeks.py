"""The grid of weeks on which dating works.

Dating counts in whole weeks, Monday to Sunday, not in seconds: part codes name weeks, and no stamp is worth more. A
week has a number: days since Monday, 1 January of the year 1, divided by seven.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from setwright.notation import DateInterval

DAYS = 7
MOST_STEPS = 1400
"""A grid has at most so many steps; over longer times than 26 years a step takes several whole weeks."""

MARGIN_WEEKS = 261
"""Five years: how far the grid reaches beyond the dated evidence where no document ends it."""


def week_of(day: date) -> int:
    """The number of the week a day lies in.

    >>> week_of(date(1948, 8, 16)) == week_of(date(1948, 8, 22)) == week_of(date(1948, 8, 23)) - 1
    True
    """
    return (day.toordinal() - 1) // DAYS


def monday_of(week: int) -> date:
    """The first day of a week given by its number.

    >>> monday_of(week_of(date(1948, 8, 17)))
    datetime.date(1948, 8, 16)
    """
    return date.fromordinal(week * DAYS + 1)


@dataclass(frozen=True, slots=True)
class Weeks:
    """A stretch of time in equal steps: step k covers the weeks first + k * step … first + (k + 1) * step - 1.

    `step` is in weeks, 1 but for very long stretches; `count` is the number of steps.
    """

    first: int
    count: int
    step: int = 1

    @staticmethod
    def between(first: date, last: date) -> Weeks:
        """The grid that covers the days from first to last, both included."""
        start, weeks = week_of(first), week_of(last) - week_of(first) + 1
        step = -(-max(weeks, 1) // MOST_STEPS)
        return Weeks(start, max(-(-weeks // step), 1), step)

    @property
    def middle(self) -> np.ndarray:
        """(count,) number of the week in the middle of each step, as integers."""
        return self.first + np.arange(self.count) * self.step + self.step // 2

    @property
    def edges(self) -> np.ndarray:
        """(count + 1,) days, as ordinals, at which the steps begin, and the day behind the last."""
        return (self.first + np.arange(self.count + 1) * self.step) * DAYS + 1

    @property
    def first_day(self) -> date:
        """The first day of the grid."""
        return monday_of(self.first)

    @property
    def last_day(self) -> date:
        """The last day of the grid."""
        return monday_of(self.first + self.count * self.step) - timedelta(days=1)

    def monday(self, index: int) -> date:
        """The first day of a step."""
        return monday_of(self.first + index * self.step)

    def index_of(self, day: date) -> int:
        """The step a day lies in; below 0 or from `count` on outside the grid."""
        return (week_of(day) - self.first) // self.step

    def share_inside(self, interval: DateInterval) -> np.ndarray:
        """(count,) the share of each step's days that lie in an interval of days."""
        edges = self.edges.astype(float)
        first, behind = interval.first.toordinal(), interval.last.toordinal() + 1
        overlap = np.minimum(edges[1:], behind) - np.maximum(edges[:-1], first)
        return np.asarray(np.clip(overlap, 0.0, None) / (DAYS * self.step))

    def quantiles(self, mass: np.ndarray, shares: Sequence[float]) -> tuple[date, ...]:
        """Days by which the given shares of a probability mass over the steps (count,) have come.

        The mass of a step is spread evenly over its days.
        """
        behind = np.concatenate([[0.0], np.cumsum(mass)])
        behind /= behind[-1]
        days = []
        for share in shares:
            index = int(np.clip(np.searchsorted(behind, share, side="left") - 1, 0, self.count - 1))
            here = behind[index + 1] - behind[index]
            part = (share - behind[index]) / here if here > 0.0 else 0.5
            whole = self.step * DAYS
            day = int(min(max(np.floor(part * whole - 1e-9), 0), whole - 1))
            days.append(date.fromordinal(int(self.edges[index]) + day))
        return tuple(days)

    def mean(self, mass: np.ndarray) -> float:
        """The mean of a probability mass over the steps (count,), as a day's ordinal with fraction."""
        middles = (self.edges[:-1] + self.edges[1:]) / 2.0
        return float(mass @ middles / mass.sum())
