"""Against ngspice, an independent circuit solver: the same networks with the same device equations.

Node voltages agree within 0.1 % or 1 mV, and so do means over a cycle of supplies in time; peak-to-peak values, which
ngspice takes from its own uneven steps, within 2 %.
"""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
from drawings import doubler, full_wave, half_wave, many_kinds, two_stages
from netlist import MISSING, NGSPICE, averages, operating_point

from setwright.circuits import Circuit, compile_network, operate
from setwright.circuits.supplies import steady
from setwright.files.circuits.reading import read_circuit

pytestmark = pytest.mark.skipif(NGSPICE is None, reason=MISSING)

RELATIVE, ABSOLUTE = 1e-3, 1e-3


@pytest.mark.parametrize("circuit", [two_stages(), many_kinds()], ids=lambda c: c.id)
@pytest.mark.parametrize("line_volts", [117.0, 60.0, 130.0])
def test_operating_points_agree(circuit: Circuit, line_volts: float, tmp_path: Path) -> None:
    theirs = operating_point(circuit, tmp_path, line_volts=line_volts)
    ours = operate(compile_network(circuit, line_volts=line_volts))
    for node in ours.network.nodes:
        assert ours.at(node) == pytest.approx(theirs[node], rel=RELATIVE, abs=ABSOLUTE), node


@pytest.mark.parametrize("seed", range(6))
def test_altered_circuits_agree(seed: int, tmp_path: Path) -> None:
    """Every resistance off by up to a factor of three either way."""
    rng = np.random.default_rng([7, seed])
    circuit = many_kinds() if seed % 2 else two_stages()
    for part in circuit.parts:
        if part.kind == "resistor":
            circuit = circuit.with_part(part.ref, value=part.value * 3.0 ** rng.uniform(-1.0, 1.0))
    theirs = operating_point(circuit, tmp_path)
    ours = operate(compile_network(circuit))
    for node in ours.network.nodes:
        assert ours.at(node) == pytest.approx(theirs[node], rel=RELATIVE, abs=ABSOLUTE), node


SUPPLIES = {
    "half-wave": half_wave(),
    "full-wave, choke": full_wave(),
    "full-wave, resistor": full_wave(choke=False),
    "full-wave, choke input": full_wave(choke_input=True),
    "full-wave doubler": doubler(full=True),
    "half-wave doubler": doubler(full=False),
}


@pytest.mark.parametrize("name", SUPPLIES)
def test_supplies_in_time_agree(name: str, tmp_path: Path) -> None:
    circuit = SUPPLIES[name]
    means, swings = averages(circuit, tmp_path, 1.2 if "choke" in name else 0.8)
    ours = operate(compile_network(circuit))
    for node in ours.network.nodes:
        if not (node == "B1" and "choke input" in name):
            assert ours.at(node) == pytest.approx(means[node], rel=RELATIVE, abs=ABSOLUTE), node
    rows = dict(zip(ours.waves.nodes, ours.waves.volts, strict=False))
    for node in ours.network.layout.reservoirs:
        assert np.ptp(rows[node]) == pytest.approx(swings[node], rel=0.02)


@pytest.mark.slow
def test_a_whole_line_radio_in_time_agrees(tmp_path: Path) -> None:
    """The demonstration's small radio with its rectifier, from nought until it has settled."""
    circuit = read_circuit(files("setwright.demo").joinpath("thimble", "circuit.toml").read_bytes(), None, "t").circuit
    means, _ = averages(circuit, tmp_path, 1.5)
    ours = operate(compile_network(circuit))
    for node in ours.network.nodes:
        assert ours.at(node) == pytest.approx(means[node], rel=RELATIVE, abs=ABSOLUTE), node


def test_before_a_choke_the_mean_is_what_the_choke_drops() -> None:
    """Its cusps are too sharp for a mean over ngspice's uneven steps (0.1 %); the direct drop says it exactly."""
    state = operate(compile_network(full_wave(choke_input=True)))
    assert state.at("B1") == pytest.approx(state.at("B2") * (1.0 + 300.0 / 5e3), rel=1e-5)


def test_steps_in_a_cycle_are_enough(monkeypatch: pytest.MonkeyPatch) -> None:
    coarse = operate(compile_network(half_wave())).at("B+")
    monkeypatch.setattr(steady, "STEPS", 4 * steady.STEPS)
    assert coarse == pytest.approx(operate(compile_network(half_wave())).at("B+"), rel=3e-4)
