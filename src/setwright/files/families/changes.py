"""The changes that a family's versions document, and whether any history obeys all bounds on them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from setwright.files.problems import ProblemList, quoted
from setwright.files.toml.lines import Path
from setwright.files.toml.text import TomlFile
from setwright.identity.model import CutInBound, Family

Key = tuple[str, str, str]
"""Feature, from, to."""


@dataclass(frozen=True, slots=True)
class DocumentedChange:
    """A feature goes from one state to the next between two versions of a line, counted from 0 in that line.

    The versions in between, if any, are silent about it, so the change may belong to any of the gaps.
    """

    line: str
    feature: str
    from_state: str
    to_state: str
    after_version: int
    by_version: int

    @property
    def key(self) -> Key:
        """Feature, from and to."""
        return self.feature, self.from_state, self.to_state

    def step(self, family: Family) -> str:
        """The change's place in the documents, for people."""
        versions = family.versions_of(self.line)
        return f"from {quoted(versions[self.after_version].id)} to {quoted(versions[self.by_version].id)}"


@dataclass(frozen=True, slots=True)
class PlacedBound:
    """A bound and where in the file it stands."""

    path: Path
    bound: CutInBound


def documented_changes(family: Family) -> list[DocumentedChange]:
    """Every change that the versions of a line document, line by line."""
    changes = []
    for line in family.line_ids:
        last: dict[str, tuple[int, str]] = {}
        for number, version in enumerate(family.versions_of(line)):
            for feature, state in version.states.items():
                if feature in last and last[feature][1] != state:
                    before, old = last[feature]
                    changes.append(DocumentedChange(line, feature, old, state, before, number))
                last[feature] = (number, state)
    return changes


def roots_of(family: Family) -> dict[str, str]:
    """The line whose cut-ins each line has: its own, or those of the one it shares them with."""
    return {line.id: line.shares_cutins_with or line.id for line in family.lines}


@dataclass(frozen=True, slots=True)
class _Limits:
    """The earliest and latest cut-in that the bounds on one change leave, and the bounds that say so."""

    change: DocumentedChange
    earliest: int | None
    after: PlacedBound | None
    latest: int | None
    before: PlacedBound | None


def check_histories(
    toml: TomlFile,
    family: Family,
    changes: Mapping[str, list[DocumentedChange]],
    placed: list[PlacedBound],
    problems: ProblemList,
) -> None:
    """Note bounds that leave no history: within one change, and against the order of the versions.

    Everything in a gap between two versions is in before anything of a later gap, so no change of an earlier
    gap may begin later than the latest cut-in of a change of a later gap. With gaps that may be shared out
    freely these pairs are all there is to check.
    """
    roots = roots_of(family)
    by_change: dict[tuple[str, Key], list[PlacedBound]] = defaultdict(list)
    for item in placed:
        bound = item.bound
        by_change[roots[bound.line], (bound.feature, bound.from_state, bound.to_state)].append(item)
    for bounds in by_change.values():
        _check_one_change(toml, bounds, problems)
    for line in family.line_ids:
        limits = [
            _limits(change, by_change[roots[line], change.key])
            for of_feature in changes.values()
            for change in of_feature
            if change.line == line and (roots[line], change.key) in by_change
        ]
        _check_order(toml, family, limits, problems)


def _limits(change: DocumentedChange, bounds: list[PlacedBound]) -> _Limits:
    after = max((b for b in bounds if b.bound.after is not None), key=lambda b: b.bound.after or 0, default=None)
    before = min((b for b in bounds if b.bound.before is not None), key=lambda b: b.bound.before or 0, default=None)
    earliest = None if after is None or after.bound.after is None else after.bound.after + 1
    return _Limits(change, earliest, after, None if before is None else before.bound.before, before)


def _check_one_change(toml: TomlFile, bounds: list[PlacedBound], problems: ProblemList) -> None:
    if len(bounds) < 2:
        return
    afters = [b for b in bounds if b.bound.after is not None]
    befores = [b for b in bounds if b.bound.before is not None]
    if not afters or not befores:
        return
    after = max(afters, key=lambda b: b.bound.after or 0)
    before = min(befores, key=lambda b: b.bound.before or 0)
    if after is not before and (after.bound.after or 0) >= (before.bound.before or 0):
        later = max(after, before, key=lambda b: b.path[1])
        key = "after" if later is after else "before"
        other = before if later is after else after
        problems.add(
            toml.where((*later.path, key)),
            f"contradicts the bound on line {toml.line(other.path)}: the change cannot be in no set up to "
            f"{after.bound.after} and in every set from {before.bound.before} on",
            line=toml.line((*later.path, key)),
        )


def _check_order(toml: TomlFile, family: Family, limits: list[_Limits], problems: ProblemList) -> None:
    """Note every change that must be in before an earlier one can be."""
    lower = sorted((item for item in limits if item.earliest is not None), key=lambda item: item.change.by_version)
    for later in sorted(limits, key=lambda item: item.change.after_version):
        if later.latest is None or later.before is None:
            continue
        worst: _Limits | None = None
        for earlier in lower:
            if earlier.change.by_version > later.change.after_version:
                break
            if worst is None or (earlier.earliest or 0) > (worst.earliest or 0):
                worst = earlier
        if worst is None or worst.after is None or worst.earliest is None or worst.earliest <= later.latest:
            continue
        place = (*later.before.path, "before")
        problems.add(
            toml.where(place),
            f"{quoted(later.change.feature)} would be changed by {later.latest}, but {quoted(worst.change.feature)}, "
            f"changed in an earlier step ({worst.change.step(family)}, this one {later.change.step(family)}), is "
            f"documented on line {toml.line(worst.after.path)} as in no set up to {worst.earliest - 1}. "
            "Correct a bound or the order of the versions",
            line=toml.line(place),
        )
