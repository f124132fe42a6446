"""Which nodes alternate with the line, which carry a direct voltage behind rectifiers, and what lies between them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from setwright.circuits.drawing import Circuit, Part, Tube
from setwright.circuits.tubes.models import TubeModel

FILTER_FARADS = 1e-6
"""From this capacitance on, the far end of a choke belongs to the supply; smaller ones couple signals."""

_RESISTIVE = ("resistor", "inductor", "switch", "lamp")


@dataclass(frozen=True, slots=True)
class SupplyLayout:
    """The alternating side of a circuit and where it meets the direct side.

    alternating : nodes that swing with the line; they are no points of a voltage chart and have no unknown on the
        direct side. boundary : the nodes of direct voltage that the rectifiers feed, or that a winding returns to.
    reservoirs : those boundary nodes at which a rectifier ends. parts : the parts that belong to this side.
    diodes : (name, plate node, cathode node) of the rectifying elements, in the order of `rectifiers`.
    rectifiers : rectifier parts and tubes behind these names. heaters : windings that only light heaters.
    """

    alternating: tuple[str, ...]
    boundary: tuple[str, ...]
    reservoirs: tuple[str, ...]
    parts: tuple[Part, ...]
    diodes: tuple[tuple[str, str, str], ...]
    rectifiers: tuple[Part | Tube, ...]
    heaters: tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class _Diode:
    name: str
    plate: str
    cathode: str
    of: Part | Tube

    @property
    def ends(self) -> tuple[str, str]:
        return self.plate, self.cathode


def supply_layout(circuit: Circuit, models: tuple[TubeModel, ...]) -> SupplyLayout:
    """Sort out the alternating side of a sound circuit. models : one for each tube."""
    heaters = _heater_windings(circuit)
    sources = [p for p in circuit.parts if p.kind in ("winding", "line") and p not in heaters]
    diodes = _diodes(circuit, models)
    ground = {circuit.ground}
    alternating = _alternating(circuit, sources, diodes)
    fed = _behind(diodes, alternating) - ground
    returns = {p.nodes[1] for p in sources} - alternating - ground
    leaks = {
        node
        for p in circuit.parts
        if p.kind in (*_RESISTIVE, "potentiometer") and set(p.nodes) & alternating
        for node in set(p.nodes) - alternating - ground
    }
    boundary = fed | returns | leaks
    boundary |= _chokes_ends(circuit, boundary) - ground
    inside = alternating | boundary | ground
    kept = [d for d in diodes if set(d.ends) & alternating]
    parts = [
        p for p in circuit.parts if p not in heaters and set(p.nodes) <= inside and _belongs(p, alternating, boundary)
    ]
    order = {name: place for place, name in enumerate(circuit.nodes)}
    return SupplyLayout(
        alternating=tuple(sorted(alternating, key=order.__getitem__)),
        boundary=tuple(sorted(boundary, key=order.__getitem__)),
        reservoirs=tuple(sorted(fed, key=order.__getitem__)),
        parts=tuple(parts),
        diodes=tuple((d.name, *d.ends) for d in kept),
        rectifiers=tuple(d.of for d in kept),
        heaters=heaters,
    )


def _heater_windings(circuit: Circuit) -> tuple[Part, ...]:
    """Windings of which both ends are heater nodes; a directly heated rectifier's stands at B+."""
    lit = {node for tube in circuit.tubes if tube.heater for node in tube.heater}
    return tuple(p for p in circuit.parts if p.kind == "winding" and set(p.nodes) <= lit)


def _diodes(circuit: Circuit, models: tuple[TubeModel, ...]) -> list[_Diode]:
    found = [_Diode(p.ref, p.nodes[0], p.nodes[1], p) for p in circuit.parts if p.kind == "rectifier"]
    for tube, model in zip(circuit.tubes, models, strict=True):
        plate, cathode = tube.node("plate"), tube.node("cathode")
        if model.kind == "diode" and plate is not None and cathode is not None:
            found.append(_Diode(tube.name, plate, cathode, tube))
    return found


