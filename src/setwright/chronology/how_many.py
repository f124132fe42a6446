"""How many were made: the serial-number problem, as a posterior and as the classical estimate.

n serials are a sample without replacement from N that were used one after the other; d = largest - smallest + 1.
With the first serial known (counted as 1) and m the largest, all N equally likely beforehand:
P(N | n, m) ∝ 1 / C(N, n), N ≥ m; mean (m - 1)(n - 1) / (n - 2); the classical unbiased estimate is m + m / n - 1.
With the first serial unknown, every first serial from 1 to the smallest known equally likely:
P(N) ∝ (how many of them go with N) / C(N, n), N ≥ d; the classical one is (d - 1)(n + 1) / (n - 1) - 1.
(First serial known: Höhle and Held, "Bayesian estimation of the size of a population", 2006, as retold in general
accounts of the serial-number problem; both classical estimates: Goodman, "Serial number analysis", Journal of the
American Statistical Association 47, 1952; all from memory.)
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
from scipy.special import gammaln

from setwright.chronology.answer import HowMany
from setwright.chronology.doubts import doubts_of_serials
from setwright.chronology.model import Block, Run

_TABLE = 200_000
"""Numbers are counted one by one up to so many beyond the largest serial; farther out in geometric steps."""

_TAIL_STEP = 1.001
_END = 10**12
_CURVE = 512
"""Quantiles by which counts are added up."""


def made_in_block(block: Block, serials: Sequence[int], level: float = 0.9) -> HowMany:
    """How many sets have serials of one block.

    serials : distinct numbers known in full, without the prefix. A block with a documented last number holds no more
    than that.
    """
    return _block(block, serials, level)[0]


def how_many_were_made(runs: Sequence[Run], serials: Mapping[str, Sequence[int]], level: float = 0.9) -> HowMany:
    """How many sets of all lines and blocks.

    serials : by line, the positions of the sets whose serial is known in full.
    """
    parts, curves = [], []
    for run in runs:
        for block in run.blocks:
            shift = block.starts_at - (block.first if block.first is not None else 1)
            last = block.last if block.last is not None else _END
            numbers = [position - shift for position in serials.get(run.line, ())]
            part, curve = _block(block, [n for n in numbers if (block.first or 1) <= n <= last], level)
            parts.append(part)
            curves.append(curve)
    if len(parts) == 1:
        return parts[0]
    known = sum(part.known for part in parts)
    unbiased = _sum([part.unbiased_estimate for part in parts])
    remark = "blocks of serials are counted each by itself, as if one told nothing of another"
    if not all(len(curve) for curve in curves):
        without = ", ".join(part.what for part, curve in zip(parts, curves, strict=True) if not len(curve))
        remarks = (remark, f"no total, because there is none for {without}" if parts else "there are no serials")
        return HowMany("all sets", known, None, None, None, level, None, None, unbiased, remarks, tuple(parts))
    total = np.zeros(1)
    for curve in curves:
        # All pairs of quantiles, thinned again: the quantiles of the sum of two independent counts.
        summed = np.sort((total[:, None] + curve[None, :]).ravel())
        total = summed[((np.arange(_CURVE) + 0.5) / _CURVE * len(summed)).astype(int)]
    low, median, high = (round(float(np.quantile(total, share))) for share in _shares(level))
    mean = _sum([part.mean for part in parts])
    variance = _sum([None if part.standard_deviation is None else part.standard_deviation**2 for part in parts])
    deviation = None if variance is None else math.sqrt(variance)
    return HowMany("all sets", known, low, median, high, level, mean, deviation, unbiased, (remark,), tuple(parts))


def _block(block: Block, serials: Sequence[int], level: float) -> tuple[HowMany, np.ndarray]:
    """One block, and the quantiles of its count (_CURVE,), none where it has no posterior."""
    numbers = sorted(set(serials))
    what = f"serials {block.prefix}…" if block.prefix else "serials"
    if not numbers:
        return _nothing_known(block, what, level)
    count, first = len(numbers), block.first
    counted = [number - first + 1 for number in numbers] if first is not None else numbers
    end = None if block.last is None else block.last - (first or 1) + 1
    values, weight = _posterior(counted, first is not None, end)
    remarks = list(doubts_of_serials(numbers, first))
    unbiased = _classical(counted, first is not None)
    if not len(values):
        remarks.insert(0, "with one serial known and no end documented, any number from it on is possible")
        return HowMany(what, count, None, None, None, level, None, None, unbiased, tuple(remarks)), values
    mean, deviation = _moments(values, weight, None if end is not None else count)
    if mean is None:
        remarks.append(f"the mean is infinite with {count} serials known: use the median")
    elif deviation is None:
        remarks.append(f"the standard deviation is infinite with {count} serials known")
    low, median, high = (int(value) for value in _quantiles(values, weight, _shares(level)))
    made = HowMany(what, count, low, median, high, level, mean, deviation, unbiased, tuple(remarks))
    return made, _quantiles(values, weight, (np.arange(_CURVE) + 0.5) / _CURVE)


def _shares(level: float) -> tuple[float, float, float]:
    return (1.0 - level) / 2.0, 0.5, (1.0 + level) / 2.0


def _sum(values: Sequence[float | None]) -> float | None:
    """The sum, None where one of them is."""
    return (
        None if any(value is None for value in values) else float(sum(value for value in values if value is not None))
    )


def _nothing_known(block: Block, what: str, level: float) -> tuple[HowMany, np.ndarray]:
    if block.last is None or block.first is None:
        remark = "no serial of it is known in full"
        return HowMany(what, 0, None, None, None, level, None, None, None, (remark,)), np.zeros(0)
    end = block.last - block.first + 1
    low, median, high = (round(share * end) for share in _shares(level))
    remark = f"no serial of it is known in full: anything up to the {end:,} allotted"
    made = HowMany(what, 0, low, median, high, level, end / 2.0, end / math.sqrt(12.0), None, (remark,))
    return made, (np.arange(_CURVE) + 0.5) / _CURVE * end


def _classical(counted: Sequence[int], first_known: bool) -> float | None:
    n, largest, smallest = len(counted), counted[-1], counted[0]
    if first_known:
        return largest + largest / n - 1.0
    return None if n < 2 else (largest - smallest) * (n + 1.0) / (n - 1.0) - 1.0


def _posterior(counted: Sequence[int], first_known: bool, end: int | None) -> tuple[np.ndarray, np.ndarray]:
    """Values of N (the ends of steps) with the weight of each; none where there is no posterior."""
    n, largest, smallest = len(counted), counted[-1], counted[0]
    least = largest if first_known else largest - smallest + 1
    if n == 1 and end is None:
        return np.zeros(0), np.zeros(0)
    limit = _END if end is None else max(end, least)
    values = np.arange(least, min(least + _TABLE, limit) + 1, dtype=float)
    steps = np.ones(len(values))
    if limit > values[-1]:
        count = math.ceil(math.log(limit / values[-1]) / math.log(_TAIL_STEP))
        tail = values[-1] * _TAIL_STEP ** np.arange(1, count + 1)
        tail[-1] = limit
        steps = np.concatenate([steps, np.diff(tail, prepend=values[-1])])
        values = np.concatenate([values, tail])
    log_weight = -(gammaln(values + 1.0) - gammaln(values - n + 1.0))
    if not first_known:
        # First serials that go with each N: not above the smallest known, the last one not below the largest.
        highest = np.minimum(smallest, limit - values + 1.0)
        first_serials = highest - np.maximum(1.0, largest - values + 1.0) + 1.0
        log_weight = log_weight + np.log(np.maximum(first_serials, 1e-300))
    weight = np.exp(log_weight - log_weight.max()) * steps
    return values, weight / weight.sum()


def _moments(values: np.ndarray, weight: np.ndarray, open_with: int | None) -> tuple[float | None, float | None]:
    """Mean and standard deviation; None where the tail 1 / N^n of n serials without an end makes them infinite."""
    mean = float(values @ weight)
    deviation = math.sqrt(max(float((values - mean) ** 2 @ weight), 0.0))
    if open_with is None:
        return mean, deviation
    return (mean if open_with > 2 else None), (deviation if open_with > 3 else None)


def _quantiles(values: np.ndarray, weight: np.ndarray, shares: Sequence[float] | np.ndarray) -> np.ndarray:
    behind = np.cumsum(weight)
    return values[np.minimum(np.searchsorted(behind, np.asarray(shares) * behind[-1]), len(values) - 1)]
