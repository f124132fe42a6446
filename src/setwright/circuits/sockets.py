"""A tube's socket seen from below, pin by pin, with what is expected at each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from setwright.circuits.answer import Expectation, PointExpectation
from setwright.circuits.drawing import Circuit, Tube
from setwright.reference import Pin, base_of, tube_type

CAP = "cap"
_MEANINGS = (
    ("plate (triode)", "plate"),
    ("diode plate", "plate"),
    ("plate", "plate"),
    ("anode", "plate"),
    ("grid1", "grid1"),
    ("screen grid", "grid2"),
    ("grid3", "grid3"),
    ("suppressor", "grid3"),
    ("heater and cathode", "cathode"),
    ("filament (cathode", "cathode"),
    ("cathode", "cathode"),
    ("heater", "heater"),
    ("filament", "heater"),
)
"""How a sheet's words for an electrode begin, and what it is called in a circuit."""


@dataclass(frozen=True, slots=True)
class SocketPin:
    """One pin. degrees : clockwise from the key at the top, seen from below; None for the top cap.

    electrode : as the type's sheet names it, "" where the pin is not used. node : what it is on, None where the
    drawing does not say. verified : False where the pin's electrode rests on memory alone: check it against a tube
    manual before a probe goes there. expected : the chart's point.
    """

    number: str
    degrees: float | None
    electrode: str
    node: str | None
    verified: bool
    expected: PointExpectation | None


@dataclass(frozen=True, slots=True)
class SocketView:
    """A socket seen from below. walk : the numbers of the pins to measure, the lowest voltage first.

    base : None where the type's base is not in the tables; then there are no pins.
    """

    ref: str
    type: str
    base: str | None
    keyed_by: str
    pins: tuple[SocketPin, ...]
    walk: tuple[str, ...]

    @property
    def verified(self) -> bool:
        """Whether no pin that is to be measured rests on memory alone."""
        return all(pin.verified for pin in self.pins if pin.number in self.walk)


def socket_view(circuit: Circuit, answer: Expectation, ref: str) -> SocketView:
    """The socket of one tube with the points of an answer at its pins. KeyError for a reference without a tube.

    Pins are walked from the lowest expected voltage to the highest, so that a slip costs least while the hand is new
    to the place; ground, heater and unused pins are left out. Two pins on one node are measured once.
    """
    sections = [tube for tube in circuit.tubes if tube.ref == ref]
    if not sections:
        raise KeyError(ref)
    name = sections[0].type
    known = tube_type(name)
    base = None if known is None else base_of(known.base)
    if known is None or base is None:
        return SocketView(ref, name, None, "", (), ())
    points = {point.point: point for point in answer.points}
    by_number = {pin.number: pin for pin in known.pins}
    numbers = [str(n) for n in range(1, base.pins + 1)] + ([CAP] if base.cap or CAP in by_number else [])
    pins = tuple(
        _pin(number, None if number == CAP else base.degrees(int(number)), by_number.get(number), sections, points)
        for number in numbers
    )
    return SocketView(ref, name, base.name, base.keyed_by, pins, _walk(pins))


def _pin(
    number: str,
    degrees: float | None,
    pin: Pin | None,
    sections: Sequence[Tube],
    points: dict[str, PointExpectation],
) -> SocketPin:
    if pin is None:
        return SocketPin(number, degrees, "", None, True, None)
    node = _node(pin, sections)
    return SocketPin(number, degrees, pin.electrode, node, pin.verified, None if node is None else points.get(node))


def _node(pin: Pin, sections: Sequence[Tube]) -> str | None:
    """The node of the electrode that a pin carries, by its words and its section."""
    meaning = next((ours for words, ours in _MEANINGS if pin.electrode.startswith(words)), None)
    if meaning is None or meaning == "heater":
        return None
    wanted = f"diode {pin.section}" if pin.electrode == "diode plate" else pin.section
    if pin.electrode in ("plate (triode)", "grid1 (triode)"):
        wanted = "triode"
    names = {"grid1": ("grid1", "grid")}.get(meaning, (meaning,))
    for tube in sections:
        own = tube.section in ("", wanted) or (not wanted and (meaning == "cathode" or len(sections) == 1))
        if own and (node := tube.node(*names)) is not None:
            return node
    return None


def _walk(pins: Sequence[SocketPin]) -> tuple[str, ...]:
    nodes: set[str] = set()
    first_on_node = []
    for pin in pins:
        if pin.expected is not None and pin.expected.value is not None and pin.node not in nodes:
            nodes.add(pin.node or "")
            first_on_node.append(pin)
    return tuple(pin.number for pin in sorted(first_on_node, key=lambda p: abs(_volts(p))))


def _volts(pin: SocketPin) -> float:
    assert pin.expected is not None
    return pin.expected.value or 0.0
