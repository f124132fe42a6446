"""The shape of our TOML files: tables, keys, types and ranges of single values.

What needs more than one value (unknown ids, overlapping states, contradictory bounds) is checked where the
values are put together. The JSON Schemas are generated from here.
"""

from __future__ import annotations

import datetime
from typing import Annotated, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

FAMILY_FORMAT = "setwright-family/1"
SET_FORMAT = "setwright-set/1"

KINDS = ("radio", "television", "test gear", "amplifier", "other")
UNITS = ("F", "ohm", "V", "A", "H", "W")
RESERVED = ("id", "serial", "line", "stamp_date", "note", "source", "seen_on", "condition")
"""Column names of a survivors file; no feature may be called so."""

LARGEST_SERIAL = 10**12

Access = Literal["outside", "back off", "chassis out", "underside", "powered", "lead lifted"]
Permanence = Literal["stamped", "riveted", "soldered", "plugged", "consumable"]
Sure = Literal["certain", "likely", "guess"]
Area = Literal["cabinet", "finish", "dial and glass", "chassis", "underside", "tubes", "picture tube", "cords", "other"]
"""The areas whose condition is noted, from the outside in."""

_NO_CONTROL = r"^[^\x00-\x1f\x7f]*$"
_NO_CONTROL_BUT_LINES = r"^[^\x00-\x08\x0b\x0c\x0e-\x1f\x7f]*$"
Text = Annotated[str, Field(max_length=5000, pattern=_NO_CONTROL_BUT_LINES)]
LongText = Annotated[str, Field(max_length=50_000, pattern=_NO_CONTROL_BUT_LINES)]
Named = Annotated[str, Field(min_length=1, max_length=500, pattern=_NO_CONTROL)]
# Ids stand in addresses, where a name that begins with a dot would mean a folder.
Id = Annotated[str, Field(pattern=r"^[A-Za-z0-9_-][A-Za-z0-9._-]*$", max_length=100)]
DotlessId = Annotated[str, Field(pattern=r"^[A-Za-z0-9_-]+$", max_length=100)]
PartId = Annotated[str, Field(pattern=r"^[^.\x00-\x1f\x7f]+$", max_length=100)]
Date = Annotated[str, Field(max_length=40)]
Serial = Annotated[int, Field(ge=0, le=LARGEST_SERIAL)]
Minutes = Annotated[float, Field(gt=0, le=100_000, allow_inf_nan=False)]
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
Share = Annotated[float, Field(ge=0, le=1)]

SHA256 = r"^[0-9a-f]{64}$"
Sum = Annotated[str, Field(pattern=SHA256)]


def _as_text(given: object) -> object:
    """A date or time that TOML read as such, as the text it was written with."""
    return given.isoformat() if isinstance(given, datetime.date | datetime.datetime) else given


When = Annotated[str, Field(max_length=40), BeforeValidator(_as_text)]
"""A date or a moment, in quotes or bare."""


class Shape(BaseModel):
    """A table whose every key is known and whose every value has exactly its type."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)


class AccessMinutesShape(Shape):
    """What opening costs, once, in minutes; each is opened after the one before it."""

    back_off: Annotated[Minutes | None, Field(alias="back off")] = None
    chassis_out: Annotated[Minutes | None, Field(alias="chassis out")] = None
    underside: Minutes | None = None
    powered: Minutes | None = None
    lead_lifted: Annotated[Minutes | None, Field(alias="lead lifted")] = None


class SerialBlockShape(Shape):
    """A run of serials behind a prefix, and where it stands on its line's production axis."""

    prefix: Annotated[str, Field(max_length=40)] = ""
    line: Id = "main"
    first: Serial
    last: Serial
    starts_at: Serial | None = None


class LineShape(Shape):
    """A parallel production line, named where it shares cut-ins with another."""

    id: Id
    shares_cutins_with: Id | None = None


class SourceShape(Shape):
    """A cited document with page."""

    id: Id
    title: Named
    page: Text = ""
    literature: Id | None = None


class FeatureShape(Shape):
    """Something that can be observed and differs between versions."""

    id: DotlessId
    label: Named | None = None
    group: Named = "chassis"
    access: Access
    minutes: Minutes = 1.0
    permanence: Permanence
    altered: Annotated[float, Field(gt=0, lt=1)] | None = None
    part: PartId | None = None
    unit: Literal["F", "ohm", "V", "A", "H", "W"] | None = None
    tolerance: Annotated[float, Field(gt=0, le=1)] | None = None
    overlap: Annotated[int, Field(ge=0, le=LARGEST_SERIAL)] = 0
    role: Literal["change", "variant"] = "change"
    lines: Annotated[list[Id], Field(min_length=1)] | None = None
    states: Annotated[list[Named], Field(min_length=1, max_length=100)]


class VersionShape(Shape):
    """A documented state of the product; versions stand in production order within one line."""

    id: Id
    label: Named | None = None
    line: Id = "main"
    based_on: Id | None = None
    sources: Annotated[list[Id], Field(max_length=100)] = []
    states: dict[str, Named] = {}


