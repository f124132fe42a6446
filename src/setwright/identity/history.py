"""A family's documents read as a production history: per line, blocks of changes between versions."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import pairwise

from setwright.identity.model import ABSENT, CutInBound, Family, Feature, ImpossibleHistory

UNDOCUMENTED_LABEL = "Undocumented version"
"""Names the one verdict entry of a line that no document describes."""


@dataclass(frozen=True, slots=True)
class Change:
    """One feature going from one state to the next, in block `block`.

    spans : the blocks it may belong to, equally likely, where versions between its two mentions are silent about
        it; `block` is then the first of them. Empty where there is only one.
    """

    id: str
    feature: str
    from_state: str
    to_state: str
    line: str
    block: int
    earliest: int | None = None
    latest: int | None = None
    spans: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Stage:
    """One or more consecutive versions that differ in no change; they share one verdict entry.

    `version` is the first one's id; empty where no document describes the line.
    """

    version: str
    label: str
    states: dict[str, str]


@dataclass(frozen=True, slots=True)
class LineHistory:
    """The documented history of one line: stages in production order, one block of changes between each two.

    `blocks[j]` leads from `stages[j]` to `stages[j + 1]`. `version_gaps[j]` is the number of that gap
    counted in versions of the line (versions without a change between them are counted too).
    `undocumented` names features that the line has but none of its versions mentions. `silent` are the changes
    that may belong to any of several blocks; stages between say nothing of their features.
    """

    line: str
    stages: tuple[Stage, ...]
    blocks: tuple[tuple[Change, ...], ...]
    version_gaps: tuple[int, ...]
    undocumented: tuple[str, ...]
    silent: tuple[Change, ...] = ()

    @property
    def changes(self) -> tuple[Change, ...]:
        """The changes of known block, block by block."""
        return tuple(change for block in self.blocks for change in block)


@dataclass(frozen=True, slots=True)
class History:
    """The lines' histories and the family's features.

    free : features that no version of any line mentions. needs_drawing : whether the documents leave something that
        sums over blocks and windows do not hold: changes across silence, old stock, cut-ins shared by lines.
    """

    lines: tuple[LineHistory, ...]
    features: tuple[Feature, ...]
    free: tuple[str, ...]
    needs_drawing: bool


def read_history(family: Family) -> History:
    """Turn a family's versions into blocks of changes, line by line.

    Raises ImpossibleHistory where documented bounds leave no order of cut-ins.
    """
    lines = tuple(_line_history(family, line) for line in family.line_ids)
    for line in lines:
        _refuse_impossible_bounds(line)
    mentioned = {feature for version in family.versions for feature in version.states}
    free = tuple(f.id for f in family.features if f.role == "change" and f.id not in mentioned)
    old_stock = any(feature.overlap > 0 and feature.role == "change" for feature in family.features)
    shared = any(line.shares_cutins_with is not None for line in family.lines)
    silent = any(line.silent for line in lines)
    return History(lines, family.features, free, needs_drawing=old_stock or shared or silent)


def _line_history(family: Family, line: str) -> LineHistory:
    said = {
        f.id: _Said(f.id, tuple(version.states.get(f.id) for version in family.versions_of(line)))
        for f in family.features
        if f.in_line(line) and f.role == "change"
    }
    undocumented = tuple(feature for feature, one in said.items() if one.never)
    told = [one for one in said.values() if not one.never]
    absent = {feature.id: ABSENT for feature in family.features if not feature.in_line(line)}
    versions = family.versions_of(line)
    if not versions:
        return LineHistory(line, (Stage("", UNDOCUMENTED_LABEL, absent),), (), (), undocumented)
    stage_of = _stages_of_versions(told, len(versions))
    blocks: list[list[Change]] = [[] for _ in range(stage_of[-1])]
    silent: list[Change] = []
    for one in told:
        for number, (at, to) in enumerate(one.steps, 1):
            spans = tuple(range(stage_of[at], stage_of[to]))
            change = Change(
                id=f"{line}:{one.feature}:{number}",
                feature=one.feature,
                from_state=one.state_at(at) or "",
                to_state=one.state_at(to) or "",
                line=line,
                block=spans[0],
            )
            change = _bounded(change, family.cut_in_bounds)
            if len(spans) > 1:
                silent.append(replace(change, spans=spans))
            else:
                blocks[spans[0]].append(change)
    stages = []
    for number in range(stage_of[-1] + 1):
        here = [version for version, stage in enumerate(stage_of) if stage == number]
        told_here = {one.feature: [state for version in here if (state := one.state_at(version))] for one in told}
        states = absent | {feature: known[0] for feature, known in told_here.items() if known}
        stages.append(Stage(versions[here[0]].id, " / ".join(versions[version].label for version in here), states))
    gaps = tuple(stage_of.index(number) for number in range(1, stage_of[-1] + 1))
    return LineHistory(line, tuple(stages), tuple(tuple(block) for block in blocks), gaps, undocumented, tuple(silent))


@dataclass(slots=True)
class _Said:
    """What the versions of one line say of one feature; None where one is silent.

    `as_before` : the versions, by number, at which silence before them is read as "as before".
    """

    feature: str
    states: tuple[str | None, ...]
    as_before: set[int] = field(default_factory=set)

    @property
    def never(self) -> bool:
        return all(state is None for state in self.states)

    @property
    def steps(self) -> list[tuple[int, int]]:
        """(last version before, first version after) of each change; silent versions may lie between the two."""
        told = [number for number, state in enumerate(self.states) if state is not None]
        return [
            (to - 1 if to in self.as_before else at, to)
            for at, to in pairwise(told)
            if self.states[at] != self.states[to]
        ]

    def state_at(self, version: int) -> str | None:
        """The state of a version, None where a change may lie before or behind it.

        Silence before the first or after the last mention, or between two equal ones, documents no change.
        """
        before = next((s for s in reversed(self.states[: version + 1]) if s is not None), None)
        after = next((n for n in range(version, len(self.states)) if self.states[n] is not None), None)
        if before is None or after is None:
            return before if after is None else self.states[after]
        return before if before == self.states[after] or after in self.as_before else None


def _stages_of_versions(told: list[_Said], versions: int) -> list[int]:
    """The stage of each version: versions that differ in no change share one.

    A change across a silent version does not tell where it belongs, so it makes no stage, unless without one
    there would be none for it: then the silence means "as before".
    """
    while True:
        stage_of = [0]
        for version in range(1, versions):
            pairs = ((one.state_at(version - 1), one.state_at(version)) for one in told)
            differs = any(None not in pair and pair[0] != pair[1] for pair in pairs)
            stage_of.append(stage_of[-1] + differs)
        placeless = [(one, to) for one in told for at, to in one.steps if stage_of[at] == stage_of[to]]
        if not placeless:
            return stage_of
        placeless[0][0].as_before.add(placeless[0][1])


def _bounded(change: Change, bounds: tuple[CutInBound, ...]) -> Change:
    """The change with the earliest and latest cut-in that the documents allow."""
    earliest, latest = None, None
    for bound in bounds:
        if (bound.line, bound.feature, bound.from_state, bound.to_state) != (
            change.line,
            change.feature,
            change.from_state,
            change.to_state,
        ):
            continue
        if bound.after is not None:
            earliest = max(bound.after + 1, bound.after + 1 if earliest is None else earliest)
        if bound.before is not None:
            latest = min(bound.before, bound.before if latest is None else latest)
    return replace(change, earliest=earliest, latest=latest)


def _refuse_impossible_bounds(line: LineHistory) -> None:
    """Later blocks start after earlier ones end, so no earliest cut-in may pass a later block's latest one."""
    latest_floor: tuple[int, Change] | None = None
    for block in line.blocks:
        for change in block:
            if change.earliest is not None and change.latest is not None and change.earliest > change.latest:
                raise ImpossibleHistory(
                    f"Change {change.id}: documented as in no set up to {change.earliest - 1} but in every set "
                    f"from {change.latest} on. One of the two bounds must give way."
                )
            if latest_floor is not None and change.latest is not None and change.latest < latest_floor[0]:
                raise ImpossibleHistory(
                    f"Change {change.id} is documented as made by {change.latest}, but {latest_floor[1].id}, which "
                    f"belongs to an earlier step, not before {latest_floor[0]}. Correct a bound or the versions' order."
                )
        for change in block:
            if change.earliest is not None and (latest_floor is None or change.earliest > latest_floor[0]):
                latest_floor = (change.earliest, change)
