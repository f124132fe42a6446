"""The tables of a date as CSV: full figures, days in ISO form."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date

from setwright.files.dating_answers import COLUMNS, date_answer_rows
from setwright.identity.places import SERIAL_UNIT, describe
from setwright.workbench.services.dating import DateCase

Rows = Iterable[tuple[object, ...]]

TITLES = {"date": "the whole answer", "weeks": "week by week", "curve": "date curve and pace", "dated": "dated sets"}


def _date(case: DateCase) -> Rows:
    yield COLUMNS
    yield from date_answer_rows(case.answer, case.dated.trust)


def _weeks(case: DateCase) -> Rows:
    yield ("first_day", "probability")
    picture = case.answer.picture
    for edge, mass in zip(picture.weeks.edges[:-1], picture.mass, strict=True):
        yield (date.fromordinal(int(edge)).isoformat(), float(mass))


def _curve(case: DateCase) -> Rows:
    yield ("line", "position", "serial", "low", "median", "high", "level", "sets_a_week")
    for curve in case.answer.picture.curves:
        serials = case.dated.production.run(curve.line).unit == SERIAL_UNIT
        for number, position in enumerate(curve.positions):
            ends = (date.fromordinal(int(days[number])).isoformat() for days in (curve.low, curve.median, curve.high))
            serial = describe(case.family, curve.line, int(position)) if serials else ""
            yield (curve.line, int(position), serial, *ends, curve.level, float(curve.pace[number]))


def _dated(case: DateCase) -> Rows:
    yield ("set", "line", "position", "from", "to", "kind", "odd")
    for mark in case.answer.picture.marks:
        ends = mark.low.isoformat(), mark.high.isoformat()
        yield (mark.set, mark.line, mark.position, *ends, mark.kind, "yes" if mark.odd else "")


TABLES: dict[str, Callable[[DateCase], Rows]] = {"date": _date, "weeks": _weeks, "curve": _curve, "dated": _dated}
