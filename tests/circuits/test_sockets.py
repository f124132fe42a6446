"""Sockets from below: pins at their places, electrodes on their nodes, the walk from low to high."""

from __future__ import annotations

from functools import cache
from importlib.resources import files

import pytest
from drawings import two_stages

from setwright.circuits import Circuit, Expectation, expect, socket_view
from setwright.files.circuits.reading import read_circuit
from setwright.reference import base_of, tube_type, tube_types


@cache
def demo(folder: str) -> tuple[Circuit, Expectation]:
    text = files("setwright.demo").joinpath(folder, "circuit.toml").read_bytes()
    circuit = read_circuit(text, None, folder).circuit
    return circuit, expect(circuit)


def test_a_beam_tubes_pins_are_those_of_its_sheet() -> None:
    circuit = two_stages()
    view = socket_view(circuit, expect(circuit), "V2")
    nodes = {pin.number: pin.node for pin in view.pins}
    assert (view.base, len(view.pins), view.verified) == ("octal", 8, True)
    assert (nodes["3"], nodes["4"], nodes["5"], nodes["8"]) == ("V2.plate", "B+", "V2.grid", "V2.cathode")
    assert nodes["2"] is None
    assert view.walk == ("5", "8", "3", "4")


def test_combinations_find_their_sections() -> None:
    circuit, answer = demo("thimble")
    view = socket_view(circuit, answer, "V3")
    nodes = {pin.number: pin.node for pin in view.pins}
    assert nodes["1"] == "V3.grid"
    assert nodes["7"] == "V3.plate"
    assert nodes["5"] == nodes["6"] == "V3.diode"
    assert nodes["2"] == "B-"
    assert not view.verified, "the pins of a 12AT6 are from memory"


@pytest.mark.parametrize("folder", ["sedgewater", "thimble", "lanternmoor"])
def test_every_electrode_of_the_demonstration_has_its_pin(folder: str) -> None:
    circuit, answer = demo(folder)
    for ref in {tube.ref for tube in circuit.tubes}:
        view = socket_view(circuit, answer, ref)
        shown = {pin.node for pin in view.pins}
        drawn = {node for t in circuit.tubes if t.ref == ref for _, node in t.electrodes}
        assert drawn <= shown, ref
        volts = [abs(p.expected.value) for n in view.walk for p in view.pins if p.number == n]
        assert volts == sorted(volts)


def test_pins_stand_apart() -> None:
    for name in ("octal", "loctal", "7-pin miniature", "9-pin miniature", "UX4", "UX6"):
        base = base_of(name)
        places = [base.degrees(pin) for pin in range(1, base.pins + 1)]
        assert places == sorted(places)
        assert 0.0 < places[0] <= places[-1] < 360.0
        assert 360.0 - places[-1] == pytest.approx(places[0])


def test_every_base_of_the_tables_is_known() -> None:
    assert {name for name in tube_types() if base_of(tube_type(name).base) is None} == set()
    with pytest.raises(KeyError):
        socket_view(two_stages(), expect(two_stages()), "V9")
