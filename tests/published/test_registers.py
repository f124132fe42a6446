"""Dating against real registers: goods with serials, dated parts and stamps, and published tables of serials and years.

The goods are not radios; what matters is that serial, dated parts and an independent date exist together (see
data/README.md). Every held-out item is compared with what a person does by hand: the newest part plus the median lag of
the other sets, or interpolation between the neighbouring serials.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from sklearn.isotonic import IsotonicRegression

from setwright.chronology import (
    Assumptions,
    Block,
    DatedSet,
    Evidence,
    Fitted,
    Place,
    Production,
    Run,
    fit,
    usual_epochs,
)
from setwright.notation import parse_date
from setwright.notation.dates import DateInterval

DATA = Path(__file__).parent / "data"
BLOCKS = (("handheld-2", "M", 0), ("handheld-2", "MH", 0), ("handheld-4", "AJ", 0), ("handheld-4", "AU", 20_000_000))
"""Line, prefix and smallest serial of the blocks that have at least three other stamped sets."""

LEVEL = 0.9


def ordinal_range(fitted: Fitted, mass: np.ndarray) -> tuple[int, int, int]:
    days = fitted.weeks.quantiles(mass, ((1 - LEVEL) / 2, 0.5, (1 + LEVEL) / 2))
    return tuple(day.toordinal() for day in days)


# The register


@dataclass(frozen=True)
class HeldOut:
    """One stamp held out: errors in days of our median, of the newest part, of the serials; whether it is covered."""

    line: str
    error: float
    newest_part: float
    serials: float
    inside: bool


def middle(text: str) -> float:
    interval = parse_date(text)
    return (interval.first.toordinal() + interval.last.toordinal()) / 2


@lru_cache
def units(line: str, prefix: str, smallest: int) -> list[dict[str, str]]:
    with (DATA / "dated-handhelds.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return [
        row
        for row in rows
        if (row["product"], row["serial_prefix"]) == (line, prefix) and int(row["serial_number"]) >= smallest
    ]


def part_dates(unit: dict[str, str]) -> dict[str, str]:
    """Dates of the parts; bare years are left out, and the week that ISO does not have is the last it has."""
    names = [name for name in unit if name.endswith("_date") and name != "stamp_date"]
    found = {name.removesuffix("_date"): unit[name].replace("2000-W53", "2000-W52") for name in names}
    return {part: text for part, text in found.items() if len(text) > 4}


def newest(unit: dict[str, str]) -> float:
    return max(map(middle, part_dates(unit).values()))


def dated(unit: dict[str, str], *, stamp: bool) -> DatedSet:
    evidence = [Evidence("part", parse_date(text), part=part) for part, text in part_dates(unit).items()]
    if stamp:
        evidence.append(Evidence("stamp", parse_date(unit["stamp_date"])))
    serial = int(unit["serial_number"])
    return DatedSet(unit["unit"], (Place("block", serial, serial),), tuple(evidence))


def hold_out(block: list[dict[str, str]], unit: dict[str, str]) -> HeldOut:
    others = sorted((u for u in block if u is not unit), key=lambda u: int(u["serial_number"]))
    stamp = middle(unit["stamp_date"])
    serials = [int(u["serial_number"]) for u in others]
    stamps = [middle(u["stamp_date"]) for u in others]
    lag = np.median([middle(u["stamp_date"]) - newest(u) for u in others])
    last = max(*serials, int(unit["serial_number"]))
    own = dated(unit, stamp=False)
    production = Production((Run("block", 1, last, epochs=usual_epochs(1, last)),))
    fitted = fit(production, [dated(u, stamp=True) for u in others], also=own.evidence)
    log_own = fitted.rows.finished(own.evidence)
    mass = fitted.finished("block", own.places[0].first) * np.exp(log_own - log_own.max())
    low, median, high = ordinal_range(fitted, mass)
    return HeldOut(
        unit["product"],
        abs(median - stamp),
        abs(newest(unit) + lag - stamp),
        abs(np.interp(int(unit["serial_number"]), serials, stamps) - stamp),
        low <= stamp <= high,
    )


@pytest.fixture(scope="module")
def register() -> list[HeldOut]:
    blocks = [units(*block) for block in BLOCKS]
    return [hold_out(block, unit) for block in blocks for unit in block]


def figures(values: list[float]) -> tuple[float, float]:
    return float(np.median(values)), float(np.percentile(values, 90))


@pytest.mark.parametrize(
    ("line", "sets", "newest_part", "serials"),
    [
        ("handheld-2", 14, (16.5, 28.0), (33.8, 132.3)),
        ("handheld-4", 11, (7.0, 19.8), (35.0, 294.0)),
        ("", 25, (10.5, 27.4), (35.0, 256.6)),
    ],
)
def test_stamps_held_out_are_dated_as_well_as_by_hand(register, line, sets, newest_part, serials):
    """Median error at most 1.15 times, 90th percentile at most that of the better hand rule, plus a day each.

    The hand rules' figures (days: median, 90th percentile) were computed once by somebody else and are checked here.
    """
    here = [one for one in register if one.line.startswith(line)]
    assert len(here) == sets
    assert figures([one.newest_part for one in here]) == pytest.approx(newest_part, abs=0.06)
    assert figures([one.serials for one in here]) == pytest.approx(serials, abs=0.06)
    median, ninth = figures([one.error for one in here])
    assert median <= 1.15 * min(newest_part[0], serials[0]) + 1.0
    assert ninth <= min(newest_part[1], serials[1]) + 1.0


# The tables


@dataclass(frozen=True)
class TableFigures:
    """Mean errors in years of ours and of isotonic regression, how many are covered, mean lengths of ranges."""

    dated: int
    error: float
    isotonic: float
    covered: int
    length: float
    order_length: float
    narrower: int


def table(name: str) -> list[tuple[int, int]]:
    """Serials in order, and the day that stands for each year: its middle, or its end for last serials."""
    with (DATA / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        rows = [(int(row["serial"]), int(row["year"])) for row in csv.DictReader(file)]
    end_of_year = name.startswith("last-")
    return sorted((serial, date(year, *((12, 31) if end_of_year else (7, 2))).toordinal()) for serial, year in rows)


def blocks_of(name: str, last: int) -> tuple[Block, ...]:
    """The plant that took over began its numbers anew: a block of its own, which follows on the first one."""
    if name == "serial-by-year-two-plants":
        return Block("", 1, 134_000, 1), Block("", 200_001, None, 134_001)
    return (Block("", 1, last, 1),)


def position(blocks: tuple[Block, ...], serial: int) -> int:
    block = next(b for b in reversed(blocks) if serial >= b.first)
    return serial - block.first + block.starts_at


@lru_cache
def table_figures(name: str) -> TableFigures:
    """Rows 1, 6, 11 … and the last are kept, the rest dated from their serials."""
    rows = table(name)
    blocks = blocks_of(name, rows[-1][0])
    places = [position(blocks, serial) for serial, _ in rows]
    days = [day for _, day in rows]
    kept = sorted({*range(0, len(rows), 5), len(rows) - 1})
    asked = [number for number in range(len(rows)) if number not in kept]
    epochs = usual_epochs(1, places[-1], *(block.starts_at for block in blocks))
    sets = [DatedSet(str(n), (Place("t", places[n], places[n]),), (Evidence("stamp", on(days[n])),)) for n in kept]
    assumed = Assumptions(scatter_weeks=0.0, wrong_stamp=1e-9)
    fitted = fit(Production((Run("t", 1, places[-1], epochs=epochs),)), sets, assumed)
    isotonic = IsotonicRegression().fit([rows[n][0] for n in kept], [days[n] for n in kept])
    errors, lengths, orders, covered = [], [], [], 0
    for number in asked:
        mass = fitted.finished("t", places[number])
        low, _, high = ordinal_range(fitted, mass)
        errors.append(abs(fitted.weeks.mean(mass) - days[number]))
        covered += low <= days[number] <= high
        lengths.append(high - low)
        before, after = max(n for n in kept if n < number), min(n for n in kept if n > number)
        orders.append(LEVEL * (days[after] - days[before]))
    baseline = np.abs(isotonic.predict([rows[n][0] for n in asked]) - [days[n] for n in asked])
    return TableFigures(
        len(asked),
        float(np.mean(errors)) / 365.25,
        float(np.mean(baseline)) / 365.25,
        covered,
        float(np.mean(lengths)) / 365.25,
        float(np.mean(orders)) / 365.25,
        sum(length < order for length, order in zip(lengths, orders, strict=True)),
    )


def on(ordinal: int) -> DateInterval:
    day = date.fromordinal(ordinal)
    return DateInterval(day, day, day.isoformat())


TABLES = {
    "last-serial-of-year": (100, 0.278),
    "serial-about-year": (11, 6.00),
    "frame-number-by-year": (19, 0.218),
    "serial-by-year-two-plants": (8, 0.658),
}
"""How many rows are dated, and the mean error of isotonic regression in years, as computed by somebody else."""


@pytest.mark.parametrize("name", TABLES)
def test_years_are_told_from_serials_as_well_as_by_isotonic_regression(name):
    got, (dated_rows, isotonic) = table_figures(name), TABLES[name]
    assert got.dated == dated_rows
    assert got.isotonic == pytest.approx(isotonic, abs=0.006)
    assert got.error <= 1.05 * got.isotonic
    # Order alone allows any day between the neighbours kept, 90 % of them by chance.
    assert got.length <= 0.6 * got.order_length
    assert got.narrower >= 0.8 * got.dated


def test_ranges_hold_as_often_as_they_say(register):
    """All held-out items together: 90 % ranges cover 85 to 95 %."""
    got = [table_figures(name) for name in TABLES]
    inside = sum(one.covered for one in got) + sum(one.inside for one in register)
    count = sum(one.dated for one in got) + len(register)
    assert count == 163
    assert 0.85 <= inside / count <= 0.95
