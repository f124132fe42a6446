"""A family's documents read as a production history: per line, blocks of changes between versions.

What this computation cannot use yet (silent and free features) is left out and named.
"""

from __future__ import annotations

from dataclasses import dataclass

from setwright.identity.model import ABSENT, CutInBound, Family, Feature, ImpossibleHistory, Version

UNDOCUMENTED_LABEL = "Undocumented version"
"""Names the one verdict entry of a line that no document describes."""


@dataclass(frozen=True, slots=True)
class Change:
    """One feature going from one state to the next, in the block that leads to version entry `block`."""

    id: str
    feature: str
    from_state: str
    to_state: str
    line: str
    block: int
    earliest: int | None = None
    latest: int | None = None


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
    `undocumented` names features that the line has but none of its versions mentions: each of their
    states is equally likely there, for the whole run.
    """

    line: str
    stages: tuple[Stage, ...]
    blocks: tuple[tuple[Change, ...], ...]
    version_gaps: tuple[int, ...]
    undocumented: tuple[str, ...]

    @property
    def changes(self) -> tuple[Change, ...]:
        """All changes of the line, block by block."""
        return tuple(change for block in self.blocks for change in block)


@dataclass(frozen=True, slots=True)
class History:
    """The lines' histories, the features that take part, and why others do not."""

    lines: tuple[LineHistory, ...]
    features: tuple[Feature, ...]
    warnings: tuple[str, ...]


def read_history(family: Family) -> History:
    """Turn a family's versions into blocks of changes, line by line.

    Raises ImpossibleHistory where documented bounds leave no order of cut-ins.
    """
    free = _free_features(family)
    silent = _silent_features(family, free)
    left_out = set(free) | set(silent)
    features = tuple(feature for feature in family.features if feature.id not in left_out)
    lines = tuple(_line_history(family, line, features) for line in family.line_ids)
    for line in lines:
        _refuse_impossible_bounds(line)
    warnings = _left_out_warnings(family, free, silent) + _undocumented_warnings(family, lines)
    return History(lines=lines, features=features, warnings=tuple(warnings))


def _free_features(family: Family) -> list[str]:
    """Change features that no version mentions."""
    mentioned = {feature for version in family.versions for feature in version.states}
    return [f.id for f in family.features if f.role == "change" and f.id not in mentioned]


def _silent_features(family: Family, free: list[str]) -> list[str]:
    """Features of which a change is documented across a version that says nothing about them.

    Silence before the first or after the last mention, or between two equal ones, documents no change.
    """
    silent = []
    for feature in family.features:
        if feature.role == "variant" or feature.id in free:
            continue
        for line in family.line_ids:
            if feature.in_line(line) and _changes_across_silence(family.versions_of(line), feature.id):
                silent.append(feature.id)
                break
    return silent


def _changes_across_silence(versions: tuple[Version, ...], feature: str) -> bool:
    state, silence = None, False
    for version in versions:
        new = version.states.get(feature)
        if new is None:
            silence = True
        else:
            if silence and state is not None and new != state:
                return True
            state, silence = new, False
    return False


def _line_history(family: Family, line: str, features: tuple[Feature, ...]) -> LineHistory:
    versions = family.versions_of(line)
    full, undocumented = _complete_states(versions, line, features)
    if not versions:
        return LineHistory(line, (Stage("", UNDOCUMENTED_LABEL, full[0]),), (), (), undocumented)
    stages: list[Stage] = []
    blocks: list[tuple[Change, ...]] = []
    gaps: list[int] = []
    numbers: dict[str, int] = {}
    for index, (version, states) in enumerate(zip(versions, full, strict=True)):
        if stages and states == stages[-1].states:
            last = stages[-1]
            stages[-1] = Stage(last.version, f"{last.label} / {version.label}", last.states)
            continue
        if stages:
            before = stages[-1].states
            changed = [f.id for f in features if before.get(f.id) != states.get(f.id)]
            block = []
            for feature in changed:
                numbers[feature] = numbers.get(feature, 0) + 1
                change_id = f"{line}:{feature}:{numbers[feature]}"
                block.append(
                    _bounded(
                        Change(change_id, feature, before[feature], states[feature], line, len(blocks)),
                        family.cut_in_bounds,
                    )
                )
            blocks.append(tuple(block))
            gaps.append(index)
        stages.append(Stage(version.id, version.label, states))
    return LineHistory(line, tuple(stages), tuple(blocks), tuple(gaps), undocumented)


def _complete_states(
    versions: tuple[Version, ...], line: str, features: tuple[Feature, ...]
) -> tuple[list[dict[str, str]], tuple[str, ...]]:
    """Each version's factory states with silences filled in, and the features none of them mentions.

    A line without versions has one set of states: what it lacks is "absent" there too.
    """
    full: list[dict[str, str]] = [{} for _ in versions] or [{}]
    undocumented = []
    for feature in features:
        if not feature.in_line(line):
            for states in full:
                states[feature.id] = ABSENT
            continue
        if feature.role == "variant":
            continue
        said = [version.states.get(feature.id) for version in versions]
        state = next((s for s in said if s is not None), None)
        if state is None:
            undocumented.append(feature.id)
            continue
        for states, new in zip(full, said, strict=True):
            state = new if new is not None else state
            states[feature.id] = state
    return full, tuple(undocumented)


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
    return Change(
        change.id, change.feature, change.from_state, change.to_state, change.line, change.block, earliest, latest
    )


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


def _left_out_warnings(family: Family, free: list[str], silent: list[str]) -> list[str]:
    warnings = []
    if free:
        names = _labels(family, free)
        warnings.append(
            f"Left out: {names}. No version mentions {'it' if len(free) == 1 else 'them'}, so nothing documents "
            "which state belongs to which time."
        )
    if silent:
        names = _labels(family, silent)
        warnings.append(
            f"Left out: {names}. A change is documented across a version that says nothing about it; "
            "state it there, or use based_on."
        )
    left_out = {*free, *silent}
    overlapping = [f.id for f in family.features if f.overlap > 0 and f.role == "change" and f.id not in left_out]
    if overlapping:
        warnings.append(
            f"The overlap of {_labels(family, overlapping)} is not used: every cut-in is taken as sharp, "
            "although old stock may have been used up around it."
        )
    for line in family.lines:
        if line.shares_cutins_with is not None:
            warnings.append(
                f"Line {line.id} is documented as sharing its cut-ins with {line.shares_cutins_with}; "
                "this is not used, each line's cut-ins are estimated from its own sets."
            )
    return warnings


def _undocumented_warnings(family: Family, lines: tuple[LineHistory, ...]) -> list[str]:
    return [
        f"The documents of line {line.line} say nothing about {_labels(family, line.undocumented)}; "
        "every state is taken as equally likely there."
        for line in lines
        if line.undocumented
    ]


def _labels(family: Family, ids: list[str] | tuple[str, ...]) -> str:
    return ", ".join(family.feature(i).label for i in ids)
