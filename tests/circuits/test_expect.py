"""Charts: meters on each point in turn, spread, cold resistances, stages, warnings and cautions."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from drawings import battery, full_wave, half_wave, many_kinds, r, tube, two_stages, winding
from hypothesis import given, settings
from hypothesis import strategies as st

from setwright.circuits import Circuit, compile_network, expect, expect_cold, node_of, operate, parse_meter, solve
from setwright.circuits.expect import load_points
from setwright.circuits.problems import UnknownPoint
from setwright.circuits.spread import TOLERANCE_DEVIATIONS, spread_of
from setwright.notation import NotationError
from setwright.reference import tube_assumption


def chart(circuit: Circuit, **how: object) -> dict[str, float]:
    return {p.point: p.value for p in expect(circuit, **how).points}


def test_a_meter_loads_a_divider_as_ohm_says() -> None:
    circuit = Circuit(
        "d", "g", (battery("B", 100.0, "a", "g", ohms=0.001), r("R1", 1e6, "a", "b"), r("R2", 1e6, "b", "g"))
    )
    assert chart(circuit)["b"] == pytest.approx(50.0, rel=1e-5)
    meter = parse_meter("1k/V@100")
    ohms = 1.0 / (1.0 / 1e6 + 1.0 / 1e5)
    assert chart(circuit, meter=meter)["b"] == pytest.approx(100.0 * ohms / (1e6 + ohms), rel=1e-5)


def test_contact_bias_falls_to_less_than_half_under_a_loading_meter() -> None:
    circuit = two_stages()
    bare, fine, coarse = (
        chart(circuit, meter=m)["V1.grid"] for m in (None, parse_meter("10M"), parse_meter("20k/V@2.5"))
    )
    assert bare < fine < coarse < 0.0
    assert coarse > 0.5 * bare


def test_each_point_is_measured_alone() -> None:
    """One meter at a time: the plate with a meter on it is what the whole circuit gives with that branch alone."""
    network = compile_network(two_stages())
    state = operate(network)
    meter = parse_meter("1k/V@250")
    siemens = state.variants.siemens.copy()
    siemens[network.branch["V1.plate", "meter"]] = 1.0 / meter.ohms
    alone = solve(network, replace(state.variants, siemens=siemens)).volts[network.number["V1.plate"], 0]
    assert chart(two_stages(), meter=meter)["V1.plate"] == pytest.approx(alone, abs=1e-5)


def test_the_range_goes_with_the_reading() -> None:
    points = {p.point: p.meter for p in expect(two_stages(), meter=parse_meter("20k/V")).points}
    assert points["B+"] == "20k/V@250"
    assert points["V2.cathode"] == "20k/V@50"


@pytest.mark.parametrize(
    ("text", "ohms"),
    [("10M", 10e6), ("11 meg", 11e6), ("20k/V@250", 5e6), ("1k/V@50", 5e4), ("20,000 ohms/V @ 10 V", 2e5)],
)
def test_meters_are_read(text: str, ohms: float) -> None:
    assert parse_meter(text).on(5.0).ohms == pytest.approx(ohms)


@pytest.mark.parametrize("text", ["", "good", "20k/A", "20k/V@250 mA", "@250", "-10M"])
def test_what_is_no_meter_is_refused(text: str) -> None:
    with pytest.raises(NotationError):
        parse_meter(text)


def sampled(circuit: Circuit, count: int) -> tuple[list[str], np.ndarray, np.ndarray]:
    """Names, standard deviations by sampling every cause, and those of the linearised spread; direct side only."""
    network = compile_network(circuit)
    state = operate(network)
    rng = np.random.default_rng(11)
    deviations = np.array([b.tolerance / TOLERANCE_DEVIATIONS for b in network.branches])[:, None]
    siemens = state.variants.siemens * (1.0 - deviations * rng.normal(size=(len(network.branches), count)))
    tubes, shape = state.variants.tubes, (len(circuit.tubes), count)
    drawn = replace(
        tubes,
        strength=1.0 + tube_assumption("spread-current") * rng.normal(size=shape),
        mu=1.0 + tube_assumption("spread-mu") * rng.normal(size=shape),
        contact=tube_assumption("spread-contact-volts") * rng.normal(size=shape),
    )
    solved = solve(network, replace(state.variants, siemens=siemens, tubes=drawn), state.volts)
    assert solved.converged.all()
    names = list(network.nodes)
    loaded = load_points(state, names, [None] * len(names))
    spread = spread_of(network, loaded.variants, loaded.volts, list(range(len(names))), state.waves)
    return names, solved.volts.std(axis=1), spread.deviation


def test_the_linearised_spread_is_that_of_sampling() -> None:
    names, drawn, linear = sampled(two_stages(bias=False), 6000)
    for name, a, b in zip(names, drawn, linear, strict=True):
        assert b == pytest.approx(a, rel=0.08, abs=2e-3), name


def test_the_range_holds_its_level() -> None:
    """Wider levels reach farther, as the normal distribution has it: 0.683 is one deviation, 0.954 two."""
    one, two = (expect(two_stages(), level=level).points[0] for level in (0.6827, 0.9545))
    assert (two.high - two.value) == pytest.approx(2.0 * (one.high - one.value), rel=1e-3)


def test_cold_resistances_are_those_of_the_resistors() -> None:
    points = {p.point: p for p in expect_cold(two_stages()).points}
    assert points["V1.grid"].value == pytest.approx(10e6)
    assert points["V2.cathode"].value == pytest.approx(270.0)
    assert points["V1.diode"].value == pytest.approx(1e6 * 0.5e6 / 1.5e6)
    assert points["V1.plate"].value is None, "open: only a capacitor, a tube and the absent source are there"
    assert points["V2.cathode"].high - 270.0 == pytest.approx(1.645 * 270.0 * 0.1 / 3.0, rel=1e-3)


def test_cold_windings_coils_and_switches_are_as_drawn() -> None:
    points = {p.point: p.value for p in expect_cold(full_wave()).points}
    assert points["tap"] == pytest.approx(100.0)
    assert points["V1.p1"] == pytest.approx(210.0)
    assert points["B1"] == pytest.approx(300.0 + 5e3)
    assert {p.point: p.value for p in expect_cold(half_wave()).points}["L"] is None, "the line is unplugged"


@settings(max_examples=20)
@given(ohms=st.lists(st.floats(1.0, 1e7), min_size=3, max_size=3))
def test_cold_series_and_parallel(ohms: list[float]) -> None:
    a, b, d = ohms
    circuit = Circuit("n", "g", (r("R1", a, "x", "y"), r("R2", b, "y", "g"), r("R3", d, "y", "g")))
    value = {p.point: p.value for p in expect_cold(circuit).points}["x"]
    assert value == pytest.approx(a + b * d / (b + d), rel=1e-9)


def test_alternating_nodes_are_no_points() -> None:
    names = {p.point for p in expect(full_wave()).points}
    assert names == {"tap", "B1", "B2"}
    assert {p.point for p in expect(half_wave()).points} == {"B+", "B2"}
    assert [s.node for s in expect(half_wave()).supplies] == ["B+"]


def test_heater_windings_are_no_points_but_a_filament_stands_at_its_supply() -> None:
    circuit = full_wave()
    filament, lamp = winding("T1.c", 5.0, "B1", "fil", ohms=0.05), winding("T1.d", 6.3, "H", "chassis", ohms=0.05)
    tubes = (replace(circuit.tubes[0], heater=("B1", "fil")), replace(circuit.tubes[1], heater=("H", "chassis")))
    values = chart(replace(circuit, parts=(*circuit.parts, filament, lamp), tubes=tubes))
    assert values["fil"] == pytest.approx(values["B1"], abs=1e-3)
    assert "H" not in values


def test_a_back_bias_tap_is_negative() -> None:
    assert chart(full_wave())["tap"] < -3.0


def test_pins_are_named_at_their_nodes() -> None:
    point = next(p for p in expect(two_stages()).points if p.point == "V2.cathode")
    assert point.pins == (("V2", "", "cathode"),)
    assert node_of(two_stages(), "V2.screen") == "B+"
    assert node_of(two_stages(), "V1.plate-diode 1") == "V1.diode"


@pytest.mark.parametrize("name", ["V9.plate", "V2.grid3", "nowhere"])
def test_a_point_that_is_not_there_is_told(name: str) -> None:
    with pytest.raises(UnknownPoint, match="no point"):
        node_of(two_stages(), name)


def test_an_electrode_of_several_sections_needs_its_section() -> None:
    with pytest.raises(UnknownPoint, match="several sections"):
        node_of(many_kinds(), "V3.grid")


def test_another_line_is_told_and_computed() -> None:
    low = expect(half_wave(), line_volts=60.0)
    assert any("60 V" in w and "fully emitting" in w.replace("\n", " ") for w in low.warnings)
    assert low.points[0].value < 0.6 * expect(half_wave()).points[0].value


def test_rows_from_memory_are_told() -> None:
    assert any("35W4" in w and "from memory" in w for w in expect(half_wave()).warnings)
    assert not any("from memory" in w for w in expect(full_wave()).warnings)


def test_cautions_go_with_the_set() -> None:
    assert any("Line-connected" in caution for caution in expect(half_wave()).cautions)
    assert not any("Line-connected" in caution for caution in expect(full_wave()).cautions)
    assert any("Discharge" in caution for caution in expect_cold(full_wave()).cautions)
    high = Circuit("k", "g", (battery("B", 2000.0, "a", "g"), r("R", 1e6, "a", "g")))
    assert any("Kilovolts" in caution for caution in expect(high).cautions)
    for answer in (expect(half_wave()), expect_cold(half_wave())):
        assert "Local electrical codes" in answer.cautions[-1]


def test_a_tube_over_its_rating_is_told() -> None:
    hot = two_stages().with_part("R4", value=60.0)
    assert any("V2" in w and "rating is 12 W" in w for w in expect(hot).warnings)


def test_a_starved_regulator_is_told() -> None:
    parts = (battery("B", 190.0, "B+", "g"), r("R", 20e3, "B+", "reg"))
    circuit = Circuit("r", "g", parts, (tube("V1", "0D3", plate="reg", cathode="g"),))
    assert any("may go out" in w for w in expect(circuit).warnings)


def test_stage_figures_and_time_constants() -> None:
    answer = expect(two_stages())
    gains = {s.ref: s.gain for s in answer.stages}
    assert 40.0 < gains["V1"] < 80.0
    constant = next(t for t in answer.time_constants if t.ref == "C1")
    assert constant.seconds == pytest.approx(1e-8 * (470e3 + 100e3), rel=0.2)
