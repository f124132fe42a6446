"""The date curve: when the turn of each serial came, the dated sets beside it, and this set."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from setwright.chronology.answer import DateAnswer, Mark, RunCurve
from setwright.chronology.model import Run
from setwright.chronology.wording import day_words, range_words
from setwright.identity.model import Family
from setwright.workbench.pictures.scale import Scale, Tick, hill
from setwright.workbench.pictures.text import fitted, width_of
from setwright.workbench.pictures.time_scale import TimeScale, time_shown
from setwright.workbench.site.words import count, line_words, percent

MOST_PLACES = 60
"""A set that can stand at more places than these, at its date, is drawn as a band from the first to the last."""

_HILL = 46.0


@dataclass(frozen=True, slots=True)
class CurveLayout:
    """Measures of one variant, in the units of its view box (pixels at full size)."""

    name: str
    width: float
    left: float
    plot: float
    most_times: int
    most_serials: int


WIDE = CurveLayout("wide", 1080.0, 104.0, 330.0, 14, 6)
TALL = CurveLayout("tall", 358.0, 56.0, 300.0, 5, 5)


@dataclass(frozen=True, slots=True)
class CurveMark:
    """A dated survivor: the days it can mean from x to `end`, its middle, and what says so."""

    x: float
    end: float
    middle: float
    y: float
    kind: str


@dataclass(frozen=True, slots=True)
class CurveSet:
    """This set: the range of its date, the median, the hill over it, its places by serial (rows, or a band)."""

    low: float
    width: float
    median: float
    hill: str
    rows: tuple[float, ...]
    band: tuple[float, float] | None
    words: str
    words_x: float
    anchor: str


@dataclass(frozen=True, slots=True)
class DateCurvePicture:
    """The whole picture in one variant."""

    layout: CurveLayout
    line: str
    identifier: str
    title: str
    description: str
    height: float
    right: float
    top: float
    bottom: float
    base: float
    times: tuple[Tick, ...]
    serials: tuple[Tick, ...]
    serial_words: str
    range: str
    median: str
    marks: tuple[CurveMark, ...]
    stand: CurveSet

    @property
    def width(self) -> float:
        """How wide the drawing is."""
        return self.layout.width


def date_curves(family: Family, run: Run, answer: DateAnswer, curve: RunCurve) -> tuple[DateCurvePicture, ...]:
    """The curve of one line, for the desk and for the phone."""
    return tuple(_picture(family, run, answer, curve, layout) for layout in (WIDE, TALL))


def _picture(family: Family, run: Run, answer: DateAnswer, curve: RunCurve, layout: CurveLayout) -> DateCurvePicture:
    top, right = 44.0, layout.width - 8.0
    bottom = top + layout.plot
    time = TimeScale(*time_shown(answer, answer.picture.curves), layout.left, right)
    # Early serials stand at the foot of the paper, as heights on a chart do.
    serial = Scale(family, run.line, run.unit, float(run.first - 1), float(run.last), bottom, top)
    marks = [mark for mark in answer.picture.marks if mark.line == run.line]
    base = bottom + 44.0 + _HILL
    which = f" of the {line_words(run.line)}" if len(family.lines) > 1 else ""
    return DateCurvePicture(
        layout=layout,
        line=run.line,
        identifier=f"date-curve-{run.line}-{layout.name}",
        title=f"When each serial{which} was built, and this set",
        description=_description(answer, curve, marks),
        height=base + 30.0,
        right=right,
        top=top,
        bottom=bottom,
        base=base,
        times=time.ticks(layout.most_times),
        serials=serial.ticks(layout.most_serials),
        serial_words="Serial" if run.unit == "serial" else "Part of the run",
        range=_outline(time, serial, curve),
        median="M" + " L".join(_points(time, serial, curve.positions, curve.median)),
        marks=tuple(_mark(time, serial, mark) for mark in marks),
        stand=_stand(time, serial, run, answer, curve, base),
    )


def _points(time: TimeScale, serial: Scale, positions: Sequence[int] | np.ndarray, days: np.ndarray) -> list[str]:
    return [f"{time.x(float(day)):g} {serial.x(float(at)):g}" for at, day in zip(positions, days, strict=True)]


def _outline(time: TimeScale, serial: Scale, curve: RunCurve) -> str:
    there = _points(time, serial, curve.positions, curve.low)
    back = _points(time, serial, curve.positions, curve.high)[::-1]
    return f"M{' L'.join([*there, *back])}Z"


def _mark(time: TimeScale, serial: Scale, mark: Mark) -> CurveMark:
    x, end = time.of(mark.low), time.x(mark.high.toordinal() + 1)
    kind = "odd" if mark.odd else mark.kind
    return CurveMark(x, end, round((x + end) / 2, 1), serial.x(float(mark.position)), kind)


def _stand(time: TimeScale, serial: Scale, run: Run, answer: DateAnswer, curve: RunCurve, base: float) -> CurveSet:
    low, high = time.of(answer.date.low), time.x(answer.date.high.toordinal() + 1)
    median = time.of(answer.date.median)
    places = [_within(place, answer, curve) for place in answer.picture.place.get(run.line, ())]
    places = [(first, last) for first, last in places if first <= last]
    single = all(first == last for first, last in places) and len(places) <= MOST_PLACES
    ends = [serial.x(float(place)) for pair in places for place in pair]
    words, x, anchor = _words(answer, low, high, time)
    return CurveSet(
        low=low,
        width=round(max(high - low, 1.5), 1),
        median=median,
        hill=hill(time, answer.picture.weeks.edges.astype(float), answer.picture.mass, _HILL, base),
        rows=tuple(ends[::2]) if single else (),
        band=None if single else (min(ends), round(max(ends) - min(ends), 1)),
        words=words,
        words_x=round(x, 1),
        anchor=anchor,
    )


def _within(place: tuple[int, int], answer: DateAnswer, curve: RunCurve) -> tuple[int, int]:
    """The part of a range of places whose turn may have come within the range of the set's date; ends crossed if none.

    What a serial that is read in part leaves open elsewhere in the run would only cover the picture.
    """
    first, last = place
    if first == last:
        low, high = (np.interp(first, curve.positions, days) for days in (curve.low, curve.high))
        ends = answer.date.low.toordinal(), answer.date.high.toordinal() + 1
        return place if low <= ends[1] and high >= ends[0] else (1, 0)
    begin = np.interp(answer.date.low.toordinal(), np.maximum.accumulate(curve.high), curve.positions)
    end = np.interp(answer.date.high.toordinal() + 1, np.maximum.accumulate(curve.low), curve.positions)
    return max(first, int(begin)), min(last, int(end))


def _words(answer: DateAnswer, low: float, high: float, time: TimeScale) -> tuple[str, float, str]:
    """The words beside the hill, on the side that has room."""
    for words in (f"this set: {range_words(answer.date)}", f"this set: {day_words(answer.date.median)}"):
        wide = width_of(words, 14)
        if high + 8 + wide <= time.right:
            return words, high + 8, "start"
        if low - 8 - wide >= 0:
            return words, low - 8, "end"
    return fitted(words, 14, time.right), time.right, "end"


def _description(answer: DateAnswer, curve: RunCurve, marks: Sequence[Mark]) -> str:
    """What the picture shows, for those who do not see it."""
    stamps = sum(mark.kind == "stamp" for mark in marks)
    odd = [mark.set for mark in marks if mark.odd]
    begin, end = (day_words(type(answer.mean).fromordinal(int(day))) for day in (curve.median[0], curve.median[-1]))
    out = f" Against the order of serials: {', '.join(odd)}." if odd else ""
    return (
        f"Time runs from left to right, serials from the foot upwards. By the curve the first of them was built about "
        f"{begin} and the last about {end}. Beside it {count(stamps, 'stamped survivor')} and "
        f"{count(len(marks) - stamps, 'survivor')} with a dated part.{out} This set: {range_words(answer.date)} "
        f"({percent(answer.date.level)} range)."
    )
