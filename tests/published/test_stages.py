"""Resistance-coupled charts, measured stage currents and output powers as printed."""

from __future__ import annotations

import numpy as np
import pytest
from drawings import battery, c, r, tube

from setwright.circuits import Circuit, compile_network, operate
from setwright.circuits.operating import tube_currents
from setwright.circuits.signals import gain
from setwright.circuits.stages import class_a_power, tilt
from setwright.circuits.tubes.models import model_of
from setwright.reference import CoupledStage, OperatingPoint, coupled_stages, operating_points

CHARTS = tuple(s for s in coupled_stages() if s.evidence != "from memory")
TWINS = ("12AX7", "12AU7", "6SL7GT", "6SN7GT", "6CG7", "17EW8")
SECTIONS = {**dict.fromkeys(TWINS, "1"), **dict.fromkeys(("12SR7", "12SW7", "6AT6", "6AV6"), "triode")}


def stage(row: CoupledStage) -> Circuit:
    """The stage of a chart row; capacitors large, as the charts have them chosen for response."""
    parts = [
        battery("B", row.supply_volts, "B+", "gnd", ohms=0.01),
        r("RL", row.plate_ohms, "B+", "plate"),
        r("RG", row.own_grid_ohms or 1e6, "grid", "gnd"),
    ]
    cathode = "gnd"
    if row.cathode_ohms:
        cathode = "k"
        parts += [r("RK", row.cathode_ohms, "k", "gnd"), c("CK", 1e-3, "k", "gnd")]
    if row.next_grid_ohms:
        parts += [c("CC", 1e-4, "plate", "out"), r("RN", row.next_grid_ohms, "out", "gnd")]
    electrodes = {"plate": "plate", "grid": "grid", "cathode": cathode}
    if row.screen_ohms:
        parts += [r("RS", row.screen_ohms, "B+", "screen"), c("CS", 1e-3, "screen", cathode)]
        electrodes = {"plate": "plate", "grid1": "grid", "grid2": "screen", "cathode": cathode}
    return Circuit("stage", "gnd", tuple(parts), (tube("V1", row.type, SECTIONS.get(row.type, ""), **electrodes),))


def computed_gain(row: CoupledStage) -> float:
    state = operate(compile_network(stage(row)))
    return abs(gain(state.network, state.variants, state.volts, 1000.0, "grid", "plate"))


TRIODES = [s for s in CHARTS if s.gain and not s.screen_ohms]
PENTODES = [s for s in CHARTS if s.gain and s.screen_ohms]
WITHIN = 0.20
"""The charts of one tube differ by 15 % between makers; so much is allowed."""


def errors(rows: list[CoupledStage]) -> dict[str, np.ndarray]:
    """Relative errors of gain by type."""
    found: dict[str, list[float]] = {}
    for row in rows:
        found.setdefault(row.type, []).append(computed_gain(row) / row.gain - 1.0)
    return {name: np.array(values) for name, values in found.items()}


# Share of a type's rows within 20 %, and the largest error. The models keep too much gain at currents of a tenth of a
# milliampere and below, where real tubes lose theirs; so what is off is off upwards, at 90 V supplies and large plate
# resistors most. The 6SN7GT's three rows lie at 18 % to 24 %.
TRIODE_CHARTS = {
    "12AX7": (0.85, 0.35),
    "12AU7": (1.00, 0.20),
    "12SR7": (0.80, 0.30),
    "12SW7": (0.60, 0.25),
    "6SN7GT": (0.30, 0.25),
}
PENTODE_CHARTS = {"EF86": (1.00, 0.20), "5879": (0.70, 0.70), "6AU6A": (0.35, 0.80)}
"""6AU6A and 5879 starve their screens through resistors printed to one figure; their charts are not met."""


@pytest.mark.parametrize("name", TRIODE_CHARTS)
def test_gains_of_the_triode_charts(name: str) -> None:
    off = np.abs(errors([s for s in TRIODES if s.type == name])[name])
    share, largest = TRIODE_CHARTS[name]
    assert np.mean(off <= WITHIN) >= share
    assert off.max() <= largest


def test_gains_of_all_triode_charts_together() -> None:
    off = np.abs(np.concatenate(list(errors(TRIODES).values())))
    assert len(off) >= 90
    assert np.mean(off <= WITHIN) >= 0.85
    assert np.median(off) <= 0.15


@pytest.mark.parametrize("name", PENTODE_CHARTS)
def test_gains_of_the_pentode_charts(name: str) -> None:
    off = np.abs(errors([s for s in PENTODES if s.type == name])[name])
    share, largest = PENTODE_CHARTS[name]
    assert np.mean(off <= WITHIN) >= share
    assert off.max() <= largest


MEASURED = [s for s in CHARTS if s.plate_amps and not s.gain and s.type == "12AX7" and s.source.startswith("Philips")]


@pytest.mark.parametrize("row", MEASURED, ids=lambda s: f"{s.supply_volts:g} V")
def test_measured_stage_currents(row: CoupledStage) -> None:
    """Five measured plate currents of an ECC83 stage (Philips), 0.65 to 1.72 mA: within 5 %."""
    state = operate(compile_network(stage(row)))
    current = float(tube_currents(state.network, state.volts, state.variants.tubes).plate[0, 0])
    assert current == pytest.approx(row.plate_amps, rel=0.05)


def test_all_five_are_tried() -> None:
    assert len(MEASURED) == 5


def powered() -> list[OperatingPoint]:
    rows = (row for name in ("6V6GT", "12SR7") for row in operating_points(name))
    return [r for r in rows if r.power_watts and r.load_ohms and r.grid_volts is not None and not r.triode_connected]


@pytest.mark.parametrize("row", powered(), ids=lambda r: f"{r.type}-{r.plate_volts:g}-{r.power_watts:g}-W")
def test_output_power_of_single_tubes(row: OperatingPoint) -> None:
    """Printed class A powers include distortion; the swing along the load line gives two thirds of them at least."""
    model = model_of(row.type, SECTIONS.get(row.type, ""))
    watts = class_a_power(model, row.plate_volts, row.screen_volts or 0.0, row.grid_volts, row.load_ohms)
    assert 0.65 * row.power_watts <= watts <= 1.05 * row.power_watts


def test_tilt_of_a_flat_top() -> None:
    """P = 1 - exp(-t/RC): half a field of 1/60 s behind 0.1 s sags by 8.0 % (textbook)."""
    assert tilt(1.0 / 120.0, 0.1) == pytest.approx(0.080, abs=0.0005)
