"""The shape of a circuit file, for its reader and its JSON Schema."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from setwright.files.shapes import Id, Named, Shape, Text

CIRCUIT_FORMAT = "setwright-circuit/1"

Number = Annotated[float, Field(allow_inf_nan=False, ge=-1e9, le=1e9)]
Node = Named


class PartShape(Shape):
    """One line of the parts list; which keys belong depends on its kind."""

    ref: Named
    kind: Literal[
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
    ]
    nodes: Annotated[list[Node], Field(min_length=2, max_length=3)]
    value: Named | None = None
    tolerance: Annotated[float, Field(gt=0, le=2)] | None = None
    position: Annotated[float, Field(ge=0, le=1)] | None = None
    ohms: Number | None = None
    load_ohms: Number | None = None
    volts: Number | None = None
    volts_rms: Number | None = None
    phase: Annotated[float, Field(ge=-360, le=360)] | None = None
    amps: Number | None = None
    drop_v: Number | None = None
    closed: bool | None = None
    fixed: bool | None = None
    construction: Named | None = None
    rated_watts: Annotated[float, Field(gt=0, le=1e6)] | None = None
    rated_volts: Annotated[float, Field(gt=0, le=1e6)] | None = None
    can: Named | None = None
    feature: Id | None = None
    note: Text = ""


class OscillatingShape(Shape):
    """A grid whose bias comes from oscillation."""

    grid_volts: Annotated[float, Field(ge=-500, lt=0)]


class TubeShape(Shape):
    """One section of a tube with its electrodes; `heater` among the nodes has two."""

    ref: Named
    type: Named
    section: Named | None = None
    nodes: dict[str, Node | Annotated[list[Node], Field(min_length=2, max_length=2)]]
    oscillating: OscillatingShape | None = None
    feature: Id | None = None
    note: Text = ""


class TubePointShape(Shape):
    """A published point of a tube type, SI units."""

    plate_volts: Number
    plate_amps: Annotated[float, Field(gt=0, le=100)]
    screen_volts: Number | None = None
    grid_volts: Number | None = None
    cathode_ohms: Annotated[float, Field(gt=0, le=1e8)] | None = None
    screen_amps: Annotated[float, Field(gt=0, le=100)] | None = None
    transconductance_s: Annotated[float, Field(gt=0, le=1)] | None = None
    plate_ohms: Annotated[float, Field(gt=0, le=1e9)] | None = None
    mu: Annotated[float, Field(gt=0, le=1e4)] | None = None


class TubeTypeShape(Shape):
    """A tube type that is not in the built-in tables, by its published points."""

    id: Named
    kind: Literal["diode", "triode", "pentode", "beam", "converter", "regulator"]
    point: Annotated[list[TubePointShape], Field(min_length=1, max_length=200)]
    source: Text = ""


class CircuitShape(Shape):
    """A circuit: parts between named nodes."""

    format: Literal["setwright-circuit/1"]
    id: Id
    name: Named | None = None
    family: Id | None = None
    ground: Node
    line_volts: Annotated[float, Field(gt=0, le=1000)] = 117.0
    line_hz: Annotated[float, Field(ge=10, le=1000)] = 60.0
    m_means_thousand: bool = False
    part: Annotated[list[PartShape], Field(max_length=3000)] = []
    tube: Annotated[list[TubeShape], Field(max_length=500)] = []
    tube_type: Annotated[list[TubeTypeShape], Field(max_length=200)] = []
