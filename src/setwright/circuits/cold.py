"""Resistance to ground with the set unplugged and its tubes cold."""

from __future__ import annotations

import numpy as np

from setwright.circuits.answer import Driver, PointExpectation
from setwright.circuits.drawing import Circuit, Part
from setwright.circuits.network import LEAST_OHMS
from setwright.circuits.points import pins_on, strongest
from setwright.circuits.spread import TOLERANCE_DEVIATIONS
from setwright.reference import tube_assumption


def cold_points(circuit: Circuit, deviations: float, level: float) -> tuple[PointExpectation, ...]:
    """Resistance of every node to ground, None where nothing conducts.

    Sources, loads and the line are absent; capacitors, tubes and dry rectifiers are open; windings, coils and
    switches are as drawn, lamps cold. deviations : how many standard deviations `level` reaches on each side.
    """
    nodes = [node for node in circuit.nodes if node != circuit.ground]
    number = {node: n for n, node in enumerate(nodes)}
    branches = [branch for part in circuit.parts for branch in _branches(part)]
    incidence = np.zeros((len(branches), len(nodes)))
    for n, (_, (a, b), _) in enumerate(branches):
        for node, sign in ((a, 1.0), (b, -1.0)):
            if node in number:
                incidence[n, number[node]] = sign
    siemens = np.array([s for _, _, s in branches])
    joined = _joined(circuit, branches)
    inside = [number[node] for node in nodes if node in joined]
    solved = np.zeros((len(nodes), len(nodes)))
    if inside:
        matrix = incidence[:, inside].T @ (siemens[:, None] * incidence[:, inside])
        solved[np.ix_(inside, inside)] = np.linalg.inv(matrix)
    # the change of a resistance with a branch's conductance is the square of the voltage that a unit current puts there
    moved = siemens[:, None] * (incidence @ solved) ** 2
    return tuple(
        _point(circuit, node, solved[n, n] if node in joined else None, moved[:, n], branches, deviations, level)
        for n, node in enumerate(nodes)
    )


def _point(
    circuit: Circuit,
    node: str,
    ohms: float | None,
    moved: np.ndarray,
    branches: list[tuple[Part, tuple[str, str], float]],
    deviations: float,
    level: float,
) -> PointExpectation:
    by_part: dict[str, float] = {}
    for (part, _, _), change in zip(branches, moved, strict=True):
        by_part[part.ref] = by_part.get(part.ref, 0.0) + change * part.tolerance / TOLERANCE_DEVIATIONS
    reach = deviations * float(np.sqrt(sum(change**2 for change in by_part.values())))
    return PointExpectation(
        point=node,
        reference=circuit.ground,
        quantity="ohms",
        value=ohms,
        low=None if ohms is None else max(ohms - reach, 0.0),
        high=None if ohms is None else ohms + reach,
        level=level,
        unit="ohm",
        pins=pins_on(circuit, node),
        drivers=() if ohms is None else strongest([Driver(ref, change) for ref, change in by_part.items()]),
    )


def _branches(part: Part) -> list[tuple[Part, tuple[str, str], float]]:
    if part.kind == "potentiometer":
        assert part.value is not None
        first, wiper, last = part.nodes
        upper = max(part.value * part.position, 1.0)
        lower = max(part.value * (1.0 - part.position), 1.0)
        return [(part, (first, wiper), 1.0 / upper), (part, (wiper, last), 1.0 / lower)]
    ohms: float | None = None
    match part.kind:
        case "resistor":
            ohms = part.value
        case "inductor" | "winding":
            ohms = max(part.ohms or 0.0, LEAST_OHMS)
        case "switch" if part.closed:
            ohms = LEAST_OHMS
        case "lamp":
            assert part.volts is not None
            assert part.amps is not None
            ohms = part.volts / part.amps * tube_assumption("lamp-cold-ratio")
    return [] if ohms is None else [(part, (part.nodes[0], part.nodes[1]), 1.0 / ohms)]


def _joined(circuit: Circuit, branches: list[tuple[Part, tuple[str, str], float]]) -> set[str]:
    """The nodes that anything joins to ground."""
    found = {circuit.ground}
    while True:
        more = {node for _, ends, _ in branches if found & set(ends) for node in ends}
        if more <= found:
            return found
        found |= more
