"""The values identity computes with: a family's documented history, a set, its fellow survivors.

All of them are immutable. Whoever builds them (a file reader, the workbench) has checked them
against the format; what only the computation can notice is raised as `ImpossibleHistory`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

ACCESSES = ("outside", "back off", "chassis out", "underside", "powered", "lead lifted")
"""How far in one must go to see a feature, in the order in which a set is opened."""

PERMANENCES = ("stamped", "riveted", "soldered", "plugged", "consumable")
"""How likely a feature has been altered since the factory, the most lasting first."""

SURENESSES = ("certain", "likely", "guess")
"""How sure the person was of what was seen."""

ABSENT = "absent"
MAIN_LINE = "main"
MAIN_GROUP = "chassis"


class ImpossibleHistory(ValueError):
    """The documents contradict each other, so no production history is left; the message says where."""


@dataclass(frozen=True, slots=True)
class Feature:
    """Something that can be observed and differs between versions.

    `states` are written as in the family file. A numeric feature has a `unit` and in `values` the
    SI value of each state (None for "absent"); `tolerance` is relative.
    `altered` is the feature's own marginal probability of alteration, where the family states one.
    `lines` limits the feature to some lines; in any other line its factory state is "absent".
    """

    id: str
    label: str
    states: tuple[str, ...]
    access: str = "outside"
    permanence: str = "soldered"
    unit: str | None = None
    values: tuple[float | None, ...] = ()
    tolerance: float = 0.2
    minutes: float = 1.0
    altered: float | None = None
    group: str = MAIN_GROUP
    role: Literal["change", "variant"] = "change"
    lines: tuple[str, ...] | None = None
    overlap: int = 0
    part: str | None = None

    @property
    def all_states(self) -> tuple[str, ...]:
        """The states a set may show.

        A feature that only some lines have can be "absent" even where its list does not say so;
        the word then goes first, because service practice adds parts more often than it removes them.
        """
        if self.lines is not None and ABSENT not in self.states:
            return (ABSENT, *self.states)
        return self.states

    def in_line(self, line: str) -> bool:
        """Whether sets of this line have the feature at all."""
        return self.lines is None or line in self.lines


@dataclass(frozen=True, slots=True)
class Version:
    """A documented state of the product. `states` is complete: what `based_on` brings in is in it.

    A feature missing from `states` is one this version is silent about.
    """

    id: str
    label: str
    line: str = MAIN_LINE
    states: Mapping[str, str] = field(default_factory=dict)
    sources: tuple[str, ...] = ()
    based_on: str | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """A parallel production line or trim. Lines do not share cut-ins unless one says so."""

    id: str
    shares_cutins_with: str | None = None


@dataclass(frozen=True, slots=True)
class SerialBlock:
    """A run of serials `first` … `last` behind a prefix, standing on the line's axis from `starts_at` on.

    The prefix is in its plain form: capitals, no spaces.
    """

    prefix: str
    first: int
    last: int
    starts_at: int
    line: str = MAIN_LINE


@dataclass(frozen=True, slots=True)
class CutInBound:
    """A documented bound: the change is in no set up to `after` and in every set from `before` on.

    `about` is the date of the change as documents give it (ISO, any precision); it bounds nothing by itself, dating
    turns it into `after` and `before` where survivors date the serials.
    """

    feature: str
    from_state: str
    to_state: str
    line: str = MAIN_LINE
    after: int | None = None
    before: int | None = None
    source: str | None = None
    about: str | None = None


@dataclass(frozen=True, slots=True)
class Source:
    """A cited document with page."""

    id: str
    title: str
    page: str = ""


@dataclass(frozen=True, slots=True)
class Family:
    """One chassis family with its documented history; `versions` stand in production order within each line.

    `serial_blocks` empty means: serials are plain numbers, the same as positions on the axis.
    `introduced` and `discontinued` are ISO dates of any precision.
    """

    id: str
    name: str
    features: tuple[Feature, ...]
    versions: tuple[Version, ...]
    kind: str = "radio"
    lines: tuple[Line, ...] = (Line(MAIN_LINE),)
    serial_blocks: tuple[SerialBlock, ...] = ()
    cut_in_bounds: tuple[CutInBound, ...] = ()
    sources: tuple[Source, ...] = ()
    access_minutes: Mapping[str, float] = field(default_factory=dict)
    first_serial: int | None = None
    last_serial: int | None = None
    introduced: str | None = None
    discontinued: str | None = None

    def feature(self, feature_id: str) -> Feature:
        """The feature of that id; KeyError if there is none."""
        for feature in self.features:
            if feature.id == feature_id:
                return feature
        raise KeyError(feature_id)

    def versions_of(self, line: str) -> tuple[Version, ...]:
        """The documented versions of one line, in production order."""
        return tuple(version for version in self.versions if version.line == line)

    @property
    def line_ids(self) -> tuple[str, ...]:
        """The ids of the lines, in the order of `lines`; survivors refer to lines by this order."""
        return tuple(line.id for line in self.lines)


@dataclass(frozen=True, slots=True)
class Observation:
    """What was seen of one feature on one set.

    `state` is one of the feature's `all_states`, or any other text (something not listed), or None
    where it says nothing about the factory state: `cannot_tell`, or a measured value that matches
    no state (`drift`, with the text in `written`).
    """

    feature: str
    state: str | None
    sure: str = "certain"
    serviced: bool = False
    cannot_tell: bool = False
    drift: bool = False
    written: str = ""
    note: str = ""
    source: str = ""


@dataclass(frozen=True, slots=True)
class BenchSet:
    """The set on the bench. Of two observations of one feature the later one counts.

    `serial` is as written, with ? for one illegible character and * for any number of them.
    """

    id: str
    family: str
    serial: str | None = None
    line: str | None = None
    open_to: str = "outside"
    observations: tuple[Observation, ...] = ()

    @property
    def latest(self) -> dict[str, Observation]:
        """The observation that counts for each feature seen, in the order of first sight."""
        return {observation.feature: observation for observation in self.observations}


NOT_SEEN = -1
LOOKS_SERVICED = -2


def seen_code(state: int, sure: int) -> int:
    """One number for a state seen: `state` indexes the feature's all_states (its length: something else),
    `sure` indexes SURENESSES."""
    return state * len(SURENESSES) + sure


@dataclass(frozen=True, slots=True)
class Survivors:
    """Other known sets, as columns, so that a register of a million stays small.

    ids : the sets' names, in file order.
    line : (n,) integers, index into `Family.line_ids`; -1 unknown.
    position : (n,) integers, place on the line's axis; -1 where the serial is missing or partial.
    seen : for each feature id observed anywhere, (n,) integers: `seen_code`, NOT_SEEN or LOOKS_SERVICED.
    serial : the serial as written where it is partial (so position is -1), by row number.
    """

    ids: Sequence[str]
    line: np.ndarray
    position: np.ndarray
    seen: Mapping[str, np.ndarray]
    serial: Mapping[int, str] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.ids)


def no_survivors() -> Survivors:
    """A register with no sets in it: the first day."""
    nothing = np.empty(0, dtype=np.int64)
    return Survivors(ids=(), line=nothing, position=nothing, seen={})
