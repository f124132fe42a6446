"""What the dated parts of one set say together of the week in which it was finished.

The newest part that is the factory's decides: the set was finished its lag later. Older ones say only that they were
there already, however much older they are, so several parts from one delivery are not counted as several witnesses. Any
part may be a later replacement instead; its date then lies after the set's.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from setwright.chronology.codes import CodeDate, Reading, read_code
from setwright.chronology.lags import LONGEST, Lags
from setwright.chronology.model import Assumptions, Evidence
from setwright.chronology.weeks import Weeks, week_of

NEWEST = "newest of several"
"""Names the lag of the newest of two or more dated parts; a part that is the only one dated has its own kind's."""

_NEVER = 1e-10
"""What even a replacement does not explain (a part older than twenty years) keeps so much, each part for itself."""

_SMALLEST = 1e-300


def reading_of(evidence: Evidence, assumptions: Assumptions) -> Reading:
    """The dates that a dated part can mean, from its code or its date."""
    if evidence.date is not None:
        interval = evidence.date
        return Reading((CodeDate(week_of(interval.first), week_of(interval.last), 1.0, interval.text),))
    return read_code(evidence.code or "", evidence.scheme, assumptions.misread)


def lag_name(parts: Sequence[Evidence]) -> str:
    """Which lag counts for these dated parts of one set."""
    return NEWEST if len(parts) > 1 else parts[0].part or ""


@dataclass(frozen=True)
class Part:
    """One dated part. dates : (K, 3) first week, last week and weight of each date it can mean; rate : replaced."""

    dates: np.ndarray
    rate: float

    @staticmethod
    def of(evidence: Evidence, assumptions: Assumptions) -> Part:
        """A dated part as evidence gives it."""
        found = reading_of(evidence, assumptions).dates
        dates = np.array([(date.first, date.last, date.weight) for date in found]).reshape(-1, 3)
        return Part(dates, assumptions.replaced_rate(evidence.part))

    def meaning(self, number: int) -> Part:
        """The part if it has the date of that number."""
        return Part(self.dates[number : number + 1], self.rate)

    def weeks_in(self, first: int, last: int) -> np.ndarray:
        """The weeks within a stretch of time that the part's date can be."""
        low, high = np.maximum(self.dates[:, 0], first), np.minimum(self.dates[:, 1], last)
        stretches = [np.arange(a, b + 1) for a, b in zip(low, high, strict=True) if a <= b]
        return np.concatenate(stretches).astype(np.int64) if stretches else np.empty(0, dtype=np.int64)

    def at(self, week: np.ndarray) -> np.ndarray:
        """Probability of what was read, were the part dated these weeks (any shape)."""
        first, last, weight = (self.dates[:, i] for i in range(3))
        inside = (week[..., None] >= first) & (week[..., None] <= last)
        return np.asarray((inside * weight).sum(axis=-1))

    def older(self, week: np.ndarray, ages: np.ndarray) -> np.ndarray:
        """Probability of what was read, were the part older than these weeks (any shape), by ages (LONGEST,)."""
        behind = np.concatenate([[0.0], np.cumsum(ages)])
        # Ages from 1 up: a part of the same week is itself one of the newest.
        high = np.clip(week[..., None] - self.dates[:, 0] + 1, 1, LONGEST).astype(np.int64)
        low = np.clip(week[..., None] - self.dates[:, 1], 1, LONGEST).astype(np.int64)
        return np.asarray(((behind[high] - behind[low]) * self.dates[:, 2]).sum(axis=-1))

    def later(self, week: np.ndarray, span: int) -> np.ndarray:
        """Probability of what was read, were the part put in within so many weeks after these (any shape)."""
        last = np.clip(self.dates[:, 1] - week[..., None], 0, span)
        before = np.clip(self.dates[:, 0] - 1 - week[..., None], 0, span)
        return np.asarray(((last - before) * self.dates[:, 2]).sum(axis=-1) / span)


@dataclass(frozen=True)
class PartsTable:
    """Dated parts of one set by the week of the set, the lag left open.

    newest : (K,) weeks that the newest part of the factory's can be dated. joint : (K, count) probability of all that
    was read with that newest date, by the set's week; still to be multiplied by the lag between the two.
    replaced : (count,) probability of all that was read if every one of them is a later replacement.
    """

    newest: np.ndarray
    joint: np.ndarray
    replaced: np.ndarray
    lag: np.ndarray
    """(K, count) weeks from the newest part to the set; negative where the part is newer."""

    def likelihood(self, lags: np.ndarray) -> np.ndarray:
        """(count,) likelihood of the set's week under a lag distribution (LONGEST,)."""
        return np.asarray(np.maximum((self._of(lags) * self.joint).sum(axis=0) + self.replaced, _SMALLEST))

    def by_lag(self, week: np.ndarray) -> np.ndarray:
        """(LONGEST,) probability of what was read with each lag, the set's week having probability (count,)."""
        allowed = (self.lag >= 0) & (self.lag < LONGEST)
        weights = (self.joint * week)[allowed]
        return np.bincount(self.lag[allowed], weights=weights, minlength=LONGEST)

    def _of(self, lags: np.ndarray) -> np.ndarray:
        allowed = (self.lag >= 0) & (self.lag < LONGEST)
        return np.where(allowed, lags[np.where(allowed, self.lag, 0)], 0.0)


def parts_table(parts: Sequence[Part], weeks: Weeks, ages: np.ndarray, assumptions: Assumptions) -> PartsTable:
    """All dated parts of one set together. ages : (LONGEST,) how much older than the newest the others are.

    With r, o and g the probabilities that a part is a replacement, the factory's and older than week c, and the
    factory's and of week c, the newest is of week c with probability Π(r + o + g) - Π(r + o).
    """
    middle = weeks.middle
    newest = np.unique(np.concatenate([part.weeks_in(weeks.first - LONGEST, int(middle[-1])) for part in parts]))
    upto = np.ones((len(newest), weeks.count))
    below = np.ones((len(newest), weeks.count))
    every_replaced = np.ones(weeks.count)
    for part in parts:
        replaced = part.rate * part.later(middle, assumptions.replaced_within_weeks) + _NEVER
        older = (1.0 - part.rate) * part.older(newest, ages)
        there = (1.0 - part.rate) * part.at(newest)
        upto *= replaced + (older + there)[:, None]
        below *= replaced + older[:, None]
        every_replaced = every_replaced * replaced
    return PartsTable(newest, np.maximum(upto - below, 0.0), every_replaced, middle - newest[:, None])


def parts_likelihood(evidence: Sequence[Evidence], weeks: Weeks, lags: Lags, assumptions: Assumptions) -> np.ndarray:
    """(count,) likelihood of the dated parts of one set; 1 where none of them can be read."""
    readable = [item for item in evidence if reading_of(item, assumptions).dates]
    if not readable:
        return np.ones(weeks.count)
    table = parts_table([Part.of(item, assumptions) for item in readable], weeks, lags.otherwise, assumptions)
    return table.likelihood(lags.of(lag_name(readable)))
