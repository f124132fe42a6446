"""What dating answers. One frozen value holds every figure; terminal, JSON and pages lay it out."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from setwright.chronology.weeks import Weeks


@dataclass(frozen=True, slots=True)
class DateRange:
    """A central range of days holding `level` of the probability, and its median."""

    low: datetime.date
    median: datetime.date
    high: datetime.date
    level: float

    @property
    def days(self) -> int:
        """How long the range is."""
        return (self.high - self.low).days + 1


@dataclass(frozen=True, slots=True)
class PartDate:
    """One date that a part may have: as ISO writes it, its probability, and the code it needs if it was misread."""

    date: str
    probability: float
    misread: str | None = None


@dataclass(frozen=True, slots=True)
class PartAnswer:
    """A dated part: what its date or code means here, and whether it is a later replacement.

    dates : the most probable first. lag_weeks : the usual stock lag of its kind: low, median, high (level of the
    answer). remarks : what is odd about the code.
    """

    part: str
    code: str
    dates: tuple[PartDate, ...]
    later_replacement_probability: float
    lag_weeks: tuple[float, float, float]
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class DateFinding:
    """Something that contradicts something else.

    kind : "stamp", "part", "document", "survivor", "code" or "documents". probability : that the item named is the
    culprit, None where it cannot be but so. item : the part, or the survivor's id, or "".
    """

    kind: str
    item: str
    text: str
    probability: float | None = None


@dataclass(frozen=True, slots=True)
class Narrowing:
    """Something that would narrow the date: expected days by which the range then gets shorter, and what is left."""

    what: str
    text: str
    days_less: float
    days_left: float


@dataclass(frozen=True, slots=True)
class HowMany:
    """How many sets were made (of one line or of all), or of one block of serials.

    low, median, high : central range holding `level`; None where the posterior has no end (one serial known and none
    documented). mean, standard_deviation : None where they are infinite. unbiased_estimate : the classical one, None
    where too few serials are known. known : serials in full that it rests on. remarks : plain words where an assumption
    fails or a figure is infinite.
    """

    what: str
    known: int
    low: int | None
    median: int | None
    high: int | None
    level: float
    mean: float | None
    standard_deviation: float | None
    unbiased_estimate: float | None
    remarks: tuple[str, ...] = ()
    parts: tuple[HowMany, ...] = ()


@dataclass(frozen=True, slots=True)
class CutInDate:
    """When a change came in, by its cut-in on the serials."""

    change: str
    date: DateRange


@dataclass(frozen=True, slots=True)
class Mark:
    """A dated set on the picture of the run: its position, the days it can have been finished in, what says so.

    kind : "stamp" or "part". odd : its evidence contradicts its place in the run.
    """

    set: str
    line: str
    position: int
    low: datetime.date
    high: datetime.date
    kind: str
    odd: bool = False


@dataclass(frozen=True, slots=True)
class RunCurve:
    """The date curve of a line: at each position (P,) the day, as an ordinal, by which the number's turn had come with
    the probabilities of a central range of `level`, and the median. pace : (P,) sets a week about there, by the slope
    of the mean curve.
    """

    line: str
    positions: np.ndarray
    low: np.ndarray
    median: np.ndarray
    high: np.ndarray
    level: float
    pace: np.ndarray


@dataclass(frozen=True, slots=True)
class Picture:
    """What the pictures need: the grid of weeks, this set's probability over it, the curves, the marks.

    mass : (weeks.count,) probability of each step for this set. place : by line, the ranges of positions it may have,
    both ends included. parts : for the ribbon, by number of the part in `DateAnswer.parts`, (weeks.count,) probability
    that this part alone gives to the set's date.
    """

    weeks: Weeks
    mass: np.ndarray
    curves: tuple[RunCurve, ...]
    marks: tuple[Mark, ...]
    place: Mapping[str, tuple[tuple[int, int], ...]]
    parts: tuple[np.ndarray, ...]


@dataclass(frozen=True, slots=True)
class Method:
    """How the answer was computed. survivors : sets on chains; elsewhere : dated sets without a place of their own.

    nodes : of the longest chain. step_weeks : weeks a step of the grid.
    """

    survivors: int
    elsewhere: int
    nodes: int
    step_weeks: int


@dataclass(frozen=True, slots=True)
class DateAnswer:
    """The whole dating answer for one set.

    date and half : ranges of `level` and of one half. mean : the mean day. lines : probability of each line.
    before_evidence : the range from serial and survivors alone, without what is dated on the set itself.
    """

    family: str
    set: str
    date: DateRange
    half: DateRange
    mean: datetime.date
    before_evidence: DateRange
    lines: Mapping[str, float]
    parts: tuple[PartAnswer, ...]
    production: HowMany
    findings: tuple[DateFinding, ...]
    narrowing: tuple[Narrowing, ...]
    cut_ins: tuple[CutInDate, ...]
    explanations: tuple[str, ...]
    warnings: tuple[str, ...]
    method: Method
    picture: Picture


@dataclass(frozen=True, slots=True)
class LeftOut:
    """One dated set dated from the others: its own stamp set aside.

    error_days : from the middle of the stamp to the median (positive: dated too late). inside : the middle lies in the
    range. alone : the same from the serial only, without its dated parts.
    """

    set: str
    stamp: str
    date: DateRange
    error_days: float
    inside: bool
    alone: DateRange
    alone_error_days: float
    alone_inside: bool


@dataclass(frozen=True, slots=True)
class Trust:
    """How well the chain dates the stamped sets from the others, so that one knows how far to trust it.

    median_days, ninth_days : median and 90th percentile of the absolute error; covered : share inside the range; each
    with the dated parts of the set, and from the serial alone.
    """

    sets: tuple[LeftOut, ...]
    median_days: float
    ninth_days: float
    covered: float
    alone_median_days: float
    alone_ninth_days: float
    alone_covered: float
    level: float
