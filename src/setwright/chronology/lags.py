"""Stock lag: how many weeks after a part's date the set was finished, learnt for each kind of part.

A lag is negative-binomial (mean and shape over a grid), or the part had lain in the stores for long (old stock, a
geometric tail). The grid is weighed by the sets whose date is otherwise known; kinds of parts learn from each other:
the mean of what all kinds have learnt is what each begins with.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

import numpy as np

from setwright.chronology.pace import log_negative_binomial

LONGEST = 1040
"""Lags are counted up to twenty years."""

MEANS = (0.5, 1.0, 2.0, 3.0, 4.5, 6.5, 9.0, 13.0, 18.0, 26.0, 36.0, 52.0)
"""Mean lag in weeks, all equally likely beforehand."""

SHAPES = (1.0, 3.0, 10.0)
"""Shape of the lag: from "any time soon" to "a fixed time", all equally likely beforehand."""

OLD_STOCK = ((0.03, 0.5), (0.15, 0.3), (0.4, 0.2))
"""Share of old stock, and how likely that share is beforehand: common practice, no source."""

OLD_STOCK_WEEKS = 60.0
"""Mean lag of old stock: common practice, no source."""


@cache
def lag_grid() -> tuple[np.ndarray, np.ndarray]:
    """(P, LONGEST) probability of each lag under each parameter of the grid, and their prior (P,)."""
    tail = np.exp(log_negative_binomial(np.array(1.0), np.array(1.0 / (1.0 + OLD_STOCK_WEEKS)), LONGEST))
    rows, prior = [], []
    for mean in MEANS:
        for shape in SHAPES:
            lag = np.exp(log_negative_binomial(np.array(shape), np.array(shape / (shape + mean)), LONGEST))
            for share, weight in OLD_STOCK:
                rows.append((1.0 - share) * lag + share * tail)
                prior.append(weight)
    grid, weights = np.array(rows), np.array(prior)
    grid.flags.writeable = False
    return grid, weights / weights.sum()


@dataclass(frozen=True)
class Lags:
    """What is known of stock lags.

    by_part : (LONGEST,) probability of each lag in weeks, by kind of part; `otherwise` for kinds never seen dated.
    items : how many dated parts of the kind taught it.
    """

    by_part: Mapping[str, np.ndarray]
    otherwise: np.ndarray
    items: Mapping[str, int]

    def of(self, part: str | None) -> np.ndarray:
        """(LONGEST,) probability of the lag of a kind of part."""
        return self.by_part.get(part or "", self.otherwise)

    def range_of(self, part: str | None, level: float) -> tuple[float, float, float]:
        """Low, median and high lag in weeks; the central range holds `level`."""
        behind = np.cumsum(self.of(part))
        ends = ((1.0 - level) / 2.0, 0.5, (1.0 + level) / 2.0)
        low, median, high = (float(np.searchsorted(behind, share * behind[-1])) for share in ends)
        return low, median, high


def usual_lags() -> Lags:
    """The lags before any dated set has taught them."""
    grid, prior = lag_grid()
    return Lags(MappingProxyType({}), prior @ grid, MappingProxyType({}))


def learn_lags(log_likelihood: Mapping[str, np.ndarray], items: Mapping[str, int]) -> Lags:
    """Lags from what dated sets say.

    log_likelihood : (P,) by kind of part, the log-likelihood of its dated parts at each parameter of `lag_grid`.
    items : how many there are of each kind.
    """
    grid, prior = lag_grid()
    alone = {part: _posterior(prior, values) for part, values in log_likelihood.items()}
    shared = (prior + sum(alone.values())) / (1.0 + len(alone))
    posterior = {part: _posterior(shared, values) for part, values in log_likelihood.items()}
    by_part = {part: weights @ grid for part, weights in posterior.items()}
    return Lags(MappingProxyType(by_part), shared @ grid, MappingProxyType(dict(items)))


def _posterior(prior: np.ndarray, log_likelihood: np.ndarray) -> np.ndarray:
    weights = np.asarray(prior * np.exp(log_likelihood - log_likelihood.max()))
    return weights / weights.sum()
