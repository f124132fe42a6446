"""Healthy spread: how far tolerances of parts and of tubes move a point, to first order.

One adjoint solution for each point gives its change with every part at once. The covariance is diagonal: parts and
tubes are independent of each other. Resistances count with a third of their tolerance, tubes with the spread of
current and of amplification factor in reference.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from setwright.circuits.devices import Loads, TubeState
from setwright.circuits.network import Network, Variants
from setwright.circuits.newton import dense, device_currents, jacobian, residual
from setwright.circuits.supplies.steady import SupplyWaves
from setwright.circuits.tubes.equations import Values
from setwright.reference import tube_assumption

Note = Callable[[str, Values], None]
"""Takes a cause's name and its change of every point."""

TOLERANCE_DEVIATIONS = 3.0
"""A part's tolerance is so many standard deviations (the format has it so)."""
_STEP = 1e-4


@dataclass(frozen=True)
class Spread:
    """Changes of every point by one standard deviation of every cause. names : of the causes.

    changes : (causes, points), volts.
    """

    names: tuple[str, ...]
    changes: Values

    @property
    def deviation(self) -> Values:
        """Standard deviation of each point, (points,)."""
        total: Values = np.sqrt(np.sum(self.changes**2, axis=0))
        return total


def spread_of(
    network: Network, variants: Variants, volts: Values, points: list[int], waves: SupplyWaves | None
) -> Spread:
    """Spread of the voltage at `points[n]` in variant n, for every n.

    variants, volts : of as many variants as there are points, each with its own meter attached.
    """
    count = len(points)
    _, (_, slopes) = residual(network, variants, volts)
    matrices = dense(network, jacobian(network, variants, slopes, count))
    unit = np.zeros((count, len(network.nodes), 1))
    unit[np.arange(count), points, 0] = 1.0
    adjoint = np.asarray(np.linalg.solve(matrices.transpose(0, 2, 1), unit)[:, :, 0].T, dtype=np.float64)
    causes: dict[str, Values] = {}

    def note(name: str, change: Values) -> None:
        causes[name] = causes.get(name, np.zeros(count)) + change

    _branches(network, variants, volts, adjoint, note)
    _tubes(network, variants, volts, adjoint, note)
    if waves is not None:
        _supply(network, waves, adjoint, note)
    names = tuple(causes)
    return Spread(names, np.array([causes[name] for name in names]).reshape(len(names), count))


def _branches(network: Network, variants: Variants, volts: Values, adjoint: Values, note: Note) -> None:
    stamps = network.stamps
    current = variants.siemens * (stamps.branches @ volts - variants.volts)
    moved = -(stamps.branches @ adjoint) * current
    for n, branch in enumerate(network.branches):
        if branch.tolerance:
            note(branch.ref, moved[n] * branch.tolerance / TOLERANCE_DEVIATIONS)


def _tubes(network: Network, variants: Variants, volts: Values, adjoint: Values, note: Note) -> None:
    """Every branch of a device depends on its own tube alone, so one step of all tubes shows each one's part."""
    if not network.groups:
        return
    across = network.stamps.device_currents.T @ adjoint
    before = _rows(network, volts, variants.tubes)
    stronger = replace(variants.tubes, strength=variants.tubes.strength * (1.0 + _STEP))
    steeper = replace(variants.tubes, mu=variants.tubes.mu * (1.0 + _STEP))
    earlier = replace(variants.tubes, contact=variants.tubes.contact + _STEP)
    for what, state, sigma in (
        ("strength", stronger, tube_assumption("spread-current")),
        ("mu", steeper, tube_assumption("spread-mu")),
        ("contact", earlier, tube_assumption("spread-contact-volts")),
    ):
        moved = -across * (_rows(network, volts, state) - before) / _STEP * sigma
        begin = 0
        for group in network.groups:
            for block in range(len(group.branches) // max(len(group.tubes), 1) if group.tubes else 0):
                for i, tube in enumerate(group.tubes):
                    if tube >= 0:
                        row = moved[begin + block * len(group.tubes) + i]
                        note(f"{network.circuit.tubes[tube].name} {what}", row)
            if isinstance(group, Loads) and what == "strength":
                for i, tolerance in enumerate(group.tolerances):
                    row = -across[begin + i] * before[begin + i] * tolerance / TOLERANCE_DEVIATIONS
                    note(group.names[i], row)
            begin += len(group.branches)


def _rows(network: Network, volts: Values, tubes: TubeState) -> Values:
    currents, _ = device_currents(network, volts, tubes)
    return np.concatenate([np.broadcast_to(c, (c.shape[0], volts.shape[1])) for c in currents])


def _supply(network: Network, waves: SupplyWaves, adjoint: Values, note: Note) -> None:
    parts = {p.ref: p for p in network.layout.parts}
    edge = adjoint[list(network.boundary)]
    for (name, what), means in zip(waves.movers, waves.moved, strict=True):
        if what == "volts":
            continue  # the line's own voltage is given, not spread
        if what == "strength":
            sigma = tube_assumption("spread-current") if name not in parts else 0.0
        else:
            sigma = parts[name].tolerance / TOLERANCE_DEVIATIONS
        if sigma:
            note(name if what != "strength" else f"{name} strength", edge.T @ (waves.siemens @ means) * sigma)
