"""The order of a walk round a socket, the picture of a socket, and the words of readings."""

from __future__ import annotations

from math import atan2, pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.circuits import Circuit, Comparison, Part, Reading, Tube, compare_readings, expect, parse_meter
from setwright.circuits.readings import compare_with
from setwright.circuits.sockets import Socket, SocketPin, sockets_of
from setwright.files.circuits.reading import read_circuit
from setwright.reference import tube_base, tube_bases
from setwright.workbench.circuits.walking import LEAVE, PULSES, pulsed_nodes, walk_of
from setwright.workbench.circuits.words import fit_of, off_words
from setwright.workbench.pictures.socket import WIDTH, socket_picture
from setwright.workbench.services.circuits import Asked, ChartCase, _expectation

BEAM = (("plate", "P"), ("grid1", "G"), ("grid2", "S"), ("cathode", "K"))


def case_of(circuit: Circuit, *, off: bool = False) -> ChartCase:
    return ChartCase(circuit, (), _expectation(circuit, Asked(off=off)), ())


@pytest.fixture
def heron(circuit_text: str) -> ChartCase:
    return case_of(read_circuit(circuit_text.encode()).circuit)


def test_a_walk_begins_at_the_heater_and_ends_at_the_highest_voltage(heron: ChartCase) -> None:
    walk = walk_of(heron, sockets_of(heron.circuit)[0])
    assert walk.stops[0].quantity == "volts_ac"
    assert (walk.stops[0].low, walk.stops[0].high) == (pytest.approx(5.67), pytest.approx(6.93))
    rest = [abs(stop.expected or 0.0) for stop in walk.stops[1:]]
    assert rest == sorted(rest)
    assert [stop.number for stop in walk.stops] == list(range(1, len(walk.stops) + 1))


def test_kilovolts_are_no_stop(heron: ChartCase) -> None:
    walk = walk_of(heron, sockets_of(heron.circuit)[1])
    plate = next(place for place in walk.places if place.pin.node == "HV")
    assert (plate.stop, plate.why) == (None, LEAVE)
    assert walk.has_kilovolts


def sweep() -> Circuit:
    parts = (
        Part("SRC", "source", ("boost", "chassis"), volts=500.0, ohms=100.0),
        Part("T9", "inductor", ("boost", "P"), ohms=14.0),
        Part("L9", "inductor", ("P", "yoke"), ohms=20.0),
        Part("R0", "resistor", ("yoke", "chassis"), value=1e6),
        Part("R1", "resistor", ("K", "chassis"), value=100.0),
        Part("R2", "resistor", ("G", "chassis"), value=470e3),
        Part("R3", "resistor", ("boost", "S"), value=22e3),
    )
    return Circuit("sweep", "chassis", parts, (Tube("V17", "6BQ6GT", BEAM),))


def test_a_plate_on_the_top_cap_and_what_a_coil_joins_to_it_are_left_alone() -> None:
    circuit = sweep()
    assert pulsed_nodes(circuit) == {"P", "yoke"}
    walk = walk_of(case_of(circuit), sockets_of(circuit)[0])
    cap = next(place for place in walk.places if place.pin.number == "cap")
    assert (cap.stop, cap.why) == (None, PULSES)
    cold = walk_of(case_of(circuit, off=True), sockets_of(circuit)[0])
    assert any("cap" in stop.pins for stop in cold.stops)


def test_pins_that_one_lead_joins_are_one_stop() -> None:
    parts = (
        Part("SRC", "source", ("B", "chassis"), volts=120.0),
        Part("R0", "resistor", ("B", "P"), value=150.0),
        Part("R1", "resistor", ("K", "chassis"), value=150.0),
        Part("R2", "resistor", ("G", "chassis"), value=470e3),
        Part("R3", "resistor", ("B", "S"), value=100.0),
    )
    circuit = Circuit("one", "chassis", parts, (Tube("V4", "50B5", BEAM),))
    walk = walk_of(case_of(circuit), sockets_of(circuit)[0])
    assert ("1", "7") in [stop.pins for stop in walk.stops]


@pytest.mark.parametrize("base", tube_bases())
def test_pins_are_drawn_clockwise_from_below_and_inside_the_picture(base: str) -> None:
    known = tube_base(base)
    assert known is not None
    pins = tuple(SocketPin(str(n), "plate", "plate", "", "plate", "P", True) for n in range(1, known.pins + 1))
    picture = socket_picture(Socket("V1", "6XX6", base, pins), lambda pin: ("suppressor", "−100 V"))
    assert picture is not None
    # Angle from the bottom, where key or gap are, to the left: clockwise as one looks at it.
    turns = [atan2(picture.x - pin.x, pin.y - picture.y) % (2.0 * pi) for pin in picture.pins]
    assert turns == sorted(turns)
    assert turns[0] > 0.2
    assert turns[-1] < 2.0 * pi - 0.2
    for pin in picture.pins:
        assert 10.0 < pin.label_x < WIDTH - 10.0
        assert pin.label_y > 10.0
        assert pin.label_y + 15.0 * (len(pin.lines) - 1) < picture.height


def test_a_base_that_is_not_known_has_no_picture() -> None:
    assert socket_picture(Socket("V1", "odd", "", ()), lambda pin: ("",)) is None


def comparison(value: float, expected: float, low: float, high: float, misfit: bool) -> Comparison:
    reading = Reading("P", "chassis", "volts", value)
    return Comparison(reading, expected, low, high, 3.0 if misfit else 0.0, misfit)


@given(st.floats(-500, 500), st.floats(-500, 500), st.floats(0.0, 50), st.floats(0.0, 50), st.booleans())
def test_every_reading_has_words_and_a_place_on_the_scale(
    value: float, expected: float, below: float, above: float, misfit: bool
) -> None:
    fit = fit_of(comparison(value, expected, expected - below, expected + above, misfit))
    assert fit.words
    assert fit.mark is not None
    assert 6.0 <= fit.mark <= 90.0
    if expected - below <= value <= expected + above:
        assert fit.fits is True
        assert 32.0 <= fit.mark <= 64.0
    else:
        assert fit.fits is not misfit


def test_nothing_expected_says_nothing() -> None:
    assert fit_of(None).fits is None
    assert fit_of(Comparison(Reading("P", "chassis", "volts", 1.0), None, None, None, None, False)).fits is None


@given(st.floats(0.001, 1000), st.floats(0.001, 1000))
def test_what_is_above_is_not_below(value: float, expected: float) -> None:
    words = off_words(value, expected, "volts")
    assert words.startswith("above") == (value > expected)


def test_a_reading_beside_its_point_is_what_solving_once_more_says(heron: ChartCase) -> None:
    chart = expect(heron.circuit, meter=parse_meter("20k/V"))
    for point in (p for p in chart.points if p.point in ("B+", "divider", "V6.cathode")):
        assert point.meter is not None
        assert point.value is not None
        reading = Reading(point.point, "chassis", "volts", 1.1 * point.value, parse_meter(point.meter))
        quick, solved = compare_with(reading, point), compare_readings(heron.circuit, [reading])[0]
        assert quick.misfit == solved.misfit
        for name in ("expected", "low", "high", "z"):
            assert getattr(quick, name) == pytest.approx(getattr(solved, name), rel=2e-3)
