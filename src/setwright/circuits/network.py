"""A circuit as equations: unknowns, linear branches, groups of devices, and the pattern they make.

Unknowns are the voltages of the nodes that carry direct voltage, against ground. Every linear branch is a conductance
(with a voltage in series where it is a source); what may go wrong later, a leaky capacitor, a heater-cathode leak, a
meter, is a branch of no conductance here, so that variants of one circuit differ in numbers alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from scipy import sparse

from setwright.circuits.devices import Group, Pair, TubeState
from setwright.circuits.drawing import Circuit, Part
from setwright.circuits.elimination import Elimination, plan
from setwright.circuits.supplies.layout import SupplyLayout
from setwright.circuits.tubes.equations import Values
from setwright.circuits.tubes.models import TubeModel

GROUND = -1
LEAST_OHMS = 1e-3
"""A closed switch, and a source or coil for which no resistance is given."""
OPEN_SIEMENS = 1e-12
"""An open switch, and what joins every node to ground so that an open one has a voltage."""
HOLDING_SIEMENS = 1.0
"""How stiffly an oscillating grid is held at its published bias."""


@dataclass(frozen=True, slots=True)
class Branch:
    """A linear branch. ref, what : the part and which of its branches.

    what : "", "upper", "lower" (halves of a potentiometer), "leak", "heater", "oscillation" or "meter".

    siemens, volts : its conductance, and the voltage it holds between its ends. tolerance : of the part, 0 if none.
    """

    ref: str
    what: str
    ends: Pair
    siemens: float
    volts: float = 0.0
    tolerance: float = 0.0


@dataclass(frozen=True)
class Variants:
    """Numbers of many variants of one network, arrays whose last axis is the variant (or 1, common to all).

    siemens, volts : (branches, variants). tubes : see TubeState. supply_siemens : (boundary, boundary, variants) and
    supply_amps (boundary, variants) of what the rectifiers deliver.
    """

    siemens: Values
    volts: Values
    tubes: TubeState
    supply_siemens: Values
    supply_amps: Values

    @property
    def count(self) -> int:
        """How many variants there are."""
        arrays = (self.siemens, self.volts, *self.tubes.arrays, self.supply_siemens, self.supply_amps)
        return max(a.shape[-1] for a in arrays)

    def columns(self, chosen: Any) -> Variants:
        """Some of the variants; what is common to all stays so."""

        def take(a: Values) -> Values:
            return a if a.shape[-1] == 1 else a[..., chosen]

        return Variants(
            take(self.siemens),
            take(self.volts),
            self.tubes.columns(chosen),
            take(self.supply_siemens),
            take(self.supply_amps),
        )


@dataclass(frozen=True)
class Network:
    """A compiled circuit. nodes : the unknowns' names, in order. line_volts : at which it works."""

    circuit: Circuit
    models: tuple[TubeModel, ...]
    layout: SupplyLayout
    nodes: tuple[str, ...]
    branches: tuple[Branch, ...]
    groups: tuple[Group, ...]
    capacitors: tuple[tuple[Part, Pair], ...]
    line_volts: float

    @cached_property
    def number(self) -> dict[str, int]:
        """Each node's unknown; ground is GROUND. Alternating nodes have none."""
        return {self.circuit.ground: GROUND, **{name: i for i, name in enumerate(self.nodes)}}

    @cached_property
    def boundary(self) -> tuple[int, ...]:
        """The unknowns at which the supply delivers."""
        return tuple(self.number[name] for name in self.layout.boundary)

    @cached_property
    def branch(self) -> dict[tuple[str, str], int]:
        """Number of each branch by part and what it is of it."""
        return {(b.ref, b.what): i for i, b in enumerate(self.branches)}

    @cached_property
    def elimination(self) -> Elimination:
        """The order of elimination for this pattern."""
        places = {(i, j) for i in self.boundary for j in self.boundary}
        for branch in self.branches:
            places |= _square(branch.ends)
        for group in self.groups:
            for b, p in group.slopes:
                rows, columns = group.branches[b], group.pairs[p]
                places |= {(i, j) for i in rows if i >= 0 for j in columns if j >= 0}
        return plan(len(self.nodes), places)

    @cached_property
    def stamps(self) -> Stamps:
        """Matrices that carry branch and device values to their places."""
        return Stamps(self)

    def nominal(self) -> Variants:
        """The one variant in which everything is as drawn, without a supply's contribution."""
        tubes, edges = len(self.circuit.tubes), len(self.boundary)
        return Variants(
            np.array([[b.siemens] for b in self.branches]).reshape(-1, 1),
            np.array([[b.volts] for b in self.branches]).reshape(-1, 1),
            TubeState.as_new(tubes),
            np.zeros((edges, edges, 1)),
            np.zeros((edges, 1)),
        )


class Stamps:
    """Sparse matrices: end voltages of branches and pairs, and where currents and slopes go."""

    def __init__(self, network: Network) -> None:
        size, plan_ = len(network.nodes), network.elimination
        index = {(int(i), int(j)): n for n, (i, j) in enumerate(zip(plan_.rows, plan_.columns, strict=True))}
        self.branches = _incidence([b.ends for b in network.branches], size)
        self.currents = self.branches.T.tocsr()
        self.linear = _places_of([(b.ends, b.ends) for b in network.branches], index)
        pairs = [pair for g in network.groups for pair in g.pairs]
        device_branches = [ends for g in network.groups for ends in g.branches]
        slopes = [(g.branches[b], g.pairs[p]) for g in network.groups for b, p in g.slopes]
        self.pairs = _incidence(pairs, size)
        self.device_currents = _incidence(device_branches, size).T.tocsr()
        self.slopes = _places_of(slopes, index)
        self.diagonal = np.array([index[i, i] for i in range(size)], dtype=np.intp)
        self.supply = np.array([index[i, j] for i in network.boundary for j in network.boundary], dtype=np.intp)


def _incidence(ends: list[Pair], size: int) -> sparse.csr_matrix:
    """(pairs, nodes): +1 at a pair's first node, -1 at its second."""
    rows, columns, values = [], [], []
    for n, (a, b) in enumerate(ends):
        for node, sign in ((a, 1.0), (b, -1.0)):
            if node >= 0:
                rows.append(n)
                columns.append(node)
                values.append(sign)
    return sparse.csr_matrix((values, (rows, columns)), shape=(len(ends), size))


def _places_of(slopes: list[tuple[Pair, Pair]], index: dict[tuple[int, int], int]) -> sparse.csr_matrix:
    """(entries, slopes): where the slope of a branch's current along a pair of nodes goes in the matrix."""
    rows, columns, values = [], [], []
    for n, (branch, pair) in enumerate(slopes):
        for i, branch_sign in zip(branch, (1.0, -1.0), strict=True):
            for j, pair_sign in zip(pair, (1.0, -1.0), strict=True):
                if i >= 0 and j >= 0:
                    rows.append(index[i, j])
                    columns.append(n)
                    values.append(branch_sign * pair_sign)
    return sparse.csr_matrix((values, (rows, columns)), shape=(len(index), len(slopes)))


def _square(ends: Pair) -> set[tuple[int, int]]:
    return {(i, j) for i in ends if i >= 0 for j in ends if j >= 0}


def dry_perveance(part: Part) -> float:
    """The three-halves-power constant of a dry or silicon rectifier through its stated drop."""
    assert part.volts is not None
    assert part.amps is not None
    return part.amps / part.volts**1.5
