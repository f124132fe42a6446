"""Tube types: ratings, heaters and pins."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from setwright.reference._tables import MEMORY, number, table


@dataclass(frozen=True, slots=True)
class Pin:
    """One pin of a type's base. number : as the base counts, "cap" for a top cap.

    electrode : as the sheet names it. section : the unit it belongs to ("1", "2"), "" where there is one only.
    verified : False where the row rests on memory alone; such a pin is shown as unverified.
    """

    number: str
    electrode: str
    section: str
    evidence: str
    source: str

    @property
    def verified(self) -> bool:
        """Whether anything but memory says so."""
        return self.evidence != MEMORY


@dataclass(frozen=True, slots=True)
class TubeType:
    """What a type's sheet gives: class, base, heater and ratings, in V, A, W; None is not known.

    rated_by : which system the limits belong to (design-center and design-maximum limits are not comparable).
    Dissipations of twin types are for each unit.
    """

    name: str
    kind: str
    base: str
    basing: str
    heater_volts: float | None
    heater_amps: float | None
    heater_evidence: str
    plate_volts: float | None
    screen_volts: float | None
    plate_watts: float | None
    screen_watts: float | None
    output_amps: float | None
    inverse_volts: float | None
    rated_by: str
    ratings_evidence: str
    source: str
    pins: tuple[Pin, ...] = ()


@dataclass(frozen=True, slots=True)
class Base:
    """A tube's base. pins : how many; thick_pins : those thicker than the others, which carry the heater.

    mark : where counting begins: gap (the pins stand as if there were one more, whose place is empty), key, or "".
    """

    name: str
    pins: int
    thick_pins: tuple[str, ...]
    mark: str
    evidence: str
    source: str


@dataclass(frozen=True, slots=True)
class Equivalent:
    """A type whose characteristics are another's."""

    name: str
    same_as: str
    evidence: str
    source: str


def tube_type(name: str) -> TubeType | None:
    """The type of that name, None where the tables have none.

    >>> tube_type("6V6GT").base, tube_type("6V6GT").pins[2].electrode
    ('octal', 'plate')
    """
    return _types().get(name)


def tube_types() -> tuple[str, ...]:
    """The names of all types, in the order of the table."""
    return tuple(_types())


def tube_base(name: str) -> Base | None:
    """The base of that name, None where the table has none.

    >>> tube_base("octal").pins
    8
    """
    return _bases().get(name)


def tube_bases() -> tuple[str, ...]:
    """The names of all bases, in the order of the table."""
    return tuple(_bases())


def equivalent(name: str) -> Equivalent | None:
    """The type whose characteristics this one shares, None where it has its own or none."""
    return _equivalents().get(name)


@cache
def _bases() -> dict[str, Base]:
    return {
        r["base"]: Base(
            name=r["base"],
            pins=int(r["pins"]),
            thick_pins=tuple(r["thick_pins"].split()),
            mark=r["mark"],
            evidence=r["evidence"],
            source=r["source"],
        )
        for r in table("tubes/bases")
    }


@cache
def _equivalents() -> dict[str, Equivalent]:
    return {
        r["type"]: Equivalent(r["type"], r["same_as"], r["evidence"], r["source"]) for r in table("tubes/equivalents")
    }


@cache
def _pins() -> dict[str, tuple[Pin, ...]]:
    found: dict[str, list[Pin]] = {}
    for r in table("tubes/pinout"):
        found.setdefault(r["type"], []).append(Pin(r["pin"], r["electrode"], r["unit"], r["evidence"], r["source"]))
    return {name: tuple(pins) for name, pins in found.items()}


@cache
def _types() -> dict[str, TubeType]:
    return {
        r["type"]: TubeType(
            name=r["type"],
            kind=r["class"],
            base=r["base"],
            basing=r["basing_code"],
            heater_volts=number(r["heater_V"]),
            heater_amps=number(r["heater_A"]),
            heater_evidence=r["heater_evidence"],
            plate_volts=number(r["max_plate_V"]),
            screen_volts=number(r["max_screen_V"]),
            plate_watts=number(r["max_plate_dissipation_W"]),
            screen_watts=number(r["max_screen_dissipation_W"]),
            output_amps=number(r["max_dc_output_mA"], 1e-3),
            inverse_volts=number(r["peak_inverse_V"]),
            rated_by=r["rating_system"],
            ratings_evidence=r["ratings_evidence"],
            source=r["source"],
            pins=_pins().get(r["type"], ()),
        )
        for r in table("tubes/tubes")
    }
