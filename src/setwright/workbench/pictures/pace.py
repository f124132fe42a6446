"""The production-rate curve: how many sets a week were made, over time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from setwright.chronology.answer import DateAnswer, RunCurve
from setwright.chronology.model import Run
from setwright.chronology.wording import day_words
from setwright.identity.model import Family
from setwright.workbench.pictures.scale import Tick, round_step
from setwright.workbench.pictures.time_scale import TimeScale, time_shown
from setwright.workbench.site.words import line_words

STEPS = 240
"""Columns of the curve."""


@dataclass(frozen=True, slots=True)
class PacePicture:
    """The picture in one variant."""

    name: str
    line: str
    identifier: str
    title: str
    description: str
    width: float
    height: float
    left: float
    right: float
    top: float
    bottom: float
    times: tuple[Tick, ...]
    paces: tuple[Tick, ...]
    curve: str
    area: str
    low: float
    across: float
    median: float


def pace_pictures(family: Family, run: Run, answer: DateAnswer, curve: RunCurve) -> tuple[PacePicture, ...]:
    """The pace of one line, for the desk and for the phone; none where positions are not serials."""
    if run.unit != "serial" or len(curve.positions) < 2:
        return ()
    return tuple(
        _picture(family, answer, curve, name, width, left, most)
        for name, width, left, most in (("wide", 1080.0, 104.0, 14), ("tall", 358.0, 56.0, 5))
    )


def pace_by_week(curve: RunCurve) -> tuple[np.ndarray, np.ndarray]:
    """Days (n,), as ordinals, and the sets a week made about them (n,), over the run as the medians date it."""
    days = np.linspace(float(curve.median[0]), float(curve.median[-1]), STEPS)
    # Several positions may share a median day: their pace is taken together.
    at, first = np.unique(curve.median, return_index=True)
    ends = np.append(first[1:], len(curve.median))
    pace = np.array([curve.pace[a:b].mean() for a, b in zip(first, ends, strict=True)])
    return days, np.interp(days, at, pace)


def _picture(
    family: Family, answer: DateAnswer, curve: RunCurve, name: str, width: float, left: float, most: int
) -> PacePicture:
    top, bottom, right = 34.0, 174.0, width - 8.0
    time = TimeScale(*time_shown(answer, answer.picture.curves), left, right)
    days, pace = pace_by_week(curve)
    step = round_step(float(pace.max()) / 3)
    highest = step * max(int(np.ceil(pace.max() / step)), 1)
    levels = np.arange(0.0, highest + 0.5 * step, step)

    def y(value: float) -> float:
        return round(bottom - (bottom - top) * value / highest, 1)

    line = " L".join(f"{time.x(float(day)):g} {y(float(value)):g}" for day, value in zip(days, pace, strict=True))
    low, high = time.of(answer.date.low), time.x(answer.date.high.toordinal() + 1)
    which = f" of the {line_words(curve.line)}" if len(family.lines) > 1 else ""
    best = _month_of(days, int(pace.argmax()))
    return PacePicture(
        name=name,
        line=curve.line,
        identifier=f"pace-{curve.line}-{name}",
        title=f"How fast sets{which} were made",
        description=f"Sets a week over time: between {pace.min():,.0f} and {pace.max():,.0f}, most about {best}.",
        width=width,
        height=bottom + 30.0,
        left=left,
        right=right,
        top=top,
        bottom=bottom,
        times=time.ticks(most),
        paces=tuple(Tick(y(float(level)), f"{level:,g}", "end") for level in levels),
        curve=f"M{line}",
        area=f"M{time.x(float(days[0])):g} {bottom:g} L{line} L{time.x(float(days[-1])):g} {bottom:g}Z",
        low=low,
        across=round(max(high - low, 1.5), 1),
        median=time.of(answer.date.median),
    )


def _month_of(days: np.ndarray, index: int) -> str:
    """The month of one of the days."""
    return day_words(date.fromordinal(int(days[index]))).split(" ", 1)[1]
