"""Tube bases: where each pin stands when a socket is looked at from below."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from setwright.reference._tables import table


@dataclass(frozen=True, slots=True)
class Base:
    """A base seen from below, pins counted clockwise. `places` : equal steps of the circle, `pins` of them taken.

    first_degrees : where pin 1 stands, clockwise from the key or the middle of the gap, which is drawn at the top.
    cap : whether a top cap belongs to it.
    """

    name: str
    places: int
    pins: int
    first_degrees: float
    keyed_by: str
    cap: bool

    def degrees(self, pin: int) -> float:
        """Where a pin stands, clockwise from the top.

        >>> base_of("octal").degrees(1), base_of("7-pin miniature").degrees(7)
        (22.5, 315.0)
        """
        return self.first_degrees + (pin - 1) * 360.0 / self.places


def base_of(name: str) -> Base | None:
    """The base of that name ("octal + cap" has a cap besides), None where it is not known."""
    plain, _, cap = name.partition(" + ")
    row = _bases().get(plain)
    if row is None:
        return None
    return Base(plain, int(row["places"]), int(row["pins"]), float(row["first_degrees"]), row["keyed_by"], cap == "cap")


@cache
def _bases() -> dict[str, dict[str, str]]:
    return {row["base"]: row for row in table("tubes/bases")}
