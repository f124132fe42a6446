"""What to expect in a set: the values that answer a question, immutable and ready to be laid out."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Driver:
    """A part or tube that the spread of a point comes from: what one standard deviation of it moves the point by."""

    name: str
    change: float


@dataclass(frozen=True, slots=True)
class PointExpectation:
    """One point of the chart. quantity : volts or ohms; unit V or ohm.

    value : as the given meter would show it, None where there is no path at all. low, high : the healthy range that
    holds `level` of all sound sets. unloaded : without a meter. meter : with its range where one was given.
    pins : the electrodes on this node, ("V3", "triode", "plate"). drivers : what spreads it most.
    """

    point: str
    reference: str
    quantity: str
    value: float | None
    low: float | None
    high: float | None
    level: float
    unit: str
    unloaded: float | None = None
    meter: str | None = None
    pins: tuple[tuple[str, str, str], ...] = ()
    drivers: tuple[Driver, ...] = ()


@dataclass(frozen=True, slots=True)
class TubeExpectation:
    """One section at work. plate_volts : against its own cathode, of a rectifier the mean drop while it conducts.

    misfit : how well the type's model meets its published rows; None for laws of one constant. proven : whether any
    of these rows is not from memory. rated_type : whose rows they are. plate_watts_limit : the rating, where known.
    """

    ref: str
    section: str
    type: str
    plate_volts: float
    plate_amps: float
    screen_amps: float
    grid_amps: float
    dissipation_watts: float
    plate_watts_limit: float | None
    rated_type: str
    misfit: float | None
    proven: bool


@dataclass(frozen=True, slots=True)
class SupplyExpectation:
    """One reservoir: mean voltage, ripple peak to peak, and the largest current of any rectifier that feeds it."""

    node: str
    volts: float
    ripple_volts: float
    peak_amps: float
    mean_amps: float


@dataclass(frozen=True, slots=True)
class StageFigure:
    """An amplifying stage about its operating point: voltage gain from grid to plate at `hertz`, with its load.

    output_watts : what it gives in class A, None where its plate feeds no output transformer.
    """

    ref: str
    section: str
    gain: float
    hertz: float
    transconductance: float
    plate_ohms: float
    grid_node: str
    plate_node: str
    output_watts: float | None = None


@dataclass(frozen=True, slots=True)
class TimeConstant:
    """A capacitor and the resistance it works against.

    tilt : share by which a flat top sags in half a field, 1/120 s.
    """

    ref: str
    seconds: float
    corner_hertz: float
    tilt: float


@dataclass(frozen=True, slots=True)
class Expectation:
    """The whole answer for one circuit in one state. condition : on or off (tubes cold, unplugged)."""

    circuit: str
    condition: str
    line_volts: float
    meter: str | None
    points: tuple[PointExpectation, ...]
    tubes: tuple[TubeExpectation, ...] = ()
    supplies: tuple[SupplyExpectation, ...] = ()
    stages: tuple[StageFigure, ...] = ()
    time_constants: tuple[TimeConstant, ...] = ()
    warnings: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
