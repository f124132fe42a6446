"""From a drawing to equations: unknowns, linear branches, groups of devices, and the pattern they make.

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

from setwright.circuits.checks import check
from setwright.circuits.devices import (
    Converters,
    Diodes,
    Group,
    Loads,
    Pair,
    Pentodes,
    Regulators,
    Triodes,
    TubeState,
)
from setwright.circuits.drawing import Circuit, Part, Tube
from setwright.circuits.elimination import Elimination, plan
from setwright.circuits.supplies.layout import SupplyLayout, supply_layout
from setwright.circuits.tubes.equations import Values
from setwright.circuits.tubes.models import TubeModel
from setwright.reference import tube_assumption

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


def compile_network(
    circuit: Circuit, *, line_volts: float | None = None, probes: tuple[tuple[str, str], ...] = ()
) -> Network:
    """Check a drawing and turn it into equations.

    line_volts : the line it works at, by default the one its windings are given for. probes : pairs of nodes between
    which a meter may be put besides from every node to ground.

    Raises UnsoundCircuit with everything that is wrong.
    """
    models = check(circuit)
    layout = supply_layout(circuit, models)
    lit = {node for part in layout.heaters for node in part.nodes}
    nodes = tuple(
        n for n in circuit.nodes if n != circuit.ground and n not in layout.alternating and not _lone(n, circuit, lit)
    )
    line = circuit.line_volts if line_volts is None else line_volts
    number = {circuit.ground: GROUND, **{name: i for i, name in enumerate(nodes)}}
    builder = _Builder(circuit, models, layout, number, line)
    return Network(
        circuit, models, layout, nodes, builder.branches(probes), builder.groups(), builder.capacitors(), line
    )


def _lone(node: str, circuit: Circuit, lit: set[str]) -> bool:
    """Whether a node belongs to heaters alone."""
    if node not in lit:
        return False
    parts = [p for p in circuit.parts if node in p.nodes and not set(p.nodes) <= lit]
    return not parts and not any(node == n for t in circuit.tubes for _, n in t.electrodes)


class _Builder:
    """Takes a drawing apart into branches and groups."""

    def __init__(
        self,
        circuit: Circuit,
        models: tuple[TubeModel, ...],
        layout: SupplyLayout,
        number: dict[str, int],
        line_volts: float,
    ) -> None:
        self.circuit, self.models, self.layout, self.number = circuit, models, layout, number
        self.scale = line_volts / circuit.line_volts
        self.outside = [p for p in circuit.parts if p not in layout.parts and all(n in number for n in p.nodes)]
        self.fed_in = {name for name, _, _ in layout.diodes}

    def branches(self, probes: tuple[tuple[str, str], ...]) -> tuple[Branch, ...]:
        found: list[Branch] = []
        for part in self.outside:
            found += self._of_part(part)
        for part in self.layout.parts:
            if part.kind == "capacitor" and all(n in self.number for n in part.nodes):
                found.append(Branch(part.ref, "leak", self._ends(part.nodes), 0.0))
        for tube, model in zip(self.circuit.tubes, self.models, strict=True):
            found += self._of_tube(tube, model)
        found += [
            Branch(node, "meter", (number, GROUND), 0.0) for node, number in self.number.items() if number != GROUND
        ]
        found += [
            Branch(f"{a}|{b}", "meter", self._ends((a, b)), 0.0) for a, b in probes if self.circuit.ground not in (a, b)
        ]
        return tuple(found)

    def _ends(self, nodes: tuple[str, ...]) -> Pair:
        return self.number[nodes[0]], self.number[nodes[1]]

    def _of_part(self, part: Part) -> list[Branch]:
        ref, tolerance = part.ref, part.tolerance
        if part.kind == "potentiometer":
            assert part.value is not None
            upper = max(part.value * part.position, 1.0)
            lower = max(part.value * (1.0 - part.position), 1.0)
            first, wiper, last = part.nodes
            return [
                Branch(ref, "upper", self._ends((first, wiper)), 1.0 / upper, tolerance=tolerance),
                Branch(ref, "lower", self._ends((wiper, last)), 1.0 / lower, tolerance=tolerance),
            ]
        ends = self._ends(part.nodes)
        match part.kind:
            case "resistor":
                assert part.value is not None
                return [Branch(ref, "", ends, 1.0 / part.value, tolerance=tolerance)]
            case "capacitor":
                return [Branch(ref, "leak", ends, 0.0)]
            case "inductor" | "winding":
                return [Branch(ref, "", ends, 1.0 / max(part.ohms or 0.0, LEAST_OHMS), tolerance=tolerance)]
            case "switch":
                return [Branch(ref, "", ends, 1.0 / LEAST_OHMS if part.closed else OPEN_SIEMENS)]
            case "lamp":
                assert part.volts is not None
                assert part.amps is not None
                return [Branch(ref, "", ends, part.amps / part.volts, tolerance=tolerance)]
            case "source":
                assert part.volts is not None
                volts = part.volts * (1.0 if part.fixed else self.scale)
                return [Branch(ref, "", ends, 1.0 / max(part.ohms or 0.0, LEAST_OHMS), volts)]
        return []

    def _of_tube(self, tube: Tube, model: TubeModel) -> list[Branch]:
        found = []
        cathode = tube.node("cathode")
        if model.warm and cathode in self.number and self.number[cathode] != GROUND:
            heater = tube.heater[0] if tube.heater and tube.heater[0] in self.number else self.circuit.ground
            if heater != cathode:
                found.append(Branch(tube.name, "heater", self._ends((cathode, heater)), 0.0))
        grid = tube.node("grid1", "grid")
        if tube.oscillating_volts is not None and grid is not None and cathode is not None:
            ends = self._ends((grid, cathode))
            found.append(Branch(tube.name, "oscillation", ends, HOLDING_SIEMENS, tube.oscillating_volts))
        return found

    def capacitors(self) -> tuple[tuple[Part, Pair], ...]:
        """Capacitors on the direct side, with their nodes."""
        return tuple((p, self._ends(p.nodes)) for p in self.outside if p.kind == "capacitor")

    def groups(self) -> tuple[Group, ...]:
        loads = [p for p in self.outside if p.kind == "load"]
        made: list[Group] = [g for g in (self._diodes(), self._regulators()) if g is not None]
        made += [g for g in (self._triodes(), self._pentodes(), self._converters()) if g is not None]
        if loads:
            made.append(
                Loads(
                    [p.ref for p in loads],
                    [self._ends(p.nodes) for p in loads],
                    [p.amps or 0.0 for p in loads],
                    [p.tolerance for p in loads],
                )
            )
        return tuple(made)

    def _tubes(self, kind: str) -> list[tuple[int, Tube, TubeModel]]:
        return [
            (n, tube, model)
            for n, (tube, model) in enumerate(zip(self.circuit.tubes, self.models, strict=True))
            if model.kind == kind and tube.name not in self.fed_in
        ]

    def _at(self, tube: Tube, *names: str) -> int:
        node = tube.node(*names)
        assert node is not None, "checked before"
        return self.number[node]

    def _diodes(self) -> Diodes | None:
        tubes = self._tubes("diode")
        parts = [p for p in self.outside if p.kind == "rectifier" and p.ref not in self.fed_in]
        if not tubes and not parts:
            return None
        softness = tube_assumption("rectifier-softness-volts")
        return Diodes(
            [n for n, _, _ in tubes] + [-1] * len(parts),
            [(self._at(t, "plate"), self._at(t, "cathode")) for _, t, _ in tubes]
            + [self._ends(p.nodes) for p in parts],
            [m.perveance for _, _, m in tubes] + [dry_perveance(p) for p in parts],
            [m.contact_volts for _, _, m in tubes] + [0.0] * len(parts),
            [m.softness_volts for _, _, m in tubes] + [softness] * len(parts),
        )

    def _regulators(self) -> Regulators | None:
        tubes = self._tubes("regulator")
        if not tubes:
            return None
        ends = [(self._at(t, "plate"), self._at(t, "cathode")) for _, t, _ in tubes]
        return Regulators([n for n, _, _ in tubes], ends, [m.regulated_volts for _, _, m in tubes])

    def _triodes(self) -> Triodes | None:
        tubes = self._tubes("triode")
        if not tubes:
            return None
        nodes = [(self._at(t, "plate"), self._at(t, "grid", "grid1"), self._at(t, "cathode")) for _, t, _ in tubes]
        return Triodes([n for n, _, _ in tubes], nodes, [m.triode for _, _, m in tubes if m.triode])

    def _pentodes(self) -> Pentodes | None:
        tubes = self._tubes("pentode")
        if not tubes:
            return None
        nodes = [
            (self._at(t, "plate"), self._at(t, "grid2"), self._at(t, "grid1", "grid"), self._at(t, "cathode"))
            for _, t, _ in tubes
        ]
        return Pentodes([n for n, _, _ in tubes], nodes, [m.pentode for _, _, m in tubes if m.pentode])

    def _converters(self) -> Converters | None:
        tubes = self._tubes("converter")
        if not tubes:
            return None
        nodes = [(self._at(t, "plate"), self._at(t, "grid2"), self._at(t, "cathode")) for _, t, _ in tubes]
        published: list[tuple[float, ...]] = [
            (m.converter.plate_amps, m.converter.screen_amps, m.converter.screen_volts, m.converter.plate_volts)
            for _, _, m in tubes
            if m.converter
        ]
        return Converters([n for n, _, _ in tubes], nodes, published)


def dry_perveance(part: Part) -> float:
    """The three-halves-power constant of a dry or silicon rectifier through its stated drop."""
    assert part.volts is not None
    assert part.amps is not None
    return part.amps / part.volts**1.5
