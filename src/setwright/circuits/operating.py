"""The operating point of a whole set: direct side and rectifier supplies together.

The direct side sees the supply as a voltage behind a resistance; the supply, solved in time, sees the direct side as a
current and its admittance at the ripple's frequency. A few exchanges settle both.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from setwright.circuits.devices import TubeState
from setwright.circuits.network import Network, Variants
from setwright.circuits.newton import device_currents, residual, solve_one
from setwright.circuits.problems import NoConvergence
from setwright.circuits.signals import admittances, seen_from
from setwright.circuits.supplies.steady import AS_DRAWN, Supply, SupplyChanges, SupplyLoad, SupplyWaves
from setwright.circuits.tubes.equations import Values

_SETTLED, _MOST = 2e-5, 25


@dataclass(frozen=True)
class OperatingState:
    """One variant at work. volts : (nodes, 1). variants : its numbers, with what the supply delivers in them."""

    network: Network
    variants: Variants
    volts: Values
    waves: SupplyWaves | None

    def at(self, node: str) -> float:
        """The direct voltage of a node against ground."""
        number = self.network.number[node]
        return 0.0 if number < 0 else float(self.volts[number, 0])


@dataclass(frozen=True)
class TubeCurrents:
    """Currents of every tube, (tubes, variants), in amperes; nought where an electrode is missing or in a supply."""

    plate: Values
    screen: Values
    grid: Values


def operate(network: Network, variants: Variants | None = None, changes: SupplyChanges = AS_DRAWN) -> OperatingState:
    """Find the operating point of one variant, by default that of the circuit as drawn.

    variants : one variant without a supply's contribution. changes : what differs on the alternating side.

    Raises NoConvergence with the node that stays open.
    """
    variants = network.nominal() if variants is None else variants
    if not network.layout.diodes or not network.boundary:
        return OperatingState(network, variants, solve_one(network, variants), None)
    supply = Supply(network, changes)
    edges = len(network.boundary)
    load = SupplyLoad(np.zeros(edges), np.zeros(edges), np.eye(edges) * 1e-4, np.zeros((edges, edges)))
    waves = supply.solve(load)
    volts: Values | None = None
    for _ in range(_MOST):
        variants = delivered(variants, waves)
        volts = solve_one(network, variants, volts)
        edge = volts[list(network.boundary), 0]
        drawn = waves.amps - waves.siemens @ (edge - waves.mean)
        seen = _seen(network, variants, volts, _ripple_hertz(network, waves))
        before = waves.mean
        waves = supply.solve(
            SupplyLoad(drawn, edge, seen.real, np.maximum(seen.imag, 0.0) * np.eye(edges)), waves.volts
        )
        size = max(float(np.abs(waves.mean).max()), 1.0)
        if np.abs(waves.mean - edge).max() < _SETTLED * size and np.abs(waves.mean - before).max() < _SETTLED * size:
            variants = delivered(variants, waves)
            return OperatingState(network, variants, solve_one(network, variants, volts), waves)
    node = network.layout.boundary[int(np.argmax(np.abs(waves.mean - edge)))]
    raise NoConvergence(
        node,
        f"the supply at {node} and what it feeds do not settle on one voltage. The likely reason is a load far beyond "
        "what the winding can deliver",
    )


def delivered(variants: Variants, waves: SupplyWaves) -> Variants:
    """The variants with what the supply delivers: a current and a conductance at its nodes."""
    siemens = waves.siemens[:, :, None]
    amps = (waves.amps + waves.siemens @ waves.mean)[:, None]
    return replace(variants, supply_siemens=siemens, supply_amps=amps)


def tube_currents(network: Network, volts: Values, tubes: TubeState) -> TubeCurrents:
    """What flows into the electrodes of every tube on the direct side."""
    count, variants = len(network.circuit.tubes), volts.shape[1]
    plate, screen, grid = (np.zeros((count, variants)) for _ in range(3))
    flows, _ = device_currents(network, volts, tubes)
    rows = np.concatenate([np.broadcast_to(f, (f.shape[0], variants)) for f in flows]) if flows else None
    begin = 0
    for group in network.groups:
        n = len(group.tubes)
        for block in range(len(group.branches) // n if n else 0):
            assert rows is not None
            part = rows[begin + block * n : begin + (block + 1) * n]
            kind = group.roles[block]
            for i, tube in enumerate(group.tubes):
                if tube < 0:
                    continue
                if kind == "ions":
                    plate[tube] += part[i]
                    grid[tube] -= part[i]
                else:
                    {"plate": plate, "screen": screen, "grid": grid}[kind][tube] += part[i]
        begin += len(group.branches)
    return TubeCurrents(plate, screen, grid)


def _seen(network: Network, variants: Variants, volts: Values, hertz: float) -> Values:
    """Conductance and capacitance that the direct side shows to the supply, as real and imaginary part."""
    bare = replace(variants, supply_siemens=np.zeros_like(variants.supply_siemens))
    seen = seen_from(admittances(network, bare, volts, hertz), network.boundary)
    omega = 2.0 * np.pi * hertz
    return seen.real + 1j * seen.imag / omega


def _ripple_hertz(network: Network, waves: SupplyWaves) -> float:
    """The frequency at which the reservoirs swing most: the line's, or twice that."""
    edge = waves.volts[len(network.layout.alternating) : len(waves.nodes)]
    tones = np.abs(np.fft.rfft(edge, axis=1)).max(axis=0)
    return network.circuit.line_hz * (2.0 if tones[2] > tones[1] else 1.0)


def unbalanced(state: OperatingState) -> float:
    """The largest current, in amperes, that is left over at any node: what the solution is worth."""
    left, _ = residual(state.network, state.variants, state.volts)
    return float(np.abs(left).max(initial=0.0))
