"""Operating points: balance, known answers, many at once, and what does not converge."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from drawings import battery, full_wave, half_wave, many_kinds, r, tube, two_stages
from hypothesis import given, settings
from hypothesis import strategies as st

from setwright.circuits import Circuit, compile_network, operate, solve
from setwright.circuits.newton import dense, device_currents, jacobian, residual
from setwright.circuits.operating import unbalanced
from setwright.circuits.supplies.steady import SupplyChanges

CIRCUITS = [two_stages(), many_kinds(), half_wave(), full_wave()]


@pytest.mark.parametrize("circuit", CIRCUITS, ids=lambda c: c.id)
def test_currents_balance_at_every_node(circuit: Circuit) -> None:
    assert unbalanced(operate(compile_network(circuit))) < 1e-9


def test_a_divider_divides() -> None:
    circuit = Circuit(
        "d", "g", (battery("B", 90.0, "a", "g", ohms=1e3), r("R1", 2e3, "a", "b"), r("R2", 6e3, "b", "g"))
    )
    state = operate(compile_network(circuit))
    assert (state.at("a"), state.at("b")) == pytest.approx((80.0, 60.0), rel=1e-6)


@pytest.mark.parametrize("circuit", [two_stages(), many_kinds()], ids=lambda c: c.id)
def test_slopes_are_those_of_the_currents(circuit: Circuit) -> None:
    network = compile_network(circuit)
    state = operate(network)
    variants = replace(state.variants, tubes=replace(state.variants.tubes, gas=state.variants.tubes.gas + 0.01))
    volts = state.volts + np.random.default_rng(1).normal(0.0, 0.2, state.volts.shape)
    _, (_, slopes) = residual(network, variants, volts)
    matrix = dense(network, jacobian(network, variants, slopes, 1))[0]
    for node in range(len(network.nodes)):
        step = np.zeros_like(volts)
        step[node] = 1e-5
        up, down = (residual(network, variants, volts + sign * step)[0] for sign in (1.0, -1.0))
        measured = (up - down)[:, 0] / 2e-5
        assert matrix[:, node] == pytest.approx(measured, rel=1e-4, abs=1e-10)


@settings(max_examples=20)
@given(seed=st.integers(0, 10**6))
def test_many_at_once_are_as_one_by_one(seed: int) -> None:
    rng = np.random.default_rng(seed)
    network = compile_network(many_kinds())
    nominal = operate(network)
    variants = nominal.variants
    many = replace(variants, siemens=variants.siemens * np.exp(rng.normal(0.0, 0.3, (len(network.branches), 5))))
    together = solve(network, many, nominal.volts)
    assert together.converged.all()
    for n in range(5):
        alone = solve(network, many.columns(np.array([n])))
        assert together.volts[:, n] == pytest.approx(alone.volts[:, 0], abs=1e-5)


def test_two_faults_at_a_time_converge() -> None:
    """Opens and shorts at random, two in each of 400 variants; all of them have an operating point."""
    network = compile_network(two_stages())
    nominal = operate(network)
    rng = np.random.default_rng(3)
    siemens = np.repeat(nominal.variants.siemens, 400, axis=1)
    parts = [n for n, b in enumerate(network.branches) if b.what in ("", "leak")]
    for variant in range(400):
        for branch in rng.choice(parts, 2, replace=False):
            siemens[branch, variant] = rng.choice([1e-12, 10.0])
    solved = solve(network, replace(nominal.variants, siemens=siemens), nominal.volts)
    assert solved.converged.all()


def test_a_gassy_grid_goes_positive() -> None:
    network = compile_network(two_stages())
    tubes = operate(network).variants.tubes
    gassy = replace(network.nominal(), tubes=replace(tubes, gas=np.array([[0.0], [0.0], [1e-4]])))
    assert operate(network, gassy).at("V2.grid") > operate(network).at("V2.grid") + 0.5


def test_heater_cathode_leakage_pulls_an_open_cathode_down() -> None:
    network = compile_network(two_stages())
    variants = network.nominal()
    leak = network.branch["V2", "heater"]
    siemens = variants.siemens.copy()
    siemens[network.branch["R4", ""]] = 1e-12
    open_cathode = operate(network, replace(variants, siemens=siemens)).at("V2.cathode")
    siemens = siemens.copy()
    siemens[leak] = 1.0 / 50e3
    assert operate(network, replace(variants, siemens=siemens)).at("V2.cathode") < open_cathode
    assert operate(network).at("V2.cathode") < open_cathode


def test_a_dead_tube_draws_nothing() -> None:
    network = compile_network(two_stages())
    dead = replace(network.nominal(), tubes=replace(network.nominal().tubes, strength=np.array([[1.0], [1.0], [0.0]])))
    state = operate(network, dead)
    currents, _ = device_currents(network, state.volts, state.variants.tubes)
    assert state.at("V2.cathode") == pytest.approx(0.0, abs=1e-6)
    assert len(currents) > 0


def test_supplies_follow_what_is_changed_in_them() -> None:
    network = compile_network(half_wave())
    sound = operate(network)
    weak = operate(network, changes=SupplyChanges({"V5": 0.4}, {}, {}))
    open_capacitor = operate(network, changes=SupplyChanges({}, {"C1": 0.0}, {}))
    assert weak.at("B+") < sound.at("B+") - 5.0
    assert open_capacitor.at("B+") < 0.6 * sound.at("B+")


def test_what_a_supply_depends_on_is_what_changing_it_does() -> None:
    network = compile_network(half_wave())
    sound = operate(network)
    moved = dict(zip(sound.waves.movers, sound.waves.moved[:, 0], strict=True))
    fall = 1.0 / sound.waves.siemens[0, 0]
    for (name, what), change in (
        (("V5", "strength"), SupplyChanges({"V5": 1.02}, {}, {})),
        (("RS", "ohms"), SupplyChanges({}, {}, {"RS": 1.02})),
        (("C1", "farads"), SupplyChanges({}, {"C1": 1.02}, {})),
    ):
        other = operate(network, changes=change)
        drawn = other.waves.amps[0] - sound.waves.amps[0]
        measured = (other.at("B+") - sound.at("B+") + fall * drawn) / np.log(1.02)
        assert moved[name, what] == pytest.approx(measured, rel=0.03), name


@settings(max_examples=15)
@given(line=st.floats(0.5, 140.0))
def test_any_line_voltage_has_an_operating_point(line: float) -> None:
    state = operate(compile_network(half_wave(), line_volts=line))
    assert 0.0 <= state.at("B2") <= state.at("B+") <= line * 2**0.5


def test_a_supply_without_a_line_gives_nothing() -> None:
    assert operate(compile_network(half_wave(), line_volts=0.0)).at("B+") == pytest.approx(0.0, abs=0.02)


def test_a_regulator_holds() -> None:
    def regulated(volts: float) -> float:
        parts = (battery("B", volts, "B+", "g"), r("R", 5e3, "B+", "reg"), r("L", 20e3, "reg", "g"))
        circuit = Circuit("r", "g", parts, (tube("V1", "0D3", plate="reg", cathode="g"),))
        return operate(compile_network(circuit)).at("reg")

    assert regulated(250.0) == pytest.approx(150.0, abs=3.0)
    assert regulated(280.0) - regulated(250.0) < 1.0
    assert regulated(120.0) == pytest.approx(96.0, rel=1e-3)


def test_capacitors_carry_no_direct_current() -> None:
    circuit = two_stages()
    without = replace(circuit, parts=tuple(p for p in circuit.parts if p.kind != "capacitor"))
    with_them, bare = operate(compile_network(circuit)), operate(compile_network(without))
    assert [with_them.at(n) for n in with_them.network.nodes] == pytest.approx(
        [bare.at(n) for n in with_them.network.nodes], abs=1e-6
    )
