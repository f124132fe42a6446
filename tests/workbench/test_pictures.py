"""Geometry of the pictures, without a browser."""

from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.identity.answer import AxisAnswer, ChangeAnswer, Interval
from setwright.identity.model import Family, Feature, SerialBlock, Version
from setwright.workbench.pictures.axis import axis_pictures
from setwright.workbench.pictures.scale import Scale, hill
from setwright.workbench.pictures.serial_line import MOST_TICKS, TALL, WIDE, serial_line
from setwright.workbench.pictures.text import fitted, width_of

FAMILY = Family(
    id="heron-6",
    name="Heron 6",
    features=(Feature("lamp", "Dial lamp wiring", ("one lamp", "two lamps")),),
    versions=(
        Version("a", "First printing", states={"lamp": "one lamp"}),
        Version("b", "Second printing", states={"lamp": "two lamps"}),
    ),
    serial_blocks=(SerialBlock("H", 1, 6000, 1), SerialBlock("J", 1, 4000, 6001)),
)
EDGES = np.array([0.0, 2000.0, 5000.0, 9000.0, 10000.0])


def axis(unit: str = "serial") -> AxisAnswer:
    return AxisAnswer("main", unit, EDGES, 1.0, np.array([0.0, 0.25, 0.75, 0.0]))


def change(mass: list[float], cut_in: Interval, applied: float = 0.5) -> ChangeAnswer:
    return ChangeAnswer("main:lamp:1", "lamp", "one lamp", "two lamps", "main", 1, cut_in, applied, np.array(mass))


def points(path: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in re.findall(r"([\d.]+) ([\d.]+)", path)]


def test_the_scale_names_serials_of_every_block() -> None:
    ticks = Scale.of(FAMILY, axis(), 0.0, 1000.0).ticks(6)
    assert [tick.label for tick in ticks] == ["H1", "H2000", "H4000", "H6000", "J2000", "J4000"]
    assert [tick.x for tick in ticks] == [0.1, 200.0, 400.0, 600.0, 800.0, 1000.0]


def test_a_run_without_serials_is_marked_in_round_parts() -> None:
    scale = Scale.of(FAMILY, axis("fraction of the run"), 0.0, 1000.0)
    assert [tick.label for tick in scale.ticks(6)] == ["0 %", "20 %", "40 %", "60 %", "80 %", "100 %"]
    assert scale.x_of_answer(0.25) == 250.0


@given(st.integers(2, 10**9), st.integers(2, 12))
def test_ticks_stay_in_order_and_few(last: int, most: int) -> None:
    family = Family("f", "f", (), (), first_serial=1)
    scale = Scale(family, "main", "serial", 0.0, float(last), 0.0, 1000.0)
    ticks = scale.ticks(most)
    assert 2 <= len(ticks) <= most + 1
    assert [tick.x for tick in ticks] == sorted(tick.x for tick in ticks)
    assert all(0.0 <= tick.x <= 1000.0 for tick in ticks)


def test_a_hill_stands_where_its_mass_is() -> None:
    scale = Scale.of(FAMILY, axis(), 0.0, 1000.0)
    drawn = points(hill(scale, EDGES, np.array([0.0, 0.0, 1.0, 0.0]), 20.0, 100.0))
    assert min(x for x, _ in drawn) == pytest.approx(500.0, abs=10)
    assert max(x for x, _ in drawn) == pytest.approx(900.0, abs=10)
    assert min(y for _, y in drawn) == 80.0


def test_the_denser_cell_is_the_higher() -> None:
    scale = Scale.of(FAMILY, axis(), 0.0, 1000.0)
    drawn = points(hill(scale, EDGES, np.array([0.5, 0.0, 0.5, 0.0]), 20.0, 100.0))
    left = min(y for x, y in drawn if 50 < x < 150)
    right = min(y for x, y in drawn if 600 < x < 800)
    # Both cells hold half; the right one is twice as wide, so half as high.
    assert (left, right) == (80.0, pytest.approx(90.0, abs=0.2))


def test_nothing_known_draws_nothing() -> None:
    assert hill(Scale.of(FAMILY, axis(), 0.0, 1.0), EDGES, np.zeros(4), 20.0, 100.0) == ""


@pytest.mark.parametrize("layout", [WIDE, TALL], ids=["wide", "tall"])
def test_rows_follow_the_production(layout) -> None:
    late = change([0.0, 0.0, 0.5, 0.5], Interval(6000, 8000, 9900), 0.125)
    early = change([1.0, 0.0, 0.0, 0.0], Interval(100, 1000, 1900), 0.995)
    picture = serial_line(FAMILY, axis(), [late, early], np.array([10, 400]), Interval(2500, 6000, 8000), layout)
    assert [row.span.words for row in picture.rows] == ["H100 to H1900", "H6000 to J3900"]
    assert [row.applied.replace("\xa0", " ") for row in picture.rows] == ["in this set over 99 %", "in this set 12 %"]
    assert [heading.text for heading in picture.headings] == ["From First printing to Second printing"]
    assert picture.rows[-1].base < picture.height
    assert picture.stand is not None
    assert "H2500 to J2000" in picture.stand.words
    assert "H2500 to J2000" in picture.description


@pytest.mark.parametrize("median", [100, 3000, 5000, 5600, 7000, 9900])
def test_the_words_beside_this_set_stay_in_a_narrow_picture(median: int) -> None:
    """Letters of a device without the faces that were asked for: DejaVu Serif's figures are a quarter wider."""
    picture = serial_line(FAMILY, axis(), [], np.array([]), Interval(median - 90, median, median + 90), TALL)
    assert picture.stand is not None
    wide = 1.25 * width_of(picture.stand.words, 14)
    left = picture.stand.words_x - (wide if picture.stand.words_anchor == "end" else 0.0)
    assert left >= 0.0
    assert left + wide <= TALL.width


def test_a_known_serial_is_a_line() -> None:
    picture = serial_line(FAMILY, axis(), [], np.array([]), Interval(7000, 7000, 7000, 1.0), WIDE)
    assert picture.stand is not None
    assert picture.stand.known
    assert picture.stand.words == "this set: J1000"
    assert picture.survivor_words == "no survivor with a known serial"


def test_many_survivors_become_a_hill() -> None:
    many = np.arange(1, MOST_TICKS + 2)
    picture = serial_line(FAMILY, axis(), [], many, None, WIDE)
    assert picture.survivors == ()
    assert picture.survivor_hill
    assert picture.survivor_words == "survivors (601)"
    assert len(axis_pictures(FAMILY, "main", np.arange(1, 5000))[0].marks) <= MOST_TICKS


def test_an_axis_without_serials_has_no_picture() -> None:
    family = Family("f", "f", (), ())
    assert axis_pictures(family, "main", np.array([], dtype=np.int64)) == ()


@given(st.text(max_size=80), st.floats(20, 500))
def test_fitted_text_fits(text: str, room: float) -> None:
    shown = fitted(text, 14.0, room)
    assert width_of(shown, 14.0) <= room
    assert shown == text or shown.endswith("…")
