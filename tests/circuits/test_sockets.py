"""Which node stands on which pin."""

from __future__ import annotations

import pytest

from setwright.circuits import Circuit, Part, Tube
from setwright.circuits.sockets import SocketPin, sockets_of
from setwright.reference import tube_base, tube_type, tube_types


def circuit(*tubes: Tube) -> Circuit:
    nodes = dict.fromkeys(node for tube in tubes for _, node in tube.electrodes)
    parts = [
        Part(f"R{n}", "resistor", (node, "chassis"), value=1e5) for n, node in enumerate(nodes) if node != "chassis"
    ]
    return Circuit("drawn", "chassis", tuple(parts), tubes)


def by_number(*tubes: Tube) -> dict[str, SocketPin]:
    return {pin.number: pin for pin in sockets_of(circuit(*tubes))[0].pins}


BEAM = Tube(
    "V6",
    "6V6GT",
    (("plate", "P"), ("grid1", "G"), ("grid2", "S"), ("cathode", "K")),
    heater=("H1", "H2"),
)


def test_each_electrode_of_a_beam_tube_finds_its_pin() -> None:
    # 6V6GT, basing 7AC: 2 and 7 heater, 3 plate, 4 screen, 5 control grid, 8 cathode (tube manual rows of the tables)
    pins = by_number(BEAM)
    assert {n: pins[n].node for n in ("2", "3", "4", "5", "7", "8")} == {
        "2": "H1",
        "3": "P",
        "4": "S",
        "5": "G",
        "7": "H2",
        "8": "K",
    }
    assert pins["1"].node is None


def test_a_pin_that_the_table_does_not_list_is_there_and_unverified() -> None:
    pin = by_number(BEAM)["6"]
    assert (pin.label, pin.node, pin.verified) == ("", None, False)


def test_twin_sections_keep_apart() -> None:
    twin = [
        Tube("V2", "6SN7GT", (("plate", f"P{n}"), ("grid", f"G{n}"), ("cathode", f"K{n}")), section=str(n))
        for n in (1, 2)
    ]
    pins = by_number(*twin)
    assert [pins[n].node for n in "123456"] == ["G2", "P2", "K2", "G1", "P1", "K1"]
    assert pins["5"].section == "1"


def test_diodes_of_a_combination_go_to_their_own_pins_and_share_the_cathode() -> None:
    tubes = [
        Tube("V3", "6AT6", (("plate", "P"), ("grid", "G"), ("cathode", "K")), section="triode"),
        Tube("V3", "6AT6", (("plate", "D1"), ("cathode", "K")), section="diode 1"),
        Tube("V3", "6AT6", (("plate", "D2"), ("cathode", "K")), section="diode 2"),
    ]
    pins = by_number(*tubes)
    assert (pins["1"].node, pins["2"].node, pins["5"].node, pins["6"].node, pins["7"].node) == (
        "G",
        "K",
        "D2",
        "D1",
        "P",
    )


def test_a_filament_that_is_the_cathode_is_where_the_voltage_comes_out() -> None:
    halves = [Tube("V5", "5Y3GT", (("plate", f"A{n}"), ("cathode", "B0")), section=str(n)) for n in (1, 2)]
    pins = by_number(*halves)
    assert pins["2"].node == pins["8"].node == "B0"
    assert (pins["4"].node, pins["6"].node) == ("A2", "A1")


def test_a_type_without_a_table_row_has_its_electrodes_and_no_numbers() -> None:
    socket = sockets_of(circuit(Tube("V1", "rare-triode", (("plate", "P"), ("grid", "G"), ("cathode", "K")))))[0]
    assert socket.base == ""
    assert [(pin.number, pin.node, pin.verified) for pin in socket.pins] == [
        ("", "P", False),
        ("", "G", False),
        ("", "K", False),
    ]


def test_a_pin_from_memory_says_so() -> None:
    pins = by_number(Tube("V1", "12BE6", (("plate", "P"), ("grid1", "G"), ("cathode", "K"))))
    assert not pins["5"].verified
    assert pins["5"].node == "P"


@pytest.mark.parametrize("name", tube_types())
def test_every_type_of_the_tables_has_a_socket_that_can_be_drawn(name: str) -> None:
    known = tube_type(name)
    assert known is not None
    socket = sockets_of(circuit(Tube("V1", name, (("plate", "P"), ("cathode", "chassis")))))[0]
    if known.pins:
        base = tube_base(socket.base)
        assert base is not None
        assert len([pin for pin in socket.pins if pin.number.isdecimal()]) == base.pins
        assert len({pin.number for pin in socket.pins}) == len(socket.pins)
