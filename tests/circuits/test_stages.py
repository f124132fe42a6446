"""Figures of stages: what an output transformer's load changes."""

from __future__ import annotations

from dataclasses import replace

import pytest
from drawings import battery, r, tube

from setwright.circuits import Circuit, Part, UnsoundCircuit, compile_network, operate
from setwright.circuits.checks import check
from setwright.circuits.stages import class_a_power, stage_figures
from setwright.circuits.tubes.models import model_of


def output_stage(load_ohms: float | None, *, henries: float | None = 10.0) -> Circuit:
    """A 6V6GT with 250 V on plate and screen and 12.5 V of bias, behind a primary without resistance."""
    parts = (
        battery("B", 250.0, "B+", "gnd"),
        battery("C", -12.5, "bias", "gnd"),
        r("RG", 470e3, "grid", "bias"),
        Part("T1", "inductor", ("B+", "plate"), value=henries, ohms=0.01, load_ohms=load_ohms),
    )
    electrodes = {"plate": "plate", "grid1": "grid", "grid2": "B+", "cathode": "gnd"}
    return Circuit("output", "gnd", parts, (tube("V1", "6V6GT", "", **electrodes),))


def test_the_load_of_the_primary_gives_gain_and_power() -> None:
    (figure,) = stage_figures(operate(compile_network(output_stage(5000.0))))
    model = model_of("6V6GT", "")
    assert figure.output_watts == pytest.approx(class_a_power(model, 250.0, 250.0, -12.5, 5000.0), rel=1e-3)
    with_load = figure.transconductance / (1.0 / figure.plate_ohms + 1.0 / 5000.0)
    # 10 H are 63 kilohms at 1 kHz, a quarter turn away from the load.
    assert figure.gain == pytest.approx(with_load, rel=0.01)


def test_without_a_load_the_coil_alone_stays() -> None:
    (figure,) = stage_figures(operate(compile_network(output_stage(None))))
    assert figure.output_watts is None
    assert figure.gain > 3.0 * stage_figures(operate(compile_network(output_stage(5000.0))))[0].gain


def test_a_load_without_henries_is_a_load() -> None:
    (figure,) = stage_figures(operate(compile_network(output_stage(5000.0, henries=None))))
    with_load = figure.transconductance / (1.0 / figure.plate_ohms + 1.0 / 5000.0)
    assert figure.gain == pytest.approx(with_load, rel=1e-3)


@pytest.mark.parametrize("ohms", [0.0, -5000.0])
def test_a_load_is_above_nought(ohms: float) -> None:
    with pytest.raises(UnsoundCircuit, match="resistance of"):
        check(output_stage(ohms))


def test_a_grid_above_its_cathode_gives_no_power() -> None:
    circuit = output_stage(5000.0)
    changed = {"C": {"volts": 2.0}, "RG": {"value": 10.0}}
    hot = replace(circuit, parts=tuple(replace(p, **changed.get(p.ref, {})) for p in circuit.parts))
    assert all(figure.output_watts is None for figure in stage_figures(operate(compile_network(hot))))
