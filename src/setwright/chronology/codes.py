"""Date codes on parts: every date that what was read can mean.

A scheme names the fields of a code in the order in which they are printed, joined by dashes: `year-week` is a year
figure and a two-figure week. A figure behind a field's name says how many figures it has where that is not the usual
number: `year2`, `year4`, `week1`, `maker4`. `maker` is a registered maker's number, `other` is anything that says
nothing of the date. So a scheme of one's own is written down by its fields: `other2-month-year2`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from itertools import product

from setwright.chronology.weeks import week_of
from setwright.notation import NotationError
from setwright.reference import misread_figures, part_code_schemes

FIGURES = {"maker": 3, "year": 1, "week": 2, "month": 2, "quarter": 1, "day": 2, "other": 1}
"""The fields of a code, with their usual number of figures."""

_ALLOWED = {"year": (1, 2, 4), "week": (1, 2), "month": (1, 2), "quarter": (1,), "day": (1, 2)}
_FIELD = re.compile(r"([a-z]+)([1-9])?")
_SEPARATORS = re.compile(r"[\s.,/\-]|^EIA")
LAST_YEAR = 1989
"""A year of one figure may stand for any decade up to this year; of two figures for 1920 to 2019."""

GENERIC_FIRST_YEAR = 1920
_MOST_READINGS = 4000


@dataclass(frozen=True, slots=True)
class CodeDate:
    """One date that a code can mean: the weeks first … last (numbers of `weeks`), both included.

    weight : probability of what was read if this is the part's date. date : as ISO writes it.
    misread : what the code must be if it was misread, else None.
    """

    first: int
    last: int
    weight: float
    date: str
    misread: str | None = None


@dataclass(frozen=True, slots=True)
class Reading:
    """What a code can mean, and what is odd about it. dates is empty where it means no date at all."""

    dates: tuple[CodeDate, ...]
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Field:
    name: str
    figures: int


def scheme_fields(scheme: str) -> tuple[tuple[str, int], ...]:
    """The fields of a scheme with their numbers of figures.

    Raises NotationError for a field that is not known or a scheme that gives no year.

    >>> scheme_fields("maker-year-week")
    (('maker', 3), ('year', 1), ('week', 2))
    """
    return tuple((field.name, field.figures) for field in _fields(scheme))


def read_code(code: str, scheme: str | None = None, misread: float = 0.03) -> Reading:
    """Every date that a part's code can mean.

    code : as read; ? stands for one illegible figure. scheme : its make-up; None tries the usual ones of that length.
    misread : probability that one of its figures was misread; the usual confusions share it.

    Raises NotationError where the scheme cannot be read.

    >>> [found.date for found in read_code("831", "year-week").dates if found.misread is None]
    ['1928-W31', '1938-W31', '1948-W31', '1958-W31', '1968-W31', '1978-W31', '1988-W31']
    """
    return _read(code, scheme, misread)


@lru_cache(maxsize=65_536)
def _read(code: str, scheme: str | None, misread: float) -> Reading:
    figures = _SEPARATORS.sub("", code.strip().upper())
    if not re.fullmatch(r"[0-9?]+", figures):
        return Reading((), (f'"{code}" has signs that no scheme of date codes explains',))
    chosen = _schemes_for(figures, scheme)
    if not chosen:
        length = f"a code of {len(figures)} figures"
        why = f'{length} does not fit the scheme "{scheme}"' if scheme else f"no usual scheme has {length}"
        return Reading((), (f'"{code}": {why}',))
    total = sum(share for _, share, _ in chosen)
    read: list[CodeDate] = []
    remarks: list[str] = []
    for fields, share, first_year in chosen:
        straight = _dates(figures, fields, first_year)
        altered = _misreadings(figures, fields, first_year)
        kept = share / total
        read += [CodeDate(first, last, kept * (1.0 - misread), name) for first, last, name in straight]
        each = kept * misread / max(len({text for text, _ in altered}), 1)
        read += [CodeDate(first, last, each, name, text) for text, (first, last, name) in altered]
    if not any(found.misread is None for found in read):
        remarks.append(_impossible(code, figures, chosen[0][0], read))
    elif _has_short_week_53(figures, chosen[0][0]):
        remarks.append(f'"{code}": in years of 52 weeks, week 53 counts as the last week of the year')
    return Reading(_merged(read), tuple(remarks))


def _schemes_for(figures: str, scheme: str | None) -> list[tuple[tuple[_Field, ...], float, int]]:
    """Fields, share and first year of the schemes that a code of this length may follow."""
    known = part_code_schemes()
    if scheme is not None:
        fields = _fields(scheme)
        first_year = known[scheme].first_year if scheme in known else GENERIC_FIRST_YEAR
        return [(fields, 1.0, first_year)] if sum(f.figures for f in fields) == len(figures) else []
    tried = [(_fields(name), entry.share, entry.first_year) for name, entry in known.items() if entry.share > 0.0]
    return [(fields, share, year) for fields, share, year in tried if sum(f.figures for f in fields) == len(figures)]


def _fields(scheme: str) -> tuple[_Field, ...]:
    fields = []
    for word in scheme.split("-"):
        match = _FIELD.fullmatch(word)
        if match is None or match[1] not in FIGURES:
            raise NotationError(
                f'the scheme "{scheme}" cannot be read: "{word}" is no field of a date code; the fields are '
                f"{', '.join(FIGURES)}, with a figure behind them for another number of figures, such as year2"
            )
        count = int(match[2] or FIGURES[match[1]])
        if count not in _ALLOWED.get(match[1], (count,)):
            raise NotationError(f'the scheme "{scheme}" cannot be read: a {match[1]} never has {count} figures')
        fields.append(_Field(match[1], count))
    names = [field.name for field in fields]
    if "year" not in names:
        raise NotationError(f'the scheme "{scheme}" gives no year; add one, such as year-{scheme}')
    doubled = next((name for name in names if name != "other" and names.count(name) > 1), None)
    if doubled:
        raise NotationError(f'the scheme "{scheme}" gives the {doubled} twice')
    return tuple(fields)


def _dates(figures: str, fields: tuple[_Field, ...], first_year: int) -> list[tuple[int, int, str]]:
    """First week, last week and ISO date of everything that the figures can mean; empty where that is nothing."""
    parts: dict[str, list[int]] = {}
    place = 0
    for field in fields:
        text = figures[place : place + field.figures]
        place += field.figures
        if field.name not in ("maker", "other"):
            parts[field.name] = _years(text, first_year) if field.name == "year" else _numbers(text)
    names = [name for name in parts if name != "year"]
    found = []
    for year in parts["year"]:
        for values in product(*(parts[name] for name in names)):
            interval = _interval(year, dict(zip(names, values, strict=True)))
            if interval is not None:
                found.append(interval)
            if len(found) > _MOST_READINGS:
                return found
    return found


def _numbers(text: str) -> list[int]:
    choices = ["0123456789" if sign == "?" else sign for sign in text]
    return [int("".join(figures)) for figures in product(*choices)]


def _years(text: str, first_year: int) -> list[int]:
    if len(text) == 1:
        return [year for year in range(first_year, LAST_YEAR + 1) if text in ("?", str(year % 10))]
    if len(text) == 2:
        years = [1900 + number if number >= 20 else 2000 + number for number in _numbers(text)]
        return sorted(year for year in years if year >= first_year)
    return [year for year in _numbers(text) if first_year <= year < 2100]


def _interval(year: int, given: dict[str, int]) -> tuple[int, int, str] | None:
    """The weeks that a year and what else a code gives mean; None where there is no such date."""
    if "week" in given:
        weeks = date(year, 12, 28).isocalendar().week
        if not 1 <= given["week"] <= 53:
            return None
        week = min(given["week"], weeks)
        number = week_of(date.fromisocalendar(year, week, 1))
        return number, number, f"{year}-W{week:02d}"
    first_month, last_month, name = 1, 12, f"{year}"
    if "quarter" in given:
        if not 1 <= given["quarter"] <= 4:
            return None
        first_month, last_month = 3 * given["quarter"] - 2, 3 * given["quarter"]
        name = f"{year}-{first_month:02d}"
    if "month" in given:
        if not 1 <= given["month"] <= 12:
            return None
        first_month = last_month = given["month"]
        name = f"{year}-{first_month:02d}"
    first = date(year, first_month, 1)
    last = (date(year, last_month, 28) + timedelta(days=4)).replace(day=1) - timedelta(days=1)
    if "day" in given:
        if not 1 <= given["day"] <= last.day or "month" not in given:
            return None
        first = last = first.replace(day=given["day"])
        name = first.isoformat()
    return week_of(first), week_of(last), name


def _misreadings(figures: str, fields: tuple[_Field, ...], first_year: int) -> list[tuple[str, tuple[int, int, str]]]:
    """Dates by what else the code may be if one figure was misread."""
    silent = set()
    place = 0
    for field in fields:
        if field.name in ("maker", "other"):
            silent |= set(range(place, place + field.figures))
        place += field.figures
    found = []
    for index, figure in enumerate(figures):
        if figure == "?" or index in silent:
            continue
        for other in misread_figures()[figure]:
            text = figures[:index] + other + figures[index + 1 :]
            found += [(text, date) for date in _dates(text, fields, first_year)]
    return found


def _merged(read: list[CodeDate]) -> tuple[CodeDate, ...]:
    """The dates in order of time; readings that come to the same date are one, named by the likelier."""
    by_date: dict[tuple[int, int], CodeDate] = {}
    for found in sorted(read, key=lambda found: -found.weight):
        known = by_date.get((found.first, found.last))
        if known is None:
            by_date[found.first, found.last] = found
        else:
            by_date[found.first, found.last] = CodeDate(
                known.first, known.last, min(known.weight + found.weight, 1.0), known.date, known.misread
            )
    return tuple(by_date[key] for key in sorted(by_date))


def _impossible(code: str, figures: str, fields: tuple[_Field, ...], read: list[CodeDate]) -> str:
    others = sorted({found.misread for found in read if found.misread is not None})
    made_up = "-".join(field.name for field in fields)
    hint = f"; it may be {' or '.join(others[:4])}, misread" if others else ""
    return f'"{code}" is no date as {made_up}: there is no such week, month or day{hint}'


def _has_short_week_53(figures: str, fields: tuple[_Field, ...]) -> bool:
    place = 0
    for field in fields:
        if field.name == "week" and field.figures == 2 and figures[place : place + 2] == "53":
            return True
        place += field.figures
    return False
