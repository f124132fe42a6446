"""From a drawing to its network: parts become branches, tubes go into groups of one kind."""

from __future__ import annotations

from setwright.circuits.checks import check
from setwright.circuits.devices import Converters, Diodes, Group, Loads, Pair, Pentodes, Regulators, Triodes
from setwright.circuits.drawing import Circuit, Part, Tube
from setwright.circuits.network import (
    GROUND,
    HOLDING_SIEMENS,
    LEAST_OHMS,
    OPEN_SIEMENS,
    Branch,
    Network,
    dry_perveance,
)
from setwright.circuits.supplies.layout import SupplyLayout, supply_layout
from setwright.circuits.tubes.models import TubeModel
from setwright.reference import tube_assumption


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
    hidden = {*layout.alternating, circuit.ground, *_heater_nodes(circuit, layout)}
    nodes = tuple(n for n in circuit.nodes if n not in hidden)
    line = circuit.line_volts if line_volts is None else line_volts
    number = {circuit.ground: GROUND, **{name: i for i, name in enumerate(nodes)}}
    builder = _Builder(circuit, models, layout, number, line)
    return Network(
        circuit, models, layout, nodes, builder.branches(probes), builder.groups(), builder.capacitors(), line
    )


def _heater_nodes(circuit: Circuit, layout: SupplyLayout) -> set[str]:
    """Nodes that carry a heater's alternating voltage and nothing else.

    The far end of a directly heated rectifier's winding is not among them: it stands at B+.
    """
    lit = {node for part in layout.heaters for node in part.nodes} - {circuit.ground}
    bound = {node for tube in circuit.tubes for _, node in tube.electrodes}
    bound |= {node for part in circuit.parts if part not in layout.heaters for node in part.nodes}
    bound -= {circuit.ground}
    standing = {n for part in layout.heaters if bound & set(part.nodes) for n in part.nodes}
    return lit - bound - standing


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
