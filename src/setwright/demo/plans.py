"""What each demonstration family adds to its documents: who survived, and what stands on the bench."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from setwright.identity.simulate import MIXED
from setwright.identity.simulate.free import FreeKind


@dataclass(frozen=True, slots=True)
class PlannedMisreading:
    """A feature that is read as `state` although it has another; `sure` is how sure the reader was."""

    feature: str
    state: str
    sure: str
    note: str


@dataclass(frozen=True, slots=True)
class PlannedMarriage:
    """A group of features that came from another set: one of `version`, of the same line."""

    group: str
    version: str


@dataclass(frozen=True, slots=True)
class PlannedFree:
    """How a feature that no document of the line mentions ran through production.

    between : where its changes stand, in shares of the run. least_share : of each state where they were mixed.
    """

    kind: FreeKind
    between: tuple[float, float] = (0.0, 1.0)
    least_share: float = 0.0

    def __post_init__(self) -> None:
        if self.kind == MIXED and self.between != (0.0, 1.0):
            raise ValueError("what was mixed throughout has no changes that could stand somewhere")


@dataclass(frozen=True, slots=True)
class PlannedDate:
    """A dated part of a set, or a stamp where `part` is None.

    years_later : the part was put in so many years after the set was finished. elsewhere : it came with the group that
    is married to the set, and is as old as the set that one came from.
    """

    part: str | None
    years_later: float = 0.0
    elsewhere: bool = False


@dataclass(frozen=True, slots=True)
class BenchPlan:
    """What the set on the bench should be like; the seed decides where exactly it stands and what changed first.

    id, story : the set's id, and the comment at the top of its file.
    line : its production line. between : the two versions it stands between; `version` the one it is, otherwise.
    window : least and largest share of the run over which the changes between those two are spread. room : least
        share in which the earlier version alone was made. stay : least share in which sets like this one were.
    marks : lasting features that change between those two versions. Two of them have changed on the set, the
        others not, and all that have not are looked at.
    looked_at : other features to look at, where unaltered and, if they change between the two, not changed yet:
        of what is new, the two marks alone are seen.
    altered : what altered parts show, by feature. misread : the one feature that is misread. married : what came
        from another set.
    touched : features that look serviced although the part is the factory's, with a note.
    undecided : features that were looked at and could not be decided, with a note.
    unsure : how sure the reader was, where not certain. notes : remarks by feature.
    sources : what an observation rests on, by feature: a source of the family, or a document of the shelf.
    legible : only so many of the serial's last digits can be read; None: all of it.
    dated_part : the part that carries a date code. more_dates : further dates on the set.
    case_file : the shipped text of its intake, condition, notes and wants.
    """

    id: str
    story: tuple[str, ...]
    line: str
    open_to: str
    looked_at: tuple[str, ...]
    between: tuple[str, str] | None = None
    version: str | None = None
    window: tuple[float, float] = (0.0, 1.0)
    room: float = 0.0
    stay: float = 0.0
    marks: tuple[str, ...] = ()
    altered: Mapping[str, str] = field(default_factory=dict)
    misread: PlannedMisreading | None = None
    touched: Mapping[str, str] = field(default_factory=dict)
    undecided: Mapping[str, str] = field(default_factory=dict)
    unsure: Mapping[str, str] = field(default_factory=dict)
    notes: Mapping[str, str] = field(default_factory=dict)
    sources: Mapping[str, str] = field(default_factory=dict)
    legible: int | None = None
    dated_part: str | None = None
    more_dates: tuple[PlannedDate, ...] = ()
    case_file: str = ""
    married: PlannedMarriage | None = None


@dataclass(frozen=True, slots=True)
class FamilyPlan:
    """One family of the demonstration.

    folder : the package that holds its family.toml. survivors : how many of each line.
    benches : the sets on the bench, the one to open first in front.
    prefix : begins the survivors' ids. without_serial, partial_serial : how many have none, or an illegible one.
    married, rebuilt : least and largest number of survivors of which a group came from elsewhere, and of those
        heavily rebuilt; None leaves it to chance, which marries none.
    free : how features without documents ran, by id.
    others : what altered items show that no document lists, by feature; `other` for the rest.
    """

    folder: str
    prefix: str
    survivors: Mapping[str, int]
    benches: tuple[BenchPlan, ...]
    without_serial: int
    partial_serial: int
    married: tuple[int, int] | None = None
    rebuilt: tuple[int, int] | None = None
    free: Mapping[str, PlannedFree] = field(default_factory=dict)
    others: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    other: tuple[str, ...] = (
        "replaced by hand-made work",
        "taken from some other set",
        "rebuilt from scratch",
    )


TELLING_MARKS = 2
"""So many marks have changed on a transitional set: the evidence that it is no set of the earlier version."""
