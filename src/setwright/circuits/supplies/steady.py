"""The periodic steady state of a rectifier supply: one cycle of the line in equal steps, solved as a whole.

Every step's voltages are unknown at once and the cycle closes on itself, so that no start-up has to be waited for,
however large the capacitors. Time derivatives are second-order backward differences; the direct side appears as the
current it draws, with its admittance at the ripple's frequency.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.linalg import splu

from setwright.circuits.drawing import Part, Tube
from setwright.circuits.network import LEAST_OHMS, OPEN_SIEMENS, Network, dry_perveance
from setwright.circuits.problems import NoConvergence
from setwright.circuits.tubes.equations import Values, soft_power
from setwright.reference import tube_assumption

STEPS = 256
"""Steps in a cycle; four times as many move no direct voltage by 0.03 %."""
_SHUNTS = (1e-2, 1e-3, 1e-4, 1e-5, 1e-6, 1e-7, 0.0)
"""Conductances across the rectifiers, with which a solution is approached from the linear circuit."""
_CLOSE, _LONGEST, _MOST, _LEAST_SHARE = 1e-6, 200.0, 100, 0.1


@dataclass(frozen=True)
class SupplyLoad:
    """What the direct side draws at the boundary nodes: amps at `volts`, more by siemens and farads as they swing.

    Arrays (boundary,) and (boundary, boundary).
    """

    amps: Values
    volts: Values
    siemens: Values
    farads: Values


@dataclass(frozen=True)
class SupplyWaves:
    """One cycle. nodes : of the rows of `volts` (nodes, steps). currents : (rectifiers, steps).

    mean : of the boundary nodes. amps : mean current drawn there. siemens : the supply's own conductance matrix, by
    which more current lowers the means. moved : change of the means with the logarithm of each thing in
    `movers`, at an unchanged current.
    """

    nodes: tuple[str, ...]
    volts: Values
    currents: Values
    mean: Values
    amps: Values
    siemens: Values
    movers: tuple[tuple[str, str], ...]
    moved: Values


@dataclass(frozen=True)
class SupplyChanges:
    """What differs from the drawing: factors by part or tube name. Missing ones are 1.

    strength : of rectifiers. farads : of capacitors (0: open). ohms : of windings and resistors. line : of all
    alternating voltages.
    """

    strength: dict[str, float]
    farads: dict[str, float]
    ohms: dict[str, float]
    line: float = 1.0


AS_DRAWN = SupplyChanges({}, {}, {})


class Supply:
    """The alternating side of a network as equations."""

    def __init__(self, network: Network, changes: SupplyChanges = AS_DRAWN) -> None:
        layout = network.layout
        self.network, self.changes = network, changes
        self.nodes = (*layout.alternating, *layout.boundary)
        self.edges = np.arange(len(layout.alternating), len(self.nodes))
        self.number = {network.circuit.ground: -1, **{name: i for i, name in enumerate(self.nodes)}}
        self.coils = [p for p in layout.parts if p.kind == "inductor" and p.value]
        self.size = len(self.nodes) + len(self.coils)
        self.step = 1.0 / (network.circuit.line_hz * STEPS)
        self.scale = network.line_volts / network.circuit.line_volts * changes.line
        self.ends = np.array([[self.number[a], self.number[b]] for _, a, b in layout.diodes]).reshape(-1, 2)
        laws = [_law(network, of) for of in layout.rectifiers]
        strength = [changes.strength.get(name, 1.0) for name, _, _ in layout.diodes]
        self.law = tuple(np.array(v)[:, None] for v in zip(*laws, strict=True)) if laws else ()
        self.strength = np.array(strength)[:, None]

    @cached_property
    def sources(self) -> list[tuple[Part, float, Values]]:
        """Windings and line with their conductance and voltage over the cycle."""
        found = []
        angle = 2.0 * np.pi * np.arange(STEPS) / STEPS
        for part in self.network.layout.parts:
            if part.kind in ("winding", "line"):
                ohms = max((part.ohms or 0.0) * self.changes.ohms.get(part.ref, 1.0), LEAST_OHMS)
                rms = self.network.circuit.line_volts if part.volts is None else part.volts
                wave = np.sqrt(2.0) * rms * self.scale * np.sin(angle + np.deg2rad(part.phase))
                found.append((part, 1.0 / ohms, wave))
        return found

    @cached_property
    def resistors(self) -> list[tuple[str, tuple[int, int], float]]:
        """Resistive branches: reference, ends, conductance."""
        found = []
        for part in self.network.layout.parts:
            ends = tuple(self.number[n] for n in part.nodes)
            factor = self.changes.ohms.get(part.ref, 1.0)
            match part.kind:
                case "resistor":
                    assert part.value is not None
                    found.append((part.ref, (ends[0], ends[1]), 1.0 / (part.value * factor)))
                case "switch":
                    closed = 1.0 / LEAST_OHMS if part.closed else OPEN_SIEMENS
                    found.append((part.ref, (ends[0], ends[1]), closed))
                case "lamp":
                    assert part.volts is not None
                    assert part.amps is not None
                    found.append((part.ref, (ends[0], ends[1]), part.amps / (part.volts * factor)))
                case "inductor" if not part.value:
                    ohms = max((part.ohms or 0.0) * factor, LEAST_OHMS)
                    found.append((part.ref, (ends[0], ends[1]), 1.0 / ohms))
        return found

    @cached_property
    def capacitors(self) -> list[tuple[str, tuple[int, int], float]]:
        """Capacitors: reference, ends, farads."""
        return [
            (
                p.ref,
                (self.number[p.nodes[0]], self.number[p.nodes[1]]),
                (p.value or 0.0) * self.changes.farads.get(p.ref, 1.0),
            )
            for p in self.network.layout.parts
            if p.kind == "capacitor"
        ]

    def static(self, load: SupplyLoad) -> tuple[Values, Values]:
        """Conductance and capacitance matrices, (size, size), coils' currents behind the nodes."""
        g, c = np.zeros((self.size, self.size)), np.zeros((self.size, self.size))
        np.fill_diagonal(g[: len(self.nodes), : len(self.nodes)], OPEN_SIEMENS)
        for _, ends, siemens in self.resistors:
            _add(g, ends, siemens)
        for part, siemens, _ in self.sources:
            _add(g, (self.number[part.nodes[0]], self.number[part.nodes[1]]), siemens)
        for _, ends, farads in self.capacitors:
            _add(c, ends, farads)
        for n, coil in enumerate(self.coils):
            row = len(self.nodes) + n
            for node, sign in zip(coil.nodes, (1.0, -1.0), strict=True):
                if (i := self.number[node]) >= 0:
                    g[row, i] += sign
                    g[i, row] += sign
            g[row, row] -= max((coil.ohms or 0.0) * self.changes.ohms.get(coil.ref, 1.0), LEAST_OHMS)
            c[row, row] -= coil.value or 0.0
        g[np.ix_(self.edges, self.edges)] += load.siemens
        c[np.ix_(self.edges, self.edges)] += load.farads
        return g, c

    def drive(self, load: SupplyLoad) -> Values:
        """Currents put into the nodes, (size, steps)."""
        put = np.zeros((self.size, STEPS))
        for part, siemens, wave in self.sources:
            for node, sign in zip(part.nodes, (1.0, -1.0), strict=True):
                if (i := self.number[node]) >= 0:
                    put[i] += sign * siemens * wave
        put[self.edges] += (load.siemens @ load.volts - load.amps)[:, None]
        return put

    def solve(self, load: SupplyLoad, start: Values | None = None) -> SupplyWaves:
        """The steady state under a load. start : an earlier solution, (size, steps).

        Raises NoConvergence where none is found.
        """
        g, c = self.static(load)
        linear = (sparse.kron(sparse.identity(STEPS), g) + sparse.kron(_derivative(self.step), c)).tocsc()
        put = self.drive(load).T.ravel()
        x = np.zeros(self.size * STEPS) if start is None else start.T.ravel()
        for shunt in _SHUNTS if start is None else (0.0,):
            found = self._newton(linear, put, x, shunt)
            if found is None and start is not None:
                return self.solve(load)
            if found is None:
                raise self._failure(x)
            x = found
        return self._waves(linear, x, load)

    def _newton(self, linear: sparse.csc_matrix, put: Values, x: Values, shunt: float) -> Values | None:
        share, taken, before = 1.0, 1.0, np.inf
        for _ in range(_MOST):
            _, slopes, left = self._left(linear, put, x, shunt)
            change = splu((linear + self._jacobian(slopes)).tocsc()).solve(left)
            longest = float(np.abs(change).max(initial=0.0))
            if not np.isfinite(longest):
                return None
            # steps that do not shrink go to and fro across a rectifier's corner
            stuck = longest > (1.0 - 0.3 * taken) * before
            share = max(0.5 * share, _LEAST_SHARE) if stuck else min(1.0, 2.0 * share)
            taken, before = min(share, _LONGEST / max(longest, 1e-300)), longest
            x = x - change * taken
            if longest < _CLOSE:
                return x
        return None

    def _left(self, linear: sparse.csc_matrix, put: Values, x: Values, shunt: float) -> tuple[Values, Values, Values]:
        """Currents and slopes of the rectifiers, and what is left over at every unknown."""
        currents, slopes = self._rectifiers(x, shunt)
        return currents, slopes, linear @ x - put + self._incidence.T @ currents.T.ravel()

    @cached_property
    def _incidence(self) -> sparse.csr_matrix:
        """(rectifiers x steps, unknowns): end voltages of the rectifiers, step by step."""
        one = np.zeros((len(self.ends), self.size))
        for n, (plate, cathode) in enumerate(self.ends):
            for node, sign in ((plate, 1.0), (cathode, -1.0)):
                if node >= 0:
                    one[n, node] = sign
        return sparse.kron(sparse.identity(STEPS), one).tocsr()

    def _rectifiers(self, x: Values, shunt: float = 0.0) -> tuple[Values, Values]:
        volts = (self._incidence @ x).reshape(STEPS, -1).T
        current, slope = soft_power(volts, *self.law)
        return current * self.strength + shunt * volts, slope * self.strength + shunt

    def _jacobian(self, slopes: Values) -> sparse.csc_matrix:
        return self._incidence.T @ sparse.diags(slopes.T.ravel()) @ self._incidence

    def _waves(self, linear: sparse.csc_matrix, x: Values, load: SupplyLoad) -> SupplyWaves:
        currents, slopes = self._rectifiers(x)
        factors = splu((linear + self._jacobian(slopes)).tocsc())
        volts = x.reshape(STEPS, self.size).T
        mean = volts[self.edges].mean(axis=1)

        def means_of(change: Values) -> Values:
            moved = factors.solve(np.ascontiguousarray(change.T.ravel()))
            return moved.reshape(STEPS, self.size).T[self.edges].mean(axis=1)

        edges = len(self.edges)
        falls = np.zeros((edges, edges))
        for n, edge in enumerate(self.edges):
            unit = np.zeros((self.size, STEPS))
            unit[edge] = 1.0
            falls[:, n] = means_of(unit)
        with_load = np.linalg.inv(falls)
        siemens = with_load - load.siemens
        movers, changes = self._movers(volts, currents)
        # seen with the load's own conductance in place; at an unchanged current the means move more
        moved = np.array([-means_of(change) for change in changes]).reshape(-1, edges)
        moved = moved @ np.linalg.solve(siemens, with_load).T
        return SupplyWaves(
            self.nodes,
            volts,
            currents,
            mean,
            load.amps + load.siemens @ (mean - load.volts),
            siemens,
            movers,
            moved,
        )

    def _movers(self, volts: Values, currents: Values) -> tuple[tuple[tuple[str, str], ...], list[Values]]:
        """What the direct voltages depend on, and how each enters the equations, by its logarithm."""
        names: list[tuple[str, str]] = []
        changes: list[Values] = []

        def note(ref: str, what: str, ends: tuple[int, int], current: Values) -> None:
            change = np.zeros((self.size, STEPS))
            for node, sign in zip(ends, (1.0, -1.0), strict=True):
                if node >= 0:
                    change[node] += sign * current
            names.append((ref, what))
            changes.append(change)

        def across(ends: tuple[int, int]) -> Values:
            return sum(
                (sign * volts[node] for node, sign in zip(ends, (1.0, -1.0), strict=True) if node >= 0),
                np.zeros(STEPS),
            )

        for n, (name, _, _) in enumerate(self.network.layout.diodes):
            note(name, "strength", (int(self.ends[n, 0]), int(self.ends[n, 1])), currents[n])
        for part, siemens, wave in self.sources:
            ends = (self.number[part.nodes[0]], self.number[part.nodes[1]])
            note(part.ref, "volts", ends, -siemens * wave)
            note(part.ref, "ohms", ends, -siemens * (across(ends) - wave))
        for ref, ends, siemens in self.resistors:
            note(ref, "ohms", ends, -siemens * across(ends))
        for ref, ends, farads in self.capacitors:
            v = across(ends)
            rate = (3.0 * v - 4.0 * np.roll(v, 1) + np.roll(v, 2)) / (2.0 * self.step)
            note(ref, "farads", ends, farads * rate)
        return tuple(names), changes

    def _failure(self, x: Values) -> NoConvergence:
        swing = np.ptp(x.reshape(STEPS, self.size), axis=0)[: len(self.nodes)]
        node = self.nodes[int(np.argmax(swing))]
        return NoConvergence(
            node,
            f"the supply at {node} finds no steady state. The likely reason is a capacitor or winding with a value "
            "wrong by a factor of a thousand, or a rectifier drawn the wrong way round",
        )


def _law(network: Network, of: Part | Tube) -> tuple[float, float, float]:
    if isinstance(of, Part):
        return dry_perveance(of), 0.0, tube_assumption("rectifier-softness-volts")
    model = next(m for t, m in zip(network.circuit.tubes, network.models, strict=True) if t is of)
    return model.perveance, model.contact_volts, model.softness_volts


def _add(matrix: Values, ends: tuple[int, int], value: float) -> None:
    for i, one in zip(ends, (1.0, -1.0), strict=True):
        for j, other in zip(ends, (1.0, -1.0), strict=True):
            if i >= 0 and j >= 0:
                matrix[i, j] += one * other * value


def _derivative(step: float) -> NDArray[np.float64]:
    """Second-order backward difference over a closed cycle, (steps, steps)."""
    one = sparse.identity(STEPS, format="csr")
    order = np.arange(STEPS)
    back = one[np.roll(order, 1)]
    back2 = one[np.roll(order, 2)]
    return (3.0 * one - 4.0 * back + back2) / (2.0 * step)
