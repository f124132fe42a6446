"""Dated parts of one set together, against every combination of what each can be."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from setwright.chronology.lags import LONGEST, usual_lags
from setwright.chronology.model import Assumptions
from setwright.chronology.parts import Part, parts_table
from setwright.chronology.weeks import Weeks

WEEKS = Weeks(1000, 30)
ASSUMED = Assumptions(replaced_within_weeks=60)


def by_enumeration(parts, lags, ages, span):
    """(count,) sum over statuses and dates: replaced after the set, or the factory's; the newest of these decides."""
    total = np.zeros(WEEKS.count)
    for step, week in enumerate(WEEKS.middle):
        choices = []
        for part in parts:
            options = []
            for first, last, weight in part.dates:
                for date in range(int(first), int(last) + 1):
                    options.append(("factory", date, weight * (1.0 - part.rate)))
                    if week < date <= week + span:
                        options.append(("later", date, weight * part.rate / span))
            choices.append(options)
        for combination in product(*choices):
            mass = np.prod([weight for _, _, weight in combination])
            dates = [date for status, date, _ in combination if status == "factory"]
            if dates:
                newest = max(dates)
                lag = week - newest
                mass *= lags[lag] if 0 <= lag < LONGEST else 0.0
                mass *= np.prod([ages[newest - date] for date in dates if date < newest])
            total[step] += mass
    return total


@pytest.mark.parametrize(
    "dates",
    [
        [[(1010, 1010, 1.0)]],
        [[(1010, 1013, 1.0)], [(1005, 1005, 0.9), (1024, 1024, 0.1)]],
        [[(1010, 1010, 1.0)], [(1010, 1010, 1.0)], [(1020, 1022, 0.5)]],
        [[(980, 980, 1.0)], [(1040, 1040, 1.0)]],
    ],
)
def test_likelihood_is_that_of_enumeration(dates):
    parts = [Part(np.array(one, dtype=float), rate) for one, rate in zip(dates, (0.1, 0.3, 0.05), strict=False)]
    ages = usual_lags().otherwise
    lags = np.exp(-np.arange(LONGEST) / 5.0)
    lags /= lags.sum()
    table = parts_table(parts, WEEKS, ages, ASSUMED)
    wanted = by_enumeration(parts, lags, ages, ASSUMED.replaced_within_weeks)
    np.testing.assert_allclose(table.likelihood(lags), wanted, rtol=1e-9, atol=2e-10)


def test_teaching_sums_the_same_mass_by_lag():
    parts = [Part(np.array([[1010.0, 1013.0, 1.0]]), 0.1), Part(np.array([[1005.0, 1005.0, 1.0]]), 0.1)]
    table = parts_table(parts, WEEKS, usual_lags().otherwise, ASSUMED)
    week = np.random.default_rng(3).random(WEEKS.count)
    lags = np.random.default_rng(4).random(LONGEST)
    through = table.by_lag(week) @ lags + table.replaced @ week
    assert through == pytest.approx(float(table.likelihood(lags) @ week), rel=1e-6)
