"""Date codes on parts against published readings; makers' numbers stand for any."""

from __future__ import annotations

import pytest

from setwright.chronology import read_code


@pytest.mark.parametrize(
    ("code", "scheme", "read"),
    [
        # ECIA page on EIA source codes: source 113, week 10 of 1999.
        ("113-9910", "maker-year2-week", {"1999-W10"}),
        # A trade page on dating controls: week 21, a year that ends in 4; the page gives 1964.
        ("137-4-21", "maker-year-week", {"1954-W21", "1964-W21", "1974-W21", "1984-W21"}),
        # A trade page on EIA date codes: week 42 of 1955 or 1965; 1945 fits as well.
        ("137542", "maker-year-week", {"1945-W42", "1955-W42", "1965-W42", "1975-W42", "1985-W42"}),
        # The same page on controls: week 34 of 1956, 1966 or 1976.
        ("137634", "maker-year-week", {"1946-W34", "1956-W34", "1966-W34", "1976-W34", "1986-W34"}),
        # The same: week 15 of 1974, from two figures of the year.
        ("1377415", "maker-year2-week", {"1974-W15"}),
    ],
)
def test_published_readings(code, scheme, read):
    dates = read_code(code, scheme).dates
    assert {found.date for found in dates if found.misread is None} == read
    assert {found.date for found in dates if found.misread is None} <= {found.date for found in read_code(code).dates}
