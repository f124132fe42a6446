"""Resistance-coupled charts, measured stage currents and output powers as printed."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import pytest
from drawings import battery, c, r, tube

from setwright.circuits import Circuit, compile_network, operate
from setwright.circuits.operating import tube_currents
from setwright.circuits.signals import gain
from setwright.circuits.stages import class_a_power, tilt
from setwright.circuits.tubes.coupled import Law, stage_work
from setwright.circuits.tubes.equations import TriodeParameters
from setwright.circuits.tubes.fitting import fit_pentode, fit_triode, form_of, law_of
from setwright.circuits.tubes.models import TubeModel, model_of
from setwright.reference import (
    CoupledStage,
    OperatingPoint,
    coupled_stages,
    curve_points,
    operating_points,
    stored_fit,
)

CHARTS = tuple(s for s in coupled_stages() if not s.from_memory)
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


def test_rows_solved_together_are_as_their_networks() -> None:
    """What the models are fitted with against the network of each row: two ways to one amplification."""
    for name in GAINS:
        rows, fit = printing_gain(name), stored_fit(name)
        together = stage_work(rows, law_of(fit.form, fit.parameters)).gain
        assert together == pytest.approx([computed_gain(row) for row in rows], rel=1e-5)


def printing_gain(name: str) -> list[CoupledStage]:
    return [row for row in CHARTS if row.type == name and row.gain]


def fitted(name: str, charts: Sequence[CoupledStage]) -> Law:
    """A type's model from its points and curves and these chart rows alone."""
    points = operating_points(name)
    fit = fit_triode if form_of(points) == "triode" else fit_pentode
    return law_of(form_of(points), fit(points, curve_points(name), charts))


def of_other_supplies(name: str, work: Callable[[Sequence[CoupledStage], Law], np.ndarray]) -> np.ndarray:
    """`work` for every chart row of a type, by the model fitted to its charts at other supply voltages."""
    rows = [row for row in CHARTS if row.type == name]
    found = np.full(len(rows), np.nan)
    for low, high in ((0, 120), (120, 220), (220, 500)):
        tried = [low < row.supply_volts <= high for row in rows]
        if any(tried):
            rest = [row for row, out in zip(rows, tried, strict=True) if not out]
            chosen = [row for row, out in zip(rows, tried, strict=True) if out]
            found[tried] = work(chosen, fitted(name, rest))
    return found


def gain_errors(rows: Sequence[CoupledStage], law: Law) -> np.ndarray:
    """Relative errors of amplification; no number where none is printed."""
    return stage_work(rows, law).gain / np.array([row.gain or np.nan for row in rows]) - 1.0


def plate_errors(rows: Sequence[CoupledStage], law: Law) -> np.ndarray:
    return stage_work(rows, law).plate_amps / np.array([row.plate_amps or np.nan for row in rows]) - 1.0


def cathode_errors(rows: Sequence[CoupledStage], law: Law) -> np.ndarray:
    work = stage_work(rows, law)
    return (work.plate_amps + work.screen_amps) / np.array([row.cathode_amps or np.nan for row in rows]) - 1.0


WITHIN = 0.20
"""The charts of one tube differ by 15 % between makers; so much is allowed."""
GAINS = ("12AX7", "12AU7", "12SR7", "12SW7", "6SN7GT", "6AU6A", "5879", "EF86")

# By type: share of the printed amplifications within 20 %, and the largest error, first as shipped (fitted to all of
# the charts), then held out: each row by a model that has seen the charts at other supply voltages only.
# 12AX7 (Tung-Sol 1931-1933, 1947; Brimar VAD/513.5, 1950; General Electric ET-T509B, 1953): the Brimar table is 15 %
# below the other two and below what its own report computes from curves (57 for 66), so its rows at 250 V
# are met at 15 % to 18 %.
# 12AU7 (Brimar VAD/513.4, 1950), 12SR7 (General Electric, undated), 12SW7 (Tung-Sol 1751-1752, 1946): all met.
# 6SN7GT (Tung-Sol 1584-1586, 1945): its three rows ask for less amplification than mu 20 of the same sheet leaves
# with the slopes of its plate family; they are met at 15 % to 19 %.
# 6AU6A (General Electric ET-T916A, 1960): the one row missed runs at 0.45 mA behind 510,000 ohms.
# 5879 (RCA 5879-2-50, 1950), EF86 (Philips, 1970): all met.
AS_SHIPPED = {
    "12AX7": (1.00, 0.20),
    "12AU7": (1.00, 0.12),
    "12SR7": (1.00, 0.15),
    "12SW7": (1.00, 0.16),
    "6SN7GT": (1.00, 0.20),
    "6AU6A": (0.96, 0.23),
    "5879": (1.00, 0.16),
    "EF86": (1.00, 0.09),
}
HELD_OUT = {
    "12AX7": (0.95, 0.26),
    "12AU7": (1.00, 0.12),
    "12SR7": (1.00, 0.16),
    "12SW7": (1.00, 0.18),
    "6SN7GT": (1.00, 0.20),
    "6AU6A": (0.96, 0.25),
    "5879": (1.00, 0.18),
    "EF86": (1.00, 0.10),
}


