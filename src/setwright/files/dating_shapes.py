"""The shape of the machine-readable dating answer, for its JSON Schema. Further keys may be added to it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from setwright.files.answer_shapes import AnswerShape, Probability

IsoDay = Annotated[str, Field(pattern=r"^\d{4}-\d{2}-\d{2}$")]


class DateRangeShape(AnswerShape):
    """A central range of days holding `level` of the probability, and its median."""

    low: IsoDay
    median: IsoDay
    high: IsoDay
    level: Probability


class PartDateShape(AnswerShape):
    """One date that a part may have: a week, month or day as ISO 8601 writes it."""

    date: str
    probability: Probability
    misread: str | None = None


class PartDatesShape(AnswerShape):
    """A dated part: what its date or code means, and whether it is a later replacement."""

    part: str
    code: str
    dates: list[PartDateShape]
    later_replacement_probability: Probability
    lag_weeks: list[float] = []
    remarks: list[str] = []


class ProductionShape(AnswerShape):
    """How many were made: null where there is no answer; mean and standard deviation are null where infinite."""

    low: int | None
    median: int | None
    high: int | None
    level: Probability
    unbiased_estimate: float | None
    mean: float | None = None
    standard_deviation: float | None = None
    known: int = 0
    remarks: list[str] = []
    blocks: list[ProductionShape] = []
    what: str = ""


class DateFindingShape(AnswerShape):
    """Something that contradicts something else, with the likely culprit."""

    kind: Literal["stamp", "part", "document", "survivor", "code", "documents"]
    item: str
    text: str
    probability: Probability | None


class NarrowingShape(AnswerShape):
    """What would narrow the date, and how long the range is expected to be then."""

    what: Literal["serial", "stamp", "survivor", "code", "part"]
    text: str
    days_less: float
    days_left: float


class CutInDateShape(AnswerShape):
    """When a change came in."""

    id: str
    date: DateRangeShape


class TrustShape(AnswerShape):
    """How well the stamped survivors are dated from each other, with their dated parts and by their serials alone."""

    sets: int
    median_days: float
    ninth_days: float
    covered: Probability
    alone_median_days: float
    alone_ninth_days: float
    alone_covered: Probability
    level: Probability


class DateMethodShape(AnswerShape):
    """How the answer was computed."""

    survivors: int
    elsewhere: int
    nodes: int
    step_weeks: int


class DateAnswerShape(AnswerShape):
    """The whole dating answer for one set."""

    format: Literal["setwright-date/1"]
    date: DateRangeShape
    parts: list[PartDatesShape]
    production: ProductionShape
    warnings: list[str]
    family: str = ""
    set: str = ""
    half: DateRangeShape | None = None
    mean: IsoDay | None = None
    before_evidence: DateRangeShape | None = None
    lines: dict[str, Probability] = {}
    findings: list[DateFindingShape] = []
    narrowing: list[NarrowingShape] = []
    cut_ins: list[CutInDateShape] = []
    explanations: list[str] = []
    method: DateMethodShape | None = None
    trust: TrustShape | None = None
