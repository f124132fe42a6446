"""What a set file holds beside observations and date evidence: intake, condition, photos, readings, notes, wants."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal, get_args

from setwright.files.shapes import Area
from setwright.notation import DateInterval
from setwright.notation.units import UNIT_WORDS, plain_word

AREAS: tuple[Area, ...] = get_args(Area)
"""The areas whose condition is noted, from the outside in."""

UNIT_OF = {"volts": "V", "volts_ac": "V", "amps": "A", "ohms": "ohm"}
"""The SI unit of each quantity that a meter reads."""


@dataclass(frozen=True, slots=True)
class Intake:
    """What came in, when, from whom and where, for how much, who took it in, and what is known of its past.

    `price` is text with its currency. `missing` and `came_with` name things, one each.
    """

    on: DateInterval | None = None
    from_whom: str = ""
    place: str = ""
    price: str = ""
    by: str = ""
    provenance: str = ""
    missing: tuple[str, ...] = ()
    came_with: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Condition:
    """The condition of one of the AREAS, as found `on` a date."""

    area: Area
    text: str
    on: DateInterval | None = None


@dataclass(frozen=True, slots=True)
class Region:
    """A rectangle of a picture as it is shown: left, top, width and height as shares of its width and height."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Photo:
    """A photo of the set, named by the SHA-256 sum of its content; it may show one feature, in one region.

    `taken` is a date or a moment of local time as written, in ISO form; "" where unknown.
    """

    sha256: str
    name: str = ""
    caption: str = ""
    feature: str | None = None
    region: Region | None = None
    taken: str = ""
    added_at: datetime | None = None
    added_by: str = ""


@dataclass(frozen=True, slots=True)
class Reading:
    """One electrical measurement as written: `value` in `unit`, with this meter, the set switched on or off.

    accuracy : relative. resolution : in the unit as written. line_volts : line voltage at that reading [V].
    """

    point: str
    quantity: Literal["volts", "volts_ac", "amps", "ohms"]
    value: float
    unit: str
    meter: str = ""
    condition: Literal["on", "off"] = "on"
    accuracy: float | None = None
    resolution: float | None = None
    line_volts: float | None = None
    reference: str = ""
    on: DateInterval | None = None

    @property
    def si_value(self) -> float:
        """The value in V, A or ohm."""
        return self.value * float(UNIT_WORDS[plain_word(self.unit)][1])


@dataclass(frozen=True, slots=True)
class Note:
    """A note on the set or, with `about`, on one of its features."""

    text: str
    at: datetime | None = None
    by: str = ""
    about: str | None = None


@dataclass(frozen=True, slots=True)
class Want:
    """Something looked for to complete or repair the set; `part` is its reference in parts lists."""

    what: str
    part: str = ""
    note: str = ""
    found: bool = False


@dataclass(frozen=True, slots=True)
class Seen:
    """When and by whom an observation was made, where that was kept."""

    at: datetime | None = None
    by: str = ""


@dataclass(frozen=True, slots=True)
class Case:
    """Everything in a set file that identity and dating have no use for. `name` is what the owner calls the set.

    `seen` runs parallel to the observations of the set.
    """

    name: str = ""
    intake: Intake = Intake()
    condition: tuple[Condition, ...] = ()
    seen: tuple[Seen, ...] = ()
    photos: tuple[Photo, ...] = ()
    readings: tuple[Reading, ...] = ()
    notes: tuple[Note, ...] = ()
    wants: tuple[Want, ...] = ()
