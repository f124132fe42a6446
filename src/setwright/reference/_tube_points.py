"""Published operation of tubes: points, curves, charts, drops; and the models fitted to them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from setwright.reference._tables import MEMORY, number, table

_MILLI, _MICRO = 1e-3, 1e-6


@dataclass(frozen=True, slots=True)
class OperatingPoint:
    """One published row, SI units; None is not given.

    triode_connected : screen (and suppressor) tied to the plate; the plate current is then that of both.
    mu : amplification factor; of a pentode that from its grid to its screen, or of its triode connection.
    cathode_ohms : the row's bias comes from this resistor where `grid_volts` is None.
    plate_amps : for one unit or tube.
    """

    type: str
    service: str
    plate_volts: float | None
    screen_volts: float | None
    triode_connected: bool
    grid_volts: float | None
    cathode_ohms: float | None
    plate_amps: float | None
    screen_amps: float | None
    transconductance: float | None
    plate_ohms: float | None
    mu: float | None
    load_ohms: float | None
    power_watts: float | None
    evidence: str
    source: str

    @property
    def from_memory(self) -> bool:
        """Whether the row is recalled and no proof of anything."""
        return self.evidence == MEMORY


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """One point read from a printed plate family, SI units. `uncertainty` in amperes."""

    type: str
    screen_volts: float | None
    grid_volts: float
    plate_volts: float
    plate_amps: float
    uncertainty: float
    evidence: str
    source: str


@dataclass(frozen=True, slots=True)
class CoupledStage:
    """One row of a resistance-coupled chart, SI units; None is not given."""

    type: str
    supply_volts: float
    plate_ohms: float
    next_grid_ohms: float | None
    own_grid_ohms: float | None
    cathode_ohms: float
    screen_ohms: float | None
    gain: float | None
    plate_amps: float | None
    screen_amps: float | None
    cathode_amps: float | None
    evidence: str
    source: str
    notes: str

    @property
    def from_memory(self) -> bool:
        """Whether the row is recalled and no proof of anything."""
        return self.evidence == MEMORY


@dataclass(frozen=True, slots=True)
class RectifierLaw:
    """Current = perveance × volts^1.5 for one plate, in A/V^1.5. fitted_drop : what it was fitted to, as printed."""

    type: str
    perveance: float
    fitted_drop: str
    evidence: str
    source: str


@dataclass(frozen=True, slots=True)
class Regulator:
    """A cold-cathode regulator: running and starting volts, least and largest current in amperes."""

    type: str
    volts: float
    least_amps: float
    largest_amps: float
    starting_volts: float
    evidence: str


@dataclass(frozen=True, slots=True)
class StoredFit:
    """A fitted model: `form` (triode | pentode) and its parameters by name.

    misfit : root-mean-square relative error of plate current over the points fitted. worst : the largest one.
    points : how many rows, `remembered` of them from memory. charts : how many chart rows it was fitted to besides.
    chart_misfit : root-mean-square relative error of the amplification over those that print one; None without any.
    """

    type: str
    form: str
    parameters: dict[str, float]
    misfit: float
    worst: float
    points: int
    remembered: int
    charts: int
    chart_misfit: float | None


def operating_points(name: str) -> tuple[OperatingPoint, ...]:
    """Rows of that type for one tube or unit (rows of pairs are left out), in the order of the table."""
    return _points().get(name, ())


def types_with_points() -> tuple[str, ...]:
    """Every type that has at least one row."""
    return tuple(_points())


def curve_points(name: str) -> tuple[CurvePoint, ...]:
    """Points of that type's plate families."""
    return _curves().get(name, ())


def coupled_stages(name: str | None = None) -> tuple[CoupledStage, ...]:
    """All rows of the resistance-coupled charts, or those of one type."""
    return _stages() if name is None else tuple(row for row in _stages() if row.type == name)


def rectifier_laws(name: str) -> tuple[RectifierLaw, ...]:
    """Published three-halves-power laws of a type, the first one preferred."""
    return _laws().get(name, ())


def regulator(name: str) -> Regulator | None:
    """The regulator of that type, None where it is none."""
    return _regulators().get(name)


def stored_fit(name: str) -> StoredFit | None:
    """The model fitted to a type's own points, None where there is none."""
    return _fits().get(name)


def tube_assumption(id: str) -> float:  # noqa: A002 - the table's word
    """A figure that no sheet gives, from data/tubes/assumptions.csv with where it is taken from.

    >>> tube_assumption("spread-current")
    0.12
    """
    return next(float(r["value"]) for r in table("tubes/assumptions") if r["id"] == id)


