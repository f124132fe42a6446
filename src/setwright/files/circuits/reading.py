"""Reading a circuit file: its parts, tubes and types, with everything that is wrong in one answer."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from setwright.circuits import Circuit, DrawnType, Fault, Part, Tube, UnsoundCircuit
from setwright.circuits.checks import check
from setwright.circuits.drawing import DEFAULT_TOLERANCE
from setwright.files.circuits.shapes import CIRCUIT_FORMAT, CircuitShape, PartShape, TubePointShape, TubeShape
from setwright.files.problems import ProblemList, listing, quoted
from setwright.files.shape_check import Checked, check_shape
from setwright.files.source_text import MEGABYTE, load
from setwright.files.suggest import nearest
from setwright.files.toml.lines import Path as TomlPath
from setwright.files.toml.text import TomlFile, check_format, read_toml
from setwright.identity.model import Family, Feature
from setwright.notation import NotationError, parse_part_value
from setwright.reference import OperatingPoint

CIRCUIT_LIMIT = 5 * MEGABYTE

_COMMON = {"ref", "kind", "nodes", "tolerance", "construction", "rated_watts", "rated_volts", "can", "feature", "note"}
_KEYS = {
    "resistor": {"value"},
    "capacitor": {"value"},
    "inductor": {"value", "ohms", "load_ohms"},
    "potentiometer": {"value", "position"},
    "switch": {"closed"},
    "lamp": {"volts", "amps"},
    "winding": {"volts_rms", "ohms", "phase"},
    "line": {"ohms", "phase"},
    "source": {"volts", "ohms", "fixed"},
    "load": {"amps"},
    "rectifier": {"drop_v", "amps"},
}
_UNITS = {"resistor": "ohm", "potentiometer": "ohm", "capacitor": "F", "inductor": "H"}
_FEATURE_UNITS = {**_UNITS, "winding": "ohm"}
_FILE_KEYS = {("winding", "volts"): "volts_rms", ("rectifier", "volts"): "drop_v"}


@dataclass(frozen=True)
class CircuitFile:
    """A circuit file that was read without a problem. title : the set's name, where the file gives one."""

    name: str
    text: str
    circuit: Circuit
    title: str | None = None


def read_circuit(
    path_or_bytes: str | Path | bytes, family: Family | None = None, name: str | None = None
) -> CircuitFile:
    """Read a circuit file of format setwright-circuit/1.

    family : that whose features its parts name; without it features are not looked up. name : what messages call
    the file, default its path.

    Raises FileProblems with everything that is wrong; nothing is taken in then.
    """
    toml = read_toml(load(path_or_bytes, name, CIRCUIT_LIMIT, "circuit"))
    problems = ProblemList(toml.name)
    check_format(toml, CIRCUIT_FORMAT, problems)
    checked = check_shape(CircuitShape, toml, problems)
    circuit = _Reader(toml, checked, problems).read(family)
    problems.raise_if_any()
    return CircuitFile(toml.name, toml.text, circuit, checked.shape.name)


def family_named_by(path_or_bytes: str | Path | bytes, name: str | None = None) -> str | None:
    """The family that a circuit file names, None where it names none; FileProblems where it cannot be read."""
    given = read_toml(load(path_or_bytes, name, CIRCUIT_LIMIT, "circuit")).data.get("family")
    return given if isinstance(given, str) else None


