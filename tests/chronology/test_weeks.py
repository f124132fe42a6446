"""The grid of weeks: days in, days out."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.chronology.weeks import MOST_STEPS, Weeks
from setwright.notation import parse_date

DAYS = st.dates(date(1900, 1, 1), date(1999, 12, 31))


@given(DAYS, st.integers(0, 40_000))
def test_a_grid_holds_both_ends_in_whole_weeks(first, days):
    last = min(first + timedelta(days=days), date(2050, 1, 1))
    weeks = Weeks.between(first, last)
    assert weeks.first_day <= first
    assert weeks.last_day >= last
    assert weeks.first_day.weekday() == 0
    assert weeks.count <= MOST_STEPS
    assert 0 <= weeks.index_of(first) <= weeks.index_of(last) < weeks.count


@pytest.mark.parametrize("text", ["1948", "1948-03", "1948-W31", "1948-03-09"])
def test_the_days_of_a_date_are_all_on_the_grid(text):
    interval = parse_date(text)
    weeks = Weeks.between(date(1947, 6, 1), date(1949, 6, 1))
    days = (interval.last - interval.first).days + 1
    assert weeks.share_inside(interval).sum() * 7 == pytest.approx(days)


def test_quantiles_are_days_in_order():
    weeks = Weeks.between(date(1948, 1, 5), date(1948, 12, 26))
    mass = np.ones(weeks.count)
    low, median, high = weeks.quantiles(mass, (0.0, 0.5, 1.0))
    assert (low, high) == (weeks.first_day, weeks.last_day)
    assert abs((median - date(1948, 7, 1)).days) <= 2
    single = np.zeros(weeks.count)
    single[10] = 1.0
    ends = weeks.quantiles(single, (0.05, 0.5, 0.95))
    assert all(weeks.monday(10) <= day < weeks.monday(11) for day in ends)


def test_the_mean_is_the_middle():
    weeks = Weeks.between(date(1948, 1, 5), date(1948, 12, 26))
    middle = (weeks.first_day.toordinal() + weeks.last_day.toordinal() + 1) / 2
    assert weeks.mean(np.ones(weeks.count)) == pytest.approx(middle)
