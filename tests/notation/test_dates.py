"""Dates of any precision as intervals."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.notation import NotationError, parse_date

days = st.dates(date(1000, 1, 7), date(2998, 12, 24))


@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("1948", date(1948, 1, 1), date(1948, 12, 31)),
        ("1948-02", date(1948, 2, 1), date(1948, 2, 29)),
        ("1948-W31", date(1948, 7, 26), date(1948, 8, 1)),
        ("1948-w01", date(1947, 12, 29), date(1948, 1, 4)),
        (" 1948-03-09 ", date(1948, 3, 9), date(1948, 3, 9)),
    ],
)
def test_intervals(text, first, last):
    interval = parse_date(text)
    assert (interval.first, interval.last) == (first, last)
    assert str(interval) == text.strip().upper()


@given(days)
def test_every_day_lies_in_its_year_month_week_and_itself(day):
    year, week, _ = day.isocalendar()
    for text in (f"{day.year}", f"{day:%Y-%m}", f"{year}-W{week:02}", day.isoformat()):
        interval = parse_date(text)
        assert day in interval
        assert parse_date(str(interval)) == interval
    assert parse_date(day.isoformat()).is_day
    assert not parse_date(f"{day:%Y-%m}").is_day


@given(days)
def test_an_interval_ends_where_the_next_begins(day):
    week = parse_date(f"{day.isocalendar().year}-W{day.isocalendar().week:02}")
    after = week.last + timedelta(days=1)
    assert (week.last - week.first).days == 6
    assert parse_date(f"{after.isocalendar().year}-W{after.isocalendar().week:02}").first == after


@pytest.mark.parametrize(
    ("text", "words", "suggestion"),
    [
        ("1950-W53", "1950 has 52 weeks, the last is 1950-W52", "1950-W52"),
        ("1950-W53", "the week after it is 1951-W01", "1950-W52"),
        ("1948-W54", "1948 has 53 weeks", "1948-W53"),
        ("1948-W00", "does not exist", "1948-W01"),
        ("1949-02-29", "February 1949 has 28 days", "1949-02-28"),
        ("1948-13", "months run from 01 to 12; a week is written 1948-W13", None),
        ("1948-03-00", "does not exist", "1948-03-01"),
        ("0948", "between 1000 and 2999", None),
        ("1948-3-9", '"1948-03-09" is', "1948-03-09"),
        ("1948W31", '"1948-W31" is', "1948-W31"),
        ("1948/03", '"1948-03" is', "1948-03"),
        ("13/3/1948", '"1948-03-13" is', "1948-03-13"),
        ("3/9/1948", '"1948-03-09" or "1948-09-03"', None),
        ("31/31/1948", "is not a date", None),
        ("spring 1948", "write 1948, 1948-03, 1948-W31 or 1948-03-09", None),
        ("", "is not a date", None),
        ("١٩٤٨", "is not a date", None),
    ],
)
def test_what_is_no_date_says_what_would_be_right(text, words, suggestion):
    with pytest.raises(NotationError) as refused:
        parse_date(text)
    assert words in refused.value.message
    assert refused.value.suggestion == suggestion


@given(st.text(alphabet="0123456789-W/. ", max_size=12) | st.text(max_size=12))
def test_any_text_is_a_date_or_refused(text):
    try:
        interval = parse_date(text)
    except NotationError:
        return
    assert interval.first <= interval.last