@pytest.mark.parametrize("name", GAINS)
def test_gains_of_the_charts(name: str) -> None:
    off = np.abs([computed_gain(row) / row.gain - 1.0 for row in printing_gain(name)])
    share, largest = AS_SHIPPED[name]
    assert np.mean(off <= WITHIN) >= share
    assert off.max() <= largest


@pytest.mark.parametrize("name", GAINS)
def test_gains_of_charts_at_supplies_that_the_fit_has_not_seen(name: str) -> None:
    off = np.abs(of_other_supplies(name, gain_errors))
    share, largest = HELD_OUT[name]
    assert np.mean(off[~np.isnan(off)] <= WITHIN) >= share
    assert np.nanmax(off) <= largest


@pytest.mark.parametrize(("form", "rows", "share", "median"), [("triode", 95, 0.97, 0.09), ("pentode", 54, 0.97, 0.07)])
def test_gains_at_other_supplies_all_together(form: str, rows: int, share: float, median: float) -> None:
    names = [name for name in GAINS if stored_fit(name).form == form]
    off = np.abs(np.concatenate([of_other_supplies(name, gain_errors) for name in names]))
    off = off[~np.isnan(off)]
    assert len(off) == rows
    assert np.mean(off <= WITHIN) >= share
    assert np.median(off) <= median


@pytest.mark.parametrize(("form", "share", "median"), [("triode", 0.94, 0.12), ("pentode", 0.78, 0.12)])
def test_gains_of_charts_that_no_fit_has_seen(form: str, share: float, median: float) -> None:
    """As a type without charts is met: by its points and curves, and by what the charts of all types taught in common.

    The common part (where the foot and its likes are expected) was learnt from these charts too, as three figures.
    Before it was learnt: triodes 86 %, pentodes 57 %. What is left are the screens of 6AU6A and 5879.
    """
    names = [name for name in GAINS if stored_fit(name).form == form]
    off = np.abs(np.concatenate([gain_errors(printing_gain(name), fitted(name, ())) for name in names]))
    assert np.mean(off <= WITHIN) >= share
    assert np.median(off) <= median


def test_halves_of_a_chart_foretell_each_other() -> None:
    """Every second row of the charts of 12AX7, 12SR7, 6AU6A and 5879, by the model that has seen the others."""
    off = []
    for name in ("12AX7", "12SR7", "6AU6A", "5879"):
        rows = printing_gain(name)
        for half in (0, 1):
            off.append(gain_errors(rows[half::2], fitted(name, rows[1 - half :: 2])))
    assert np.mean(np.abs(np.concatenate(off)) <= WITHIN) >= 0.97


PHILIPS = [row for row in CHARTS if row.type == "12AX7" and row.plate_amps and row.source.startswith("Philips")]
TELEFUNKEN = [row for row in CHARTS if row.type == "EF804S"]


def computed_amps(row: CoupledStage) -> tuple[float, float]:
    """Plate and screen current."""
    state = operate(compile_network(stage(row)))
    flows = tube_currents(state.network, state.volts, state.variants.tubes)
    return float(flows.plate[0, 0]), float(flows.screen[0, 0])


@pytest.mark.parametrize("row", PHILIPS, ids=lambda s: f"{s.supply_volts:g} V")
def test_measured_stage_currents(row: CoupledStage) -> None:
    """Five measured plate currents of an ECC83 stage (Philips, 1960), 0.65 to 1.72 mA: within 5 %."""
    assert computed_amps(row)[0] == pytest.approx(row.plate_amps, rel=0.05)


