"""Invented productions with dated survivors, for tests of dating."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from setwright.chronology import DatedSet, Evidence, Place, Production, Run, usual_epochs
from setwright.chronology.model import Block
from setwright.notation import parse_date

START = date(1948, 1, 5)


def run(last: int = 20_000) -> Run:
    return Run(
        "main", 1, last, first_documented=True, last_documented=True, blocks=(Block("", 1, last, 1),),
        epochs=usual_epochs(1, last),
    )  # fmt: skip


def production(
    last: int = 20_000, introduced: str | None = "1948-01", discontinued: str | None = "1949-12"
) -> Production:
    return Production(
        (run(last),),
        None if introduced is None else parse_date(introduced),
        None if discontinued is None else parse_date(discontinued),
    )


def finished(position: float, last: int = 20_000, days: int = 725) -> date:
    """The day of a set in a production that runs evenly over two years."""
    return START + timedelta(days=round(days * position / last))


def iso_week(day: date) -> str:
    year, week, _ = day.isocalendar()
    return f"{year}-W{week:02d}"


def stamped(position: int, *more: Evidence, day: date | None = None) -> DatedSet:
    stamp = Evidence("stamp", parse_date(iso_week(day or finished(position))))
    return DatedSet(f"s-{position}", (Place("main", position, position),), (stamp, *more))


def dated_part(day: date, part: str) -> Evidence:
    """A part made in the week of a day, with a two-figure year in its code."""
    year, week, _ = day.isocalendar()
    return Evidence("part", code=f"{year % 100}{week:02d}", scheme="year2-week", part=part)


def speaker(day: date, lag_weeks: int = 6, part: str = "speaker") -> Evidence:
    """A part made some weeks before a day, with one figure for the year."""
    made = (day - timedelta(weeks=lag_weeks)).isocalendar()
    return Evidence("part", code=f"{made.year % 10}{made.week:02d}", scheme="year-week", part=part)


def register(count: int = 16, seed: int = 0, last: int = 20_000) -> list[DatedSet]:
    """Survivors at random places, all stamped, with a speaker that lay four to eight weeks."""
    rng = np.random.default_rng(seed)
    positions = np.sort(rng.choice(np.arange(1, last + 1), count, replace=False))
    return [stamped(int(p), speaker(finished(int(p), last), int(rng.integers(4, 9)))) for p in positions]


def at(position: int, *evidence: Evidence) -> DatedSet:
    return DatedSet("bench", (Place("main", position, position),), evidence)
