"""Sockets: which electrode of a drawing, and so which node, stands on which pin of a tube's base."""

from __future__ import annotations

import re
from dataclasses import dataclass

from setwright.circuits.drawing import Circuit, Tube
from setwright.reference import Pin, tube_base, tube_type

CAP = "cap"
_ALIASES = {
    "grid1": ("grid1", "grid"),
    "grid2": ("grid2",),
    "grid3": ("grid3",),
    "plate": ("plate",),
    "cathode": ("cathode",),
}
_SPOKEN = (
    ("cathode", "cathode"),
    ("grid1", "grid1"),
    ("screen", "grid2"),
    ("grid3", "grid3"),
    ("plate", "plate"),
    ("anode", "plate"),
)


@dataclass(frozen=True, slots=True)
class SocketPin:
    """One pin. number : as the base counts, "cap" for a top cap, "" where the type's base is not in the tables.

    label : the electrode as the sheet names it, "" for a pin it does not list. role : plate, grid1, grid2, grid3,
    cathode, heater, or "" for what the drawing has no node for. electrode : as the drawing names it, "" where it is
    not drawn. node : the node it is on, None where it is not drawn. verified : False where memory alone says so.
    """

    number: str
    label: str
    role: str
    section: str
    electrode: str
    node: str | None
    verified: bool


@dataclass(frozen=True, slots=True)
class Socket:
    """A tube's socket. base : "" where the type is not in the tables. has_cap : a lead comes to its top."""

    ref: str
    type: str
    base: str
    pins: tuple[SocketPin, ...]

    @property
    def heater(self) -> tuple[SocketPin, ...]:
        """The two ends of its heater, where the drawing has them."""
        return tuple(pin for pin in self.pins if pin.role == "heater" and pin.node is not None)


def sockets_of(circuit: Circuit) -> tuple[Socket, ...]:
    """The socket of every tube, in the order of the drawing."""
    refs = dict.fromkeys(tube.ref for tube in circuit.tubes)
    return tuple(_socket(tuple(tube for tube in circuit.tubes if tube.ref == ref)) for ref in refs)


def _socket(sections: tuple[Tube, ...]) -> Socket:
    first = sections[0]
    known = tube_type(first.type)
    if known is None or not known.pins:
        return Socket(first.ref, first.type, "", tuple(_unlisted(sections)))
    base = known.base.partition(" + ")[0]
    ends = [node for tube in sections if tube.heater for node in tube.heater]
    pins, lit = [], 0
    for pin in known.pins:
        role = _role(pin.electrode)
        if role == "heater":
            node = ends[lit] if lit < min(2, len(ends)) else None
            lit += 1
            pins.append(SocketPin(pin.number, pin.electrode, role, "", "", node, pin.verified))
        else:
            pins.append(_pin(sections, pin, role))
    listed = {pin.number for pin in pins}
    of_base = tube_base(base)
    free = [str(n) for n in range(1, (of_base.pins if of_base else 0) + 1) if str(n) not in listed]
    pins += [SocketPin(number, "", "", "", "", None, False) for number in free]
    return Socket(first.ref, first.type, base, tuple(sorted(pins, key=_in_order)))


def _in_order(pin: SocketPin) -> tuple[bool, int]:
    return not pin.number.isdecimal(), int(pin.number) if pin.number.isdecimal() else 0


def _role(label: str) -> str:
    """What a sheet's name of an electrode is in a drawing; "" for shells, taps, shields and pins left free."""
    words = label.lower()
    if "cathode" not in words and ("heater" in words or "filament" in words):
        return "" if "tap" in words else "heater"
    if words.startswith(("nc", "ic", "shell", "jumper", "internal shield", "target")):
        return ""
    return next((role for name, role in _SPOKEN if name in words), "")


def _pin(sections: tuple[Tube, ...], pin: Pin, role: str) -> SocketPin:
    for tube in _likely(sections, pin):
        drawn = dict(tube.electrodes)
        for name in _ALIASES.get(role, ()):
            if name in drawn:
                return SocketPin(pin.number, pin.electrode, role, tube.section, name, drawn[name], pin.verified)
    return SocketPin(pin.number, pin.electrode, role, pin.section, "", None, pin.verified)


def _likely(sections: tuple[Tube, ...], pin: Pin) -> list[Tube]:
    """The sections that a pin can belong to; a common cathode belongs to all of them."""
    words = pin.electrode.lower()
    named = {tube.section: tube for tube in sections}
    if "diode plate" in words:
        return [named[s] for s in (f"diode {pin.section}".strip(), "diode") if s in named]
    if in_brackets := re.search(r"\((triode|pentode|diode)\)", words):
        return [tube for tube in sections if tube.section in (in_brackets[1], "")]
    if pin.section in ("1", "2"):
        return [tube for tube in sections if tube.section in (pin.section, "")]
    amplifying = [tube for tube in sections if not tube.section.startswith("diode")]
    return [*amplifying, *(tube for tube in sections if tube not in amplifying)]


def _unlisted(sections: tuple[Tube, ...]) -> list[SocketPin]:
    """The electrodes as drawn, for a type whose pins the tables do not have."""
    return [
        SocketPin("", name, {"grid": "grid1"}.get(name, name), tube.section, name, node, False)
        for tube in sections
        for name, node in tube.electrodes
    ]
