"""A circuit as its drawing has it: parts between named nodes, tubes with their electrodes."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from setwright.reference import OperatingPoint

PART_KINDS = (
    "resistor",
    "capacitor",
    "inductor",
    "potentiometer",
    "switch",
    "lamp",
    "winding",
    "line",
    "source",
    "load",
    "rectifier",
)
_WOUND = ("inductor", "winding")
DEFAULT_TOLERANCE = 0.1
DEFAULT_LINE_VOLTS = 117.0
DEFAULT_LINE_HZ = 60.0


@dataclass(frozen=True, slots=True)
class Part:
    """One line of the parts list, SI units; what does not belong to the kind is None.

    ref : its reference. kind : one of PART_KINDS. nodes : two names; a potentiometer three, the wiper second.
    value : ohms of a resistor or potentiometer, farads, henries. tolerance : relative; a third of it is one standard
        deviation. ohms : direct-current resistance of an inductor, winding, line or source. load_ohms : what an
        inductor that is an output transformer's primary shows to sound, its loudspeaker connected.
    volts : rms of a winding or line at the circuit's line voltage; direct of a source; rated of a lamp; drop of a
        rectifier at `amps`. amps : of a load, a lamp, a rectifier. phase : degrees. position : 0 has the wiper at the
        first node. fixed : a source that does not scale with the line.
    feature : the identity feature whose state gives the value.
    """

    ref: str
    kind: str
    nodes: tuple[str, ...]
    value: float | None = None
    tolerance: float = DEFAULT_TOLERANCE
    ohms: float | None = None
    load_ohms: float | None = None
    volts: float | None = None
    amps: float | None = None
    phase: float = 0.0
    position: float = 0.5
    closed: bool = True
    fixed: bool = False
    construction: str | None = None
    rated_watts: float | None = None
    rated_volts: float | None = None
    can: str | None = None
    feature: str | None = None


@dataclass(frozen=True, slots=True)
class Tube:
    """One section of a tube: electrode names and the nodes they are on.

    electrodes : pairs (name, node); names are plate, cathode, grid (or grid1), grid2, grid3.
    section : "1", "2", "triode", "diode 1", … or "" where the type has one only. heater : its two nodes, or None.
    oscillating_volts : where the grid's bias comes from oscillation, what it is held at against its own cathode.
    feature : the identity feature whose state gives the type.
    """

    ref: str
    type: str
    electrodes: tuple[tuple[str, str], ...]
    section: str = ""
    heater: tuple[str, str] | None = None
    oscillating_volts: float | None = None
    feature: str | None = None

    @property
    def name(self) -> str:
        """Reference and section: V3, or "V3 (triode)"."""
        return f"{self.ref} ({self.section})" if self.section else self.ref

    def node(self, *names: str) -> str | None:
        """The node of the first of these electrodes that is drawn."""
        drawn = dict(self.electrodes)
        return next((drawn[name] for name in names if name in drawn), None)


@dataclass(frozen=True, slots=True)
class DrawnType:
    """A tube type that the drawing itself defines by published points. kind : as in the file."""

    name: str
    kind: str
    points: tuple[OperatingPoint, ...]
    source: str = ""


@dataclass(frozen=True, slots=True)
class Circuit:
    """The whole drawing. line_volts : at which the windings deliver their volts. family : whose features it names."""

    id: str
    ground: str
    parts: tuple[Part, ...]
    tubes: tuple[Tube, ...] = ()
    types: tuple[DrawnType, ...] = ()
    line_volts: float = DEFAULT_LINE_VOLTS
    line_hz: float = DEFAULT_LINE_HZ
    family: str | None = None

    def part(self, ref: str) -> Part:
        """The part of that reference; KeyError where there is none."""
        for part in self.parts:
            if part.ref == ref:
                return part
        raise KeyError(ref)

    def with_part(self, ref: str, **changes: object) -> Circuit:
        """The circuit with one part changed."""
        old = self.part(ref)
        new = replace(old, **changes)  # type: ignore[arg-type]
        return replace(self, parts=tuple(new if part is old else part for part in self.parts))

    @property
    def nodes(self) -> tuple[str, ...]:
        """Every node in the order of the drawing, ground included."""
        names: dict[str, None] = {}
        for part in self.parts:
            names.update(dict.fromkeys(part.nodes))
        for tube in self.tubes:
            names.update(dict.fromkeys(node for _, node in tube.electrodes))
        return tuple(names)


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong in one place of a drawing. kind : part, tube, tube_type or "" for the whole; number : which one.

    key : the key it is about, "" for the table.
    """

    kind: str
    number: int
    key: str
    message: str
    suggestion: str | None = None


@dataclass(frozen=True, slots=True)
class SeenState:
    """What a set has at a feature: the state, and value with unit (SI) where the feature is numeric.

    how : how it is known, in words.
    """

    feature: str
    state: str
    value: float | None = None
    unit: str | None = None
    how: str = "seen"


@dataclass(frozen=True, slots=True)
class Fitted:
    """The circuit of one set. notes : which parts go by the set, in words."""

    circuit: Circuit
    notes: tuple[str, ...] = field(default_factory=tuple)


def for_set(circuit: Circuit, states: dict[str, SeenState]) -> Fitted:
    """The drawing with the values and types of one set in it; parts whose state is "absent" are left out.

    A part names its feature: a numeric state gives its value, any other leaves the drawn value. A tube that names one
    has the state as its type.
    """
    parts, tubes, notes = [], [], []
    for part in circuit.parts:
        state = states.get(part.feature) if part.feature is not None else None
        if state is None:
            parts.append(part)
        elif state.state == "absent":
            notes.append(f"{part.ref} is left out: {part.feature} is absent ({state.how}).")
        elif state.value is not None:
            key = "ohms" if state.unit == "ohm" and part.kind in _WOUND else "value"
            if state.value != getattr(part, key):
                notes.append(f"{part.ref} is {state.state} ({state.how}).")
            parts.append(replace(part, ohms=state.value) if key == "ohms" else replace(part, value=state.value))
        else:
            parts.append(part)
    for tube in circuit.tubes:
        state = states.get(tube.feature) if tube.feature is not None else None
        if state is None or state.state == tube.type:
            tubes.append(tube)
        elif state.state == "absent":
            notes.append(f"{tube.ref} is left out: {tube.feature} is absent ({state.how}).")
        else:
            tubes.append(replace(tube, type=state.state))
            notes.append(f"{tube.ref} is a {state.state} ({state.how}).")
    return Fitted(replace(circuit, parts=tuple(parts), tubes=tuple(tubes)), tuple(notes))
