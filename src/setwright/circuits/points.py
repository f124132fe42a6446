"""Points of a circuit: nodes, the pins on them, and the names by which readings call them."""

from __future__ import annotations

from setwright.circuits.answer import Driver
from setwright.circuits.drawing import Circuit
from setwright.circuits.network import Network
from setwright.circuits.problems import UnknownPoint

MOST_DRIVERS = 4


def pins_on(circuit: Circuit, node: str) -> tuple[tuple[str, str, str], ...]:
    """Tube, section and electrode of every electrode on a node."""
    return tuple((t.ref, t.section, name) for t in circuit.tubes for name, n in t.electrodes if n == node)


def node_of(circuit: Circuit, point: str) -> str:
    """The node that a point means: a node's name, or REF.electrode, with -section where a type has several.

    Raises UnknownPoint where the circuit has neither, or several such electrodes on different nodes.
    """
    if point in circuit.nodes:
        return point
    ref, _, rest = point.rpartition(".")
    electrode, _, section = rest.partition("-")
    hits = {
        node
        for tube in circuit.tubes
        if tube.ref == ref and (not section or tube.section == section)
        for name, node in tube.electrodes
        if electrode in (name, {"grid": "grid1", "grid1": "grid", "screen": "grid2"}.get(name))
        or (electrode == "screen" and name == "grid2")
    }
    if len(hits) == 1:
        return hits.pop()
    if hits:
        sections = ", ".join(t.section for t in circuit.tubes if t.ref == ref)
        raise UnknownPoint(point, f'several sections of {ref} have a {electrode}; write "{point}-section": {sections}')
    raise UnknownPoint(point, f'the circuit has no point "{point}"; {_what_there_is(circuit, ref)}')


def _what_there_is(circuit: Circuit, ref: str) -> str:
    electrodes = [f"{t.ref}.{name}" for t in circuit.tubes if t.ref == ref for name, _ in t.electrodes]
    if electrodes:
        return f"{ref} has {', '.join(dict.fromkeys(electrodes))}"
    names = [node for node in circuit.nodes if node != circuit.ground]
    return f"its points are {', '.join(names[:12])}{' …' if len(names) > 12 else ''}"


def live_points(network: Network) -> list[str]:
    """The nodes of a voltage chart: those with a direct voltage, without ground and the line's own return."""
    returns = _line_returns(network.circuit)
    return [node for node in network.nodes if node not in returns]


def _line_returns(circuit: Circuit) -> set[str]:
    """What only a line switch, closed, parts from ground on the line's second side."""
    ends = {p.nodes[1] for p in circuit.parts if p.kind == "line"} - {circuit.ground}
    return {
        end
        for end in ends
        if all(p.kind in ("line", "switch", "capacitor") for p in circuit.parts if end in p.nodes)
        and any(p.kind == "switch" and p.closed and set(p.nodes) == {end, circuit.ground} for p in circuit.parts)
    }


def strongest(drivers: list[Driver]) -> tuple[Driver, ...]:
    """The few causes that matter, the strongest first."""
    ranked = sorted(drivers, key=lambda driver: -abs(driver.change))[:MOST_DRIVERS]
    return tuple(d for d in ranked if abs(d.change) > 0.1 * abs(ranked[0].change) and d.change)