class _Reader:
    def __init__(self, toml: TomlFile, checked: Checked[CircuitShape], problems: ProblemList) -> None:
        self.toml, self.checked, self.problems = toml, checked, problems

    def read(self, family: Family | None) -> Circuit:
        shape = self.checked.shape
        parts = [self._part(path, table) for path, table in self.checked.tables("part")]
        tubes = [self._tube(path, table) for path, table in self.checked.tables("tube")]
        circuit = Circuit(
            id=shape.id,
            ground=shape.ground,
            parts=tuple(parts),
            tubes=tuple(tubes),
            types=tuple(
                DrawnType(t.id, t.kind, tuple(_point(t.id, p) for p in t.point), t.source) for t in shape.tube_type
            ),
            line_volts=shape.line_volts,
            line_hz=shape.line_hz,
            family=shape.family,
        )
        self._features(circuit, family)
        try:
            check(circuit, whole=not len(self.problems))
        except UnsoundCircuit as unsound:
            for fault in unsound.faults:
                self._fault(circuit, fault)
        return circuit

    def _note(self, place: TomlPath, message: str, suggestion: str | None = None) -> None:
        self.problems.add(self.toml.where(place), message, line=self.toml.line(place), suggestion=suggestion)

    def _fault(self, circuit: Circuit, fault: Fault) -> None:
        if not fault.kind:
            self._note((fault.key,), fault.message, fault.suggestion)
            return
        key = fault.key
        if fault.kind == "part":
            key = _FILE_KEYS.get((circuit.parts[fault.number].kind, key), key)
        path: TomlPath = (fault.kind, self.checked.numbers[fault.kind][fault.number])
        place = (*path, key) if key and key in self._raw(path) else path
        if not key and fault.kind == "part" and "value" in self._raw(path):
            return  # the value is there and was refused already
        self._note(place, fault.message, fault.suggestion)

    def _raw(self, path: TomlPath) -> dict[str, Any]:
        raw: dict[str, Any] = self.toml.data[str(path[0])][path[1]]
        return raw

    def _part(self, path: TomlPath, table: PartShape) -> Part:
        for key in self._raw(path):
            if key in PartShape.model_fields and key not in _COMMON | _KEYS[table.kind]:
                known = listing(sorted(_KEYS[table.kind]), "and")
                close = nearest(key, _KEYS[table.kind])
                self._note(
                    (*path, key), f"a {table.kind} has no {key}; besides what every part has, it has {known}", close
                )
        return Part(
            ref=table.ref,
            kind=table.kind,
            nodes=tuple(table.nodes),
            value=self._value(path, table),
            tolerance=DEFAULT_TOLERANCE if table.tolerance is None else table.tolerance,
            ohms=table.ohms,
            load_ohms=table.load_ohms,
            volts={"winding": table.volts_rms, "rectifier": table.drop_v}.get(table.kind, table.volts),
            amps=table.amps,
            phase=table.phase or 0.0,
            position=0.5 if table.position is None else table.position,
            closed=table.closed is not False,
            fixed=bool(table.fixed),
            construction=table.construction,
            rated_watts=table.rated_watts,
            rated_volts=table.rated_volts,
            can=table.can,
            feature=table.feature,
        )

    def _value(self, path: TomlPath, table: PartShape) -> float | None:
        if table.value is None or table.kind not in _UNITS:
            return None
        try:
            return parse_part_value(
                table.value, _UNITS[table.kind], m_means_thousand=self.checked.shape.m_means_thousand
            ).value
        except NotationError as error:
            message = error.message
            if table.value.strip().startswith(("-", "−")):
                message = f"{quoted(table.value)} is negative; a {table.kind} has a value above nought"
            self._note((*path, "value"), message, error.suggestion)
            return None

    def _tube(self, path: TomlPath, table: TubeShape) -> Tube:
        electrodes, heater = [], None
        for name, node in table.nodes.items():
            place = (*path, "nodes", name)
            if name == "heater":
                if isinstance(node, str):
                    self._note(place, 'a heater has two nodes; write heater = ["H1", "H2"]')
                else:
                    heater = (node[0], node[1])
            elif isinstance(node, str):
                electrodes.append((name, node))
            else:
                self._note(place, f"the {name} is on one node; write {name} = {quoted(node[0])}")
        return Tube(
            ref=table.ref,
            type=table.type,
            electrodes=tuple(electrodes),
            section=table.section or "",
            heater=heater,
            oscillating_volts=None if table.oscillating is None else table.oscillating.grid_volts,
            feature=table.feature,
        )

    def _features(self, circuit: Circuit, family: Family | None) -> None:
        named = [part.ref for part in circuit.parts if part.feature is not None]
        named += [tube.ref for tube in circuit.tubes if tube.feature is not None]
        if named and circuit.family is None:
            self._note((), f'{named[0]} names a feature; say whose, with family = "…" at the top of the file')
        if family is None or circuit.family is None:
            return
        if circuit.family != family.id:
            message = f"the circuit belongs to family {quoted(circuit.family)}; it is read with {quoted(family.id)}"
            self._note(("family",), message)
            return
        features = {feature.id: feature for feature in family.features}
        for kind in ("part", "tube"):
            for path, table in self.checked.tables(kind):
                if table.feature is not None:
                    self._feature(path, kind, table, features)

    def _feature(self, path: TomlPath, kind: str, table: Any, features: dict[str, Feature]) -> None:
        place = (*path, "feature")
        feature = features.get(table.feature)
        if feature is None:
            message = f"the family has no feature {quoted(table.feature)}"
            self._note(place, message, nearest(table.feature, list(features)))
        elif kind == "part" and feature.unit is not None and feature.unit not in _units_of(table.kind):
            wanted = listing(_units_of(table.kind)) or "no unit"
            message = f"{quoted(feature.id)} is given in {feature.unit}; a {table.kind} goes by {wanted}"
            self._note(place, message)


def _units_of(kind: str) -> tuple[str, ...]:
    return ("H", "ohm") if kind == "inductor" else ((_FEATURE_UNITS[kind],) if kind in _FEATURE_UNITS else ())


def _point(name: str, point: TubePointShape) -> OperatingPoint:
    return OperatingPoint(
        type=name,
        service="",
        plate_volts=point.plate_volts,
        screen_volts=point.screen_volts,
        triode_connected=False,
        grid_volts=point.grid_volts,
        cathode_ohms=point.cathode_ohms,
        plate_amps=point.plate_amps,
        screen_amps=point.screen_amps,
        transconductance=point.transconductance_s,
        plate_ohms=point.plate_ohms,
        mu=point.mu,
        load_ohms=None,
        power_watts=None,
        evidence="read",
        source="",
    )