@pytest.mark.parametrize("row", TELEFUNKEN, ids=lambda s: f"{s.supply_volts:g}-V-{s.plate_ohms:g}")
def test_printed_stage_currents_of_a_pentode(row: CoupledStage) -> None:
    """EF804S (Telefunken, sheets 331-332), 0.21 to 0.87 mA: plate within 5 %; screen, printed to two figures, 10 %."""
    plate, screen = computed_amps(row)
    assert plate == pytest.approx(row.plate_amps, rel=0.05)
    assert screen == pytest.approx(row.screen_amps, rel=0.10)


@pytest.mark.parametrize("row", printing_gain("EF86"), ids=lambda s: f"{s.supply_volts:g} V")
def test_printed_cathode_currents(row: CoupledStage) -> None:
    """EF86 (Philips, 1970), 1.05 to 3.2 mA: within 5 %."""
    assert sum(computed_amps(row)) == pytest.approx(row.cathode_amps, rel=0.05)


def test_stage_currents_at_supplies_that_the_fit_has_not_seen() -> None:
    """ECC83 within 5 %. EF804S, two rows by the other two, at 2.5 times their voltage: 7 %. EF86: 10 %."""
    ecc83, ef804s = (of_other_supplies(name, plate_errors) for name in ("12AX7", "EF804S"))
    assert np.sum(~np.isnan(ecc83)) == 6
    assert np.sum(~np.isnan(ef804s)) == 4
    assert np.nanmax(np.abs(ecc83)) <= 0.05
    assert np.nanmax(np.abs(ef804s)) <= 0.07
    assert np.abs(of_other_supplies("EF86", cathode_errors)).max() <= 0.10


def test_all_currents_are_tried() -> None:
    assert (len(PHILIPS), len(TELEFUNKEN)) == (5, 4)


def powered() -> list[OperatingPoint]:
    rows = (row for name in ("6V6GT", "12SR7") for row in operating_points(name))
    return [r for r in rows if r.power_watts and r.load_ohms and r.grid_volts is not None and not r.triode_connected]


@pytest.mark.parametrize("row", powered(), ids=lambda r: f"{r.type}-{r.plate_volts:g}-{r.power_watts:g}-W")
def test_output_power_of_single_tubes(row: OperatingPoint) -> None:
    """Printed class A powers include distortion; the swing along the load line gives 0.84 to 0.96 of them.

    The 6V6GT's at a screen of 100 V is met at 0.71: the model's current at no bias is low there.
    """
    model = model_of(row.type, SECTIONS.get(row.type, ""))
    watts = class_a_power(model, row.plate_volts, row.screen_volts or 0.0, row.grid_volts, row.load_ohms)
    least = 0.70 if row.screen_volts == 100.0 else 0.82
    assert least * row.power_watts <= watts <= 1.05 * row.power_watts


def test_tilt_of_a_flat_top() -> None:
    """P = 1 - exp(-t/RC): half a field of 1/60 s behind 0.1 s sags by 8.0 % (textbook)."""
    assert tilt(1.0 / 120.0, 0.1) == pytest.approx(0.080, abs=0.0005)


def test_output_power_of_a_straight_tube() -> None:
    """Of a tube with straight characteristics (textbook): (mu·Vg / (rp + R))² × R / 2, here 62.5 mW."""
    straight = TriodeParameters(mu=20.0, ex=1.0, kg1=2000.0, kp=1e5, kvb=0.0, vct=0.0, foot=0.0)  # rp 20,000 ohms
    model = TubeModel("straight", "triode", "straight", triode=straight)
    assert class_a_power(model, 300.0, 0.0, -5.0, 20e3) == pytest.approx(0.0625, rel=1e-4)


def test_a_flattened_wave_carries_more_than_a_sine_of_its_height() -> None:
    """6V6GT into 8500 ohms (AWV, 1944: 5.5 W, 12 % distortion): a sine from largest to least current gives 4.1 W."""
    watts = class_a_power(model_of("6V6GT", ""), 315.0, 225.0, -13.0, 8500.0)
    assert watts > 1.2 * 4.1