class CutInShape(Shape):
    """A documented bound on one change: in no set up to `after`, in every set from `before` on, made `about` a date."""

    feature: DotlessId
    from_state: Annotated[Named | None, Field(alias="from")] = None
    to_state: Annotated[Named | None, Field(alias="to")] = None
    line: Id | None = None
    after: Serial | None = None
    before: Serial | None = None
    about: Date | None = None
    source: Id | None = None


class FamilyShape(Shape):
    """A chassis family with its documented history."""

    format: Literal["setwright-family/1"]
    id: Id
    name: Named
    kind: Literal["radio", "television", "test gear", "amplifier", "other"]
    m_means_thousand: bool = False
    first_serial: Serial | None = None
    last_serial: Serial | None = None
    introduced: Date | None = None
    discontinued: Date | None = None
    access_minutes: AccessMinutesShape = AccessMinutesShape()
    serial_block: Annotated[list[SerialBlockShape], Field(max_length=1000)] = []
    line: Annotated[list[LineShape], Field(max_length=200)] = []
    source: Annotated[list[SourceShape], Field(max_length=2000)] = []
    feature: Annotated[list[FeatureShape], Field(max_length=2000)] = []
    version: Annotated[list[VersionShape], Field(max_length=1000)] = []
    cutin: Annotated[list[CutInShape], Field(max_length=5000)] = []


class ObservationShape(Shape):
    """What was seen of one feature."""

    feature: DotlessId
    state: Named | None = None
    sure: Sure = "certain"
    how: Literal["marked", "measured"] | None = None
    serviced: bool = False
    note: Text = ""
    source: Text = ""
    cannot_tell: bool = False
    seen_at: When | None = None
    seen_by: Text = ""


class DateEvidenceShape(Shape):
    """A stamp, a dated part or a document."""

    kind: Literal["stamp", "part", "document"]
    date: Date | None = None
    code: Annotated[str, Field(min_length=1, max_length=40)] | None = None
    scheme: Annotated[str, Field(min_length=1, max_length=40)] | None = None
    part: PartId | None = None


class IntakeShape(Shape):
    """What came in, when, from where and in what state."""

    on: When | None = None
    from_whom: Annotated[Text, Field(alias="from")] = ""
    place: Text = ""
    price: Text = ""
    by: Text = ""
    provenance: LongText = ""
    missing: Annotated[list[Named], Field(max_length=200)] = []
    came_with: Annotated[list[Named], Field(max_length=200)] = []


class ConditionShape(Shape):
    """The condition of one area of the set."""

    area: Area
    text: Text
    on: When | None = None


class PhotoShape(Shape):
    """A photo of the set, named by the sum of its content; `region` as shares of the picture's width and height."""

    sha256: Sum
    name: Text = ""
    caption: Text = ""
    feature: DotlessId | None = None
    region: Annotated[list[Share], Field(min_length=4, max_length=4)] | None = None
    taken: When | None = None
    added_at: When | None = None
    added_by: Text = ""


class ReadingShape(Shape):
    """One electrical measurement; the keys are the columns of a readings file."""

    point: Named
    quantity: Literal["volts", "volts_ac", "amps", "ohms"]
    value: Annotated[float, Field(allow_inf_nan=False)]
    unit: Named
    meter: Text = ""
    condition: Literal["on", "off"] = "on"
    accuracy: Positive | None = None
    resolution: Positive | None = None
    line_volts: Positive | None = None
    reference: Text = ""
    on: When | None = None


class NoteShape(Shape):
    """A note on the set, or on one feature of it."""

    text: LongText
    at: When | None = None
    by: Text = ""
    about: DotlessId | None = None


class WantShape(Shape):
    """Something that is looked for to complete or repair the set."""

    what: Named
    part: Text = ""
    note: Text = ""
    found: bool = False


class SetShape(Shape):
    """The set on the bench, what was seen of it and what else its case holds."""

    format: Literal["setwright-set/1"]
    id: Id
    family: Id
    name: Named | None = None
    m_means_thousand: bool = False
    serial: Annotated[str, Field(max_length=100)] | None = None
    line: Annotated[str, Field(max_length=100)] | None = None
    open_to: Access = "outside"
    intake: IntakeShape = IntakeShape()
    condition: Annotated[list[ConditionShape], Field(max_length=1000)] = []
    observation: Annotated[list[ObservationShape], Field(max_length=5000)] = []
    date_evidence: Annotated[list[DateEvidenceShape], Field(max_length=1000)] = []
    photo: Annotated[list[PhotoShape], Field(max_length=5000)] = []
    reading: Annotated[list[ReadingShape], Field(max_length=5000)] = []
    note: Annotated[list[NoteShape], Field(max_length=5000)] = []
    want: Annotated[list[WantShape], Field(max_length=1000)] = []
