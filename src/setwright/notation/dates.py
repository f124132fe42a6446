"""Dates in any precision of ISO 8601, as intervals of days: 1948, 1948-03, 1948-W31, 1948-03-09."""

from __future__ import annotations

import calendar
import re
from dataclasses import dataclass
from datetime import date, timedelta

from setwright.notation.errors import NotationError

_FORMS = "1948, 1948-03, 1948-W31 or 1948-03-09"
_ISO = re.compile(r"(\d{4})(?:-(?:W(\d{2})|(\d{2})(?:-(\d{2}))?))?", re.ASCII)
_NEAR_ISO = re.compile(r"(\d{4})\s*[-/. ]?\s*(?:[Ww]\s*(\d{1,2})|(\d{1,2})(?:\s*[-/. ]\s*(\d{1,2}))?)", re.ASCII)
_DAY_FIRST_OR_MONTH_FIRST = re.compile(r"(\d{1,2})[-/. ](\d{1,2})[-/. ](\d{4})", re.ASCII)
_EARLIEST, _LATEST = 1000, 2999


@dataclass(frozen=True, slots=True)
class DateInterval:
    """The days a date of some precision can mean, the first and the last included; `text` is the date as written."""

    first: date
    last: date
    text: str

    @property
    def is_day(self) -> bool:
        """Whether the date is a single day."""
        return self.first == self.last

    def __contains__(self, day: date) -> bool:
        return self.first <= day <= self.last

    def __str__(self) -> str:
        return self.text


def parse_date(text: str) -> DateInterval:
    """The interval of days that a year, month, ISO week or day covers.

    Raises NotationError for other ways of writing a date, with the ISO form where it is clear, and for dates that
    do not exist, such as week 53 of a year that has 52.

    >>> parse_date("1948-W31")
    DateInterval(first=datetime.date(1948, 7, 26), last=datetime.date(1948, 8, 1), text='1948-W31')
    >>> str(parse_date("1948-02").last)
    '1948-02-29'
    """
    written = text.strip()
    match = _ISO.fullmatch(written.upper())
    if match is None:
        raise _not_iso(text)
    year = int(match[1])
    if not _EARLIEST <= year <= _LATEST:
        raise NotationError(f'"{text}": the year {match[1]} is not between {_EARLIEST} and {_LATEST}')
    if match[2]:
        first, last = _week(text, year, int(match[2]))
    elif match[4]:
        first = last = _day(text, year, int(match[3]), int(match[4]))
    elif match[3]:
        first, last = _month(text, year, int(match[3]))
    else:
        first, last = date(year, 1, 1), date(year, 12, 31)
    return DateInterval(first, last, written.upper())


def _week(text: str, year: int, week: int) -> tuple[date, date]:
    weeks = date(year, 12, 28).isocalendar().week  # 28 December always lies in the year's last ISO week
    if not 1 <= week <= weeks:
        last = date.fromisocalendar(year, weeks, 1)
        raise NotationError(
            f'"{text}" does not exist: {year} has {weeks} weeks, the last is {year}-W{weeks} '
            f"({last} to {last + timedelta(days=6)})"
            + (f"; the week after it is {year + 1}-W01" if week == weeks + 1 else ""),
            f"{year}-W{weeks}" if week > weeks else f"{year}-W01",
        )
    first = date.fromisocalendar(year, week, 1)
    return first, first + timedelta(days=6)


def _month(text: str, year: int, month: int) -> tuple[date, date]:
    if not 1 <= month <= 12:
        hint = f"; a week is written {year}-W{month:02}" if 1 <= month <= 53 else ""
        raise NotationError(f'"{text}" does not exist: months run from 01 to 12{hint}')
    return date(year, month, 1), date(year, month, calendar.monthrange(year, month)[1])


def _day(text: str, year: int, month: int, day: int) -> date:
    first, last = _month(text, year, month)
    if not 1 <= day <= last.day:
        raise NotationError(
            f'"{text}" does not exist: {first:%B} {year} has {last.day} days',
            last.isoformat() if day > last.day else first.isoformat(),
        )
    return date(year, month, day)


def _not_iso(text: str) -> NotationError:
    """Why this is no ISO date, with the ISO form where only one fits."""
    written = text.strip()
    swapped = _DAY_FIRST_OR_MONTH_FIRST.fullmatch(written)
    if swapped:
        return _swapped(text, int(swapped[1]), int(swapped[2]), int(swapped[3]))
    near = _NEAR_ISO.fullmatch(written)
    if near:
        week, month, day = (int(part) if part else None for part in near.groups()[1:])
        iso = near[1] + (f"-W{week:02}" if week is not None else f"-{month:02}") + (f"-{day:02}" if day else "")
        return NotationError(f'"{text}" is not a date as it is written here; "{iso}" is', iso)
    return NotationError(f'"{text}" is not a date; write {_FORMS}')


def _swapped(text: str, one: int, two: int, year: int) -> NotationError:
    readings = [
        f"{year}-{month:02}-{day:02}"
        for month, day in dict.fromkeys(((one, two), (two, one)))
        if 1 <= month <= 12 and 1 <= day <= calendar.monthrange(year or 1, month)[1]
    ]
    if len(readings) == 1:
        return NotationError(f'"{text}" is not a date as it is written here; "{readings[0]}" is', readings[0])
    either = f'; write "{readings[0]}" or "{readings[1]}"' if readings else f"; write {_FORMS}"
    return NotationError(
        f'"{text}" can be read month first or day first{either}' if readings else f'"{text}" is not a date{either}'
    )