@cache
def _points() -> dict[str, tuple[OperatingPoint, ...]]:
    found: dict[str, list[OperatingPoint]] = {}
    for r in table("tubes/operating_points"):
        if r["unit"].startswith(("pair", "two units")):
            continue
        tied = r["screen_V"] == "tied to plate"
        plate = number(r["plate_V"])
        found.setdefault(r["type"], []).append(
            OperatingPoint(
                type=r["type"],
                service=r["service"],
                plate_volts=plate,
                screen_volts=plate if tied else number(r["screen_V"]),
                triode_connected=tied,
                grid_volts=number(r["grid1_V"]),
                cathode_ohms=number(r["cathode_resistor_ohm"]),
                plate_amps=number(r["plate_mA"], _MILLI),
                screen_amps=number(r["screen_mA"], _MILLI),
                transconductance=number(r["gm_umho"], _MICRO),
                plate_ohms=number(r["rp_ohm"]),
                mu=number(r["mu"]),
                load_ohms=number(r["load_ohm"]),
                power_watts=number(r["power_W"]),
                evidence=r["evidence"],
                source=r["source"],
            )
        )
    return {name: tuple(rows) for name, rows in found.items()}


@cache
def _curves() -> dict[str, tuple[CurvePoint, ...]]:
    found: dict[str, list[CurvePoint]] = {}
    for r in table("tubes/plate_curves"):
        if r["grid1_V"] == "" or r["plate_mA"] == "":
            continue  # a rectifier's drop, or a screen's current alone
        name = r["type"].split(" ")[0]
        found.setdefault(name, []).append(
            CurvePoint(
                type=name,
                screen_volts=number(r["screen_V"]),
                grid_volts=float(r["grid1_V"]),
                plate_volts=float(r["plate_V"]),
                plate_amps=float(r["plate_mA"]) * _MILLI,
                uncertainty=(number(r["uncertainty_mA"]) or 0.0) * _MILLI,
                evidence=r["evidence"],
                source=r["source"],
            )
        )
    return {name: tuple(rows) for name, rows in found.items()}


@cache
def _stages() -> tuple[CoupledStage, ...]:
    return tuple(
        CoupledStage(
            type=r["type"].split(" ")[0],
            supply_volts=float(r["supply_V"]),
            plate_ohms=float(r["plate_R_ohm"]),
            next_grid_ohms=number(r["following_grid_R_ohm"]),
            own_grid_ohms=number(r["own_grid_R_ohm"]),
            cathode_ohms=float(r["cathode_R_ohm"] or 0.0),
            screen_ohms=number(r["screen_R_ohm"]),
            gain=number(r["voltage_gain"]),
            plate_amps=number(r["plate_mA"], _MILLI),
            screen_amps=number(r["screen_mA"], _MILLI),
            cathode_amps=number(r["cathode_mA"], _MILLI),
            evidence=r["evidence"],
            source=r["source"],
            notes=r["notes"],
        )
        for r in table("tubes/resistance_coupled")
    )


@cache
def _laws() -> dict[str, tuple[RectifierLaw, ...]]:
    found: dict[str, list[RectifierLaw]] = {}
    for r in table("tubes/rectifier_perveance"):
        law = float(r["perveance_A_per_V1.5_per_plate"])
        found.setdefault(r["type"], []).append(
            RectifierLaw(r["type"], law, f"{r['drop_V_at_mA']} mA", r["evidence"], r["source"])
        )
    for r in table("tubes/plate_curves"):
        if r["grid1_V"] == "" and r["type"] not in found:
            volts, amps = float(r["plate_V"]), float(r["plate_mA"]) * _MILLI
            law = amps / volts**1.5
            found[r["type"]] = [
                RectifierLaw(r["type"], law, f"{volts:g} V at {r['plate_mA']} mA", r["evidence"], r["source"])
            ]
    return {name: tuple(laws) for name, laws in found.items()}


@cache
def _regulators() -> dict[str, Regulator]:
    return {
        r["type"]: Regulator(
            r["type"],
            float(r["nominal_V"]),
            float(r["min_mA"]) * _MILLI,
            float(r["max_mA"]) * _MILLI,
            float(r["min_starting_supply_V"]),
            r["evidence"],
        )
        for r in table("tubes/voltage_regulators")
    }


@cache
def _fits() -> dict[str, StoredFit]:
    names = ("mu", "ex", "kg1", "kp", "kvb", "vct", "foot", "share", "knee", "pull")
    return {
        r["type"]: StoredFit(
            r["type"],
            r["form"],
            {name: float(r[name]) for name in names if r[name] != ""},
            float(r["misfit"]),
            float(r["worst"]),
            int(r["points"]),
            int(r["remembered"]),
            int(r["charts"]),
            number(r["chart_misfit"]),
        )
        for r in table("tubes/fits")
    }
