"""The serial-number problem against its published formulae and worked numbers."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import comb

from setwright.chronology import Block, made_in_block

FIRST_IS_ONE = Block("", 1, None, 1)
FIRST_UNKNOWN = Block("", None, None, 1)


def test_the_worked_example():
    """Four of 1 … N known, the largest 14: estimate 16.5, posterior mean 19.5, standard deviation 10.36 (as retold in
    general accounts of the problem)."""
    made = made_in_block(FIRST_IS_ONE, [2, 6, 7, 14])
    assert made.unbiased_estimate == 16.5
    assert made.mean == pytest.approx(19.5, abs=1e-6)
    assert made.standard_deviation == pytest.approx(10.36, abs=0.005)


@pytest.mark.parametrize(("largest", "known"), [(60, 4), (60, 7), (500, 12), (17_166, 9)])
def test_mean_and_deviation_are_those_of_the_formulae(largest, known):
    """Mean (m - 1)(n - 1) / (n - 2), variance (n - 1)(m - 1)(m - n + 1) / ((n - 3)(n - 2)²)."""
    made = made_in_block(FIRST_IS_ONE, [*range(1, known), largest])
    m, n = largest, known
    assert made.mean == pytest.approx((m - 1) * (n - 1) / (n - 2), rel=1e-5)
    variance = (n - 1) * (m - 1) * (m - n + 1) / ((n - 3) * (n - 2) ** 2)
    assert made.standard_deviation == pytest.approx(math.sqrt(variance), rel=0.01)


@pytest.mark.parametrize("known", [2, 3])
def test_infinite_moments_are_said_and_not_printed(known):
    made = made_in_block(FIRST_IS_ONE, list(range(10, 10 + known)))
    assert (made.mean is None) == (known == 2)
    assert made.standard_deviation is None
    assert any("infinite" in remark for remark in made.remarks)
    assert made.low <= made.median <= made.high


def test_one_serial_gives_no_range():
    made = made_in_block(FIRST_IS_ONE, [9])
    assert (made.low, made.median, made.high) == (None, None, None)
    assert made.unbiased_estimate == 17
    assert "any number" in made.remarks[0]


@pytest.mark.parametrize("first_known", [True, False])
@pytest.mark.parametrize("last", [40, 60])
def test_ranges_are_those_of_enumeration(first_known, last):
    """All N (and all first serials) counted out, up to a documented end."""
    serials = [12, 15, 23, 31]
    chance: dict[int, float] = {}
    for first in [1] if first_known else range(1, 13):
        for end in range(31, last + 1):
            count = end - first + 1
            chance[count] = chance.get(count, 0.0) + 1.0 / comb(count, 4)
    numbers = np.array(sorted(chance))
    behind = np.cumsum([chance[n] for n in numbers])
    low, median, high = (int(numbers[np.searchsorted(behind, s * behind[-1])]) for s in (0.05, 0.5, 0.95))
    made = made_in_block(Block("", 1 if first_known else None, last, 1), serials)
    assert (made.low, made.median, made.high) == (low, median, high)


def test_the_classical_estimate_with_the_first_serial_unknown_is_unbiased():
    """(d - 1)(n + 1) / (n - 1) - 1 averages to N over all samples (Goodman 1952)."""
    rng = np.random.default_rng(7)
    estimates = [
        made_in_block(FIRST_UNKNOWN, sorted(int(s) for s in rng.choice(np.arange(301, 401), 8, replace=False)))
        for _ in range(40)
    ]
    mean = np.mean([one.unbiased_estimate for one in estimates])
    deviation = np.std([one.unbiased_estimate for one in estimates]) / math.sqrt(len(estimates))
    assert abs(mean - 100) < 4 * deviation
