"""Round a socket pin by pin, in an order that keeps the hand from high voltage as long as it can."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from setwright.circuits import Circuit, PointExpectation, UnknownPoint, node_of
from setwright.circuits.cautions import KILOVOLTS
from setwright.circuits.meters import RANGES
from setwright.circuits.sockets import CAP, Socket, SocketPin, sockets_of
from setwright.reference import tube_type
from setwright.workbench.services.circuits import ChartCase, Measured

HEATER_TOLERANCE = 0.1
"""Heaters are to be within a tenth of their rating. Common practice, no source."""

ROLES = {
    "plate": "plate",
    "grid1": "grid",
    "grid2": "screen",
    "grid3": "suppressor",
    "cathode": "cathode",
    "heater": "heater",
}


@dataclass(frozen=True, slots=True)
class Stop:
    """One reading on the way. pins : where it is taken: any of them, but of a heater across the two.

    point, reference : as the reading will be written; reference "" is the ground of the drawing.
    expected, low, high : SI; None where the drawing has no path at all. meter : with its range, "" without ranges.
    verified : False where a pin rests on memory alone. measured : the last reading there.
    """

    number: int
    pins: tuple[str, ...]
    label: str
    point: str
    reference: str
    quantity: str
    unit: str
    expected: float | None
    low: float | None
    high: float | None
    meter: str
    verified: bool
    measured: Measured | None


@dataclass(frozen=True, slots=True)
class PinPlace:
    """One pin as a table has it. stop : where it is measured; None with `why` it is not."""

    pin: SocketPin
    label: str
    stop: Stop | None
    why: str


@dataclass(frozen=True, slots=True)
class Walk:
    """A socket with its stops in the order of the walk, and every pin in the order of the base."""

    socket: Socket
    stops: tuple[Stop, ...]
    places: tuple[PinPlace, ...]

    @property
    def has_kilovolts(self) -> bool:
        """Whether a pin is left out because of kilovolts."""
        return any(place.why in (LEAVE, PULSES) for place in self.places)


LEAVE = "Kilovolts: leave it alone."
PULSES = "Pulses of kilovolts ride on it: leave it alone."
"""A plate on a top cap belongs to a sweep output or high-voltage tube (common practice, no source)."""


def walk_of(case: ChartCase, socket: Socket) -> Walk:
    """Heaters first, then what is nearest to the ground, high voltage last; kilovolts never."""
    off = case.expectation.condition == "off"
    points = {point.point: point for point in case.expectation.points}
    several = _several_sections(case.circuit, socket.ref)
    pulsed = pulsed_nodes(case.circuit)
    drafts: list[tuple[float, tuple[SocketPin, ...], PointExpectation | None]] = []
    why: dict[int, str] = {}
    if not off and len(socket.heater) == 2 and _heater_volts(socket) is not None:
        drafts.append((-1.0, socket.heater, None))
    for number, pin in enumerate(socket.pins):
        point = points.get(pin.node or "")
        if point is None:
            why[number] = _why(case.circuit, pin, off)
        elif leave := danger_of(point, pulsed):
            why[number] = leave
        else:
            joined = next((n for n, (_, pins, _) in enumerate(drafts) if _same_lead(pins[0], pin)), None)
            if joined is None:
                drafts.append((0.0 if off else abs(point.unloaded or point.value or 0.0), (pin,), point))
            else:
                drafts[joined] = (drafts[joined][0], (*drafts[joined][1], pin), point)
    drafts.sort(key=lambda draft: draft[0])
    stops = tuple(_stop(case, socket, n, pins, point, several) for n, (_, pins, point) in enumerate(drafts, 1))
    at = {pin: stop for (_, pins, _), stop in zip(drafts, stops, strict=True) for pin in pins}
    places = tuple(PinPlace(p, label_of(p, several), at.get(p), why.get(n, "")) for n, p in enumerate(socket.pins))
    return Walk(socket, stops, tuple(_without_why(place) for place in places))


def danger_of(point: PointExpectation, pulsed: Collection[str]) -> str:
    """Why a point is not read by hand, "" where it may be. pulsed : as `pulsed_nodes` has them."""
    if point.unit != "V":
        return ""
    if max(abs(point.low or 0.0), abs(point.high or 0.0), abs(point.unloaded or 0.0)) >= KILOVOLTS:
        return LEAVE
    return PULSES if point.point in pulsed else ""


def pulsed_nodes(circuit: Circuit) -> frozenset[str]:
    """Plates on a top cap, and what a coil joins to them, up to nodes that a capacitor or source holds to ground."""
    held = {
        node
        for part in circuit.parts
        if part.kind in ("capacitor", "source") and circuit.ground in part.nodes
        for node in part.nodes
    }
    held.add(circuit.ground)
    caps = (pin for socket in sockets_of(circuit) for pin in socket.pins if pin.number == CAP and pin.role == "plate")
    reached = {pin.node for pin in caps if pin.node is not None}
    coils = [set(part.nodes) for part in circuit.parts if part.kind in ("inductor", "winding")]
    while more := {node for coil in coils if coil & reached for node in coil} - reached - held:
        reached |= more
    return frozenset(reached)


def _same_lead(one: SocketPin, other: SocketPin) -> bool:
    """Whether two pins are the same electrode on the same node: one reading is enough."""
    same = (one.node, one.electrode, one.section) == (other.node, other.electrode, other.section)
    return same and bool(one.electrode) and bool(one.number)


def _without_why(place: PinPlace) -> PinPlace:
    return PinPlace(place.pin, place.label, place.stop, "") if place.stop is not None else place


def label_of(pin: SocketPin, several: bool) -> str:
    """What stands on a pin, in a word or two."""
    if not pin.role:
        return pin.label.split(" (")[0] if pin.label and not pin.label.startswith(("NC", "IC")) else "not used"
    word = ROLES[pin.role]
    if pin.role == "cathode" and ("common" in pin.label or "filament" in pin.label):
        return word  # of all sections
    if "grid3 (signal)" in pin.label:
        word = "signal grid"
    if pin.section.startswith("diode"):
        return f"{pin.section} {word}"
    return f"{word} {pin.section}" if several and pin.section in ("1", "2") else word


def _several_sections(circuit: Circuit, ref: str) -> bool:
    return len([tube for tube in circuit.tubes if tube.ref == ref]) > 1


def _why(circuit: Circuit, pin: SocketPin, off: bool) -> str:
    if pin.node == circuit.ground:
        return f"On {circuit.ground} itself."
    if pin.role == "heater":
        return "No reading of it belongs to this chart." if pin.node else "The drawing does not say where it goes."
    if pin.node is not None:
        return "No point of this chart." if off else "Alternating or unsteady: no direct voltage to read."
    return "Not drawn." if pin.role else ""


def _heater_volts(socket: Socket) -> float | None:
    known = tube_type(socket.type)
    return None if known is None else known.heater_volts


def _stop(
    case: ChartCase,
    socket: Socket,
    number: int,
    pins: tuple[SocketPin, ...],
    point: PointExpectation | None,
    several: bool,
) -> Stop:
    if point is None:
        return _heater_stop(case, socket, number, pins)
    pin = pins[0]
    return Stop(
        number=number,
        pins=tuple(one.number for one in pins),
        label=label_of(pin, several),
        point=_name(case.circuit, socket.ref, pin),
        reference="",
        quantity=point.quantity,
        unit=point.unit,
        expected=point.value,
        low=point.low,
        high=point.high,
        meter=point.meter or "",
        verified=all(one.verified for one in pins),
        measured=latest_at(case, point.point),
    )


def _heater_stop(case: ChartCase, socket: Socket, number: int, pins: tuple[SocketPin, ...]) -> Stop:
    volts = _heater_volts(socket)
    assert volts is not None
    known = tube_type(socket.type)
    assert known is not None
    first, second = pins[0].node or "", pins[1].node or ""
    scale = next((r for r in RANGES if r >= volts * (1 + HEATER_TOLERANCE)), RANGES[-1])
    taken = [m for m in case.measured if m.written.quantity == "volts_ac" and m.written.condition == "on"]
    here = [m for m in taken if {m.written.point, m.written.reference or case.circuit.ground} == {first, second}]
    return Stop(
        number=number,
        pins=tuple(pin.number for pin in pins),
        label="heater",
        point=first,
        reference=second,
        quantity="volts_ac",
        unit="V",
        expected=volts,
        low=volts * (1.0 - HEATER_TOLERANCE),
        high=volts * (1.0 + HEATER_TOLERANCE),
        meter=f"alternating volts@{scale:g}",
        verified=all(pin.verified for pin in pins) and known.heater_evidence != "from memory",
        measured=here[-1] if here else None,
    )


def _name(circuit: Circuit, ref: str, pin: SocketPin) -> str:
    """The pin's own name, by which its reading is known; its node's where that is not clear."""
    for name in (f"{ref}.{pin.electrode}", f"{ref}.{pin.electrode}-{pin.section}"):
        try:
            if node_of(circuit, name) == pin.node:
                return name
        except UnknownPoint:
            continue
    return pin.node or ""


def latest_at(case: ChartCase, node: str) -> Measured | None:
    """The last reading at a node that belongs to this chart."""
    wanted = ("ohms", "off") if case.expectation.condition == "off" else ("volts", "on")
    found = None
    for measured in case.measured:
        kind = measured.written.quantity, measured.written.condition
        if measured.node == node and kind == wanted and measured.reading.reference == case.circuit.ground:
            found = measured
    return found