def _alternating(circuit: Circuit, sources: list[Part], diodes: list[_Diode]) -> set[str]:
    """First nodes of the sources, second ones where a rectifier is, and what only a chain of resistance parts off."""
    rectified = {end for d in diodes for end in d.ends}
    found = {p.nodes[0] for p in sources} | {p.nodes[1] for p in sources if p.nodes[1] in rectified}
    found.discard(circuit.ground)
    while True:
        more = _chained(circuit, found) | _coupled(circuit, found, diodes)
        if more <= found:
            return found
        found |= more


def _chained(circuit: Circuit, found: set[str]) -> set[str]:
    """Nodes that fuses, switches and surge resistors part from the source, and nothing else holds."""
    stop = found | {circuit.ground}
    groups = _Groups(set(circuit.nodes) - stop)
    bound: set[str] = set()
    for tube in circuit.tubes:
        if tube.node("grid", "grid1", "grid2") is not None:
            bound.update(node for _, node in tube.electrodes)
    for part in circuit.parts:
        if part.kind in ("source", "load"):
            bound.update(part.nodes)
        if part.kind in (*_RESISTIVE, "potentiometer"):
            groups.join([node for node in part.nodes if node not in stop])
            if circuit.ground in part.nodes:
                bound.update(part.nodes)
        if part.kind == "capacitor" and (part.value or 0.0) >= FILTER_FARADS:
            bound.update(part.nodes)
    held = {groups.of(node) for node in bound if node in groups}
    reached: set[str] = set()
    for part in circuit.parts:
        if part.kind in _RESISTIVE and set(part.nodes) & found:
            reached |= {node for node in part.nodes if node in groups and groups.of(node) not in held}
    return {node for node in groups.nodes if groups.of(node) in {groups.of(r) for r in reached}}


def _coupled(circuit: Circuit, found: set[str], diodes: list[_Diode]) -> set[str]:
    """A doubler's node between two rectifiers, which a capacitor hangs on the source."""
    rectified = {end for d in diodes for end in d.ends}
    fed = _behind(diodes, found)
    ends: set[str] = set()
    for part in circuit.parts:
        if part.kind == "capacitor" and set(part.nodes) & found:
            ends |= set(part.nodes) & rectified
    return ends - found - fed - {circuit.ground}


def _behind(diodes: list[_Diode], alternating: set[str]) -> set[str]:
    return {end for d in diodes if set(d.ends) & alternating for end in d.ends} - alternating


def _chokes_ends(circuit: Circuit, boundary: set[str]) -> set[str]:
    """Far ends of chokes that start at the supply and end at a filter capacitor."""
    filtered = {
        node for p in circuit.parts if p.kind == "capacitor" and (p.value or 0.0) >= FILTER_FARADS for node in p.nodes
    }
    found: set[str] = set()
    while True:
        more = {
            node
            for p in circuit.parts
            if p.kind == "inductor" and p.value and set(p.nodes) & (boundary | found)
            for node in set(p.nodes) & filtered
        } - boundary
        if more <= found:
            return found
        found |= more


def _belongs(part: Part, alternating: set[str], boundary: set[str]) -> bool:
    """Whether a part with both ends on this side is solved here and not on the direct side."""
    ends = set(part.nodes)
    if ends & alternating:
        return part.kind in ("winding", "line", "capacitor", "potentiometer", *_RESISTIVE)
    if not ends & boundary:
        return False
    both = len(ends & boundary) == 2
    return part.kind in ("winding", "line", "capacitor") or (part.kind == "inductor" and both and bool(part.value))


class _Groups:
    """Which nodes hang together."""

    def __init__(self, nodes: Iterable[str]) -> None:
        self.nodes = set(nodes)
        self._parent = {node: node for node in self.nodes}

    def __contains__(self, node: str) -> bool:
        return node in self._parent

    def of(self, node: str) -> str:
        while self._parent[node] != node:
            node = self._parent[node]
        return node

    def join(self, nodes: Iterable[str]) -> None:
        names = list(nodes)
        for other in names[1:]:
            self._parent[self.of(other)] = self.of(names[0])
