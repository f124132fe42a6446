"""Documented bounds on cut-ins: which change each means, and whether any history obeys them all."""

from __future__ import annotations

from collections import defaultdict

from setwright.files.families.changes import (
    DocumentedChange,
    PlacedBound,
    check_histories,
    documented_changes,
    roots_of,
)
from setwright.files.families.versions import check_source, note_unknown_feature
from setwright.files.problems import ProblemList, quoted
from setwright.files.shape_check import Checked
from setwright.files.shapes import CutInShape, FamilyShape
from setwright.files.states import StateProblem, listed_state
from setwright.files.suggest import nearest
from setwright.files.toml.lines import Path
from setwright.files.toml.text import TomlFile
from setwright.identity.model import CutInBound, Family, Feature
from setwright.notation import NotationError, parse_date


def build_bounds(
    toml: TomlFile, checked: Checked[FamilyShape], family: Family, complete: bool, problems: ProblemList
) -> tuple[CutInBound, ...]:
    """The bounds with feature, from, to and line filled in; contradictions between them are noted.

    complete : whether every version of the file was read; if not, which changes there are is not known, and
        only what stands in the bounds themselves is checked.
    """
    reader = _BoundReader(toml, checked, family, complete, problems)
    placed = [bound for path, table in checked.tables("cutin") if (bound := reader.read(path, table)) is not None]
    check_histories(toml, family, reader.changes, placed, problems)
    return tuple(item.bound for item in placed)


class _BoundReader:
    """Reads one [[cutin]] after another against the changes that the versions document."""

    def __init__(
        self,
        toml: TomlFile,
        checked: Checked[FamilyShape],
        family: Family,
        complete: bool,
        problems: ProblemList,
    ) -> None:
        self.toml = toml
        self.complete = complete
        self.checked = checked
        self.family = family
        self.problems = problems
        self.features = {feature.id: feature for feature in family.features}
        self.roots = roots_of(family)
        self.changes: dict[str, list[DocumentedChange]] = defaultdict(list)
        for change in documented_changes(family):
            self.changes[change.feature].append(change)
        self.mentioned = {feature for version in family.versions for feature in version.states}

    def read(self, path: Path, table: CutInShape) -> PlacedBound | None:
        """The bound that a table means; None, and a note, where it cannot be one."""
        before = len(self.problems)
        if table.source is not None:
            check_source(self.toml, self.checked, (*path, "source"), table.source, self.problems)
        feature = self._feature(path, table)
        self._check_line(path, table, feature)
        self._check_numbers(path, table)
        if feature is None or len(self.problems) > before:
            return None
        from_state = self._state(path, "from", table.from_state, feature)
        to_state = self._state(path, "to", table.to_state, feature)
        if len(self.problems) > before or not self.complete:
            return None
        found = self._which(path, table, feature, from_state, to_state)
        if found is None:
            return None
        line, from_state, to_state = found
        bound = CutInBound(feature.id, from_state, to_state, line, table.after, table.before, table.source, table.about)
        self._check_axis(path, bound)
        return PlacedBound(path, bound)

    def _note(self, place: Path, message: str, suggestion: str | None = None) -> None:
        self.problems.add(self.toml.where(place), message, line=self.toml.line(place), suggestion=suggestion)

    def _feature(self, path: Path, table: CutInShape) -> Feature | None:
        feature = self.features.get(table.feature)
        place = (*path, "feature")
        if feature is None and table.feature not in self.checked.broken["feature"]:
            note_unknown_feature(self.toml, place, table.feature, self.features, self.problems)
        if feature is not None and feature.role == "variant":
            self._note(place, f"{quoted(feature.id)} is a variant and has no cut-in")
            return None
        return feature

    def _check_line(self, path: Path, table: CutInShape, feature: Feature | None) -> None:
        place = (*path, "line")
        if table.line is None:
            return
        if table.line not in self.roots:
            known = ", ".join(self.roots)
            self._note(place, f"there is no line {quoted(table.line)}; known: {known}", nearest(table.line, self.roots))
        elif feature is not None and not feature.in_line(table.line):
            self._note(place, f"the sets of line {quoted(table.line)} have no {quoted(feature.id)}; see its key lines")

    def _check_numbers(self, path: Path, table: CutInShape) -> None:
        if table.about is not None:
            self._check_date((*path, "about"), table.about)
        if table.after is None and table.before is None and table.about is None:
            self._note(path, "says nothing; give after, before or both (serials), or about (a date)")
        elif table.after is not None and table.before is not None and table.after >= table.before:
            self._note(
                (*path, "before"),
                f"the change cannot be in every set from {table.before} on and in no set up to {table.after}; "
                "before must be larger than after",
            )

    def _check_date(self, place: Path, text: str) -> None:
        try:
            parse_date(text)
        except NotationError as error:
            self._note(place, error.message, error.suggestion)

    def _state(self, path: Path, key: str, text: str | None, feature: Feature) -> str | None:
        if text is None:
            return None
        try:
            return listed_state(feature, text, m_means_thousand=self.checked.shape.m_means_thousand)
        except StateProblem as error:
            self._note((*path, key), error.message, error.suggestion)
            return None

    def _which(
        self, path: Path, table: CutInShape, feature: Feature, from_state: str | None, to_state: str | None
    ) -> tuple[str, str, str] | None:
        """Line, from and to of the one change that is meant."""
        if from_state is not None and from_state == to_state:
            self._note((*path, "to"), f"from and to are both {quoted(to_state)}; a change needs two states")
            return None
        if feature.id not in self.mentioned:
            return self._free(path, table, feature, from_state, to_state)
        fitting = [
            change
            for change in self.changes[feature.id]
            if from_state in (None, change.from_state)
            and to_state in (None, change.to_state)
            and (table.line is None or table.line in (change.line, self.roots[change.line]))
        ]
        meant = {(self.roots[change.line], change.from_state, change.to_state) for change in fitting}
        if len(meant) == 1 and not self._repeated(fitting):
            return self._in_named_line(table.line, fitting)
        documented = "; ".join(
            f"{quoted(c.from_state)} to {quoted(c.to_state)} in line {c.line}" for c in self.changes[feature.id][:6]
        )
        if not meant:
            have = f"; documented are {documented}" if documented else ", nor any other"
            self._note(path, f"no version documents this change of {quoted(feature.id)}{have}")
        elif len(meant) == 1:
            self._note(path, f"this change of {quoted(feature.id)} happens more than once, so the bound is ambiguous")
        else:
            self._note(path, f"does not say which change is meant; give from, to and line: {documented}")
        return None

    def _repeated(self, fitting: list[DocumentedChange]) -> bool:
        """Whether one line makes the same change twice."""
        return len({change.line for change in fitting}) < len(fitting)

    def _in_named_line(self, line: str | None, fitting: list[DocumentedChange]) -> tuple[str, str, str]:
        """The change in the line named, else in the one that the others share their cut-ins with, else in the first."""
        lines = [change.line for change in fitting]
        root = self.roots[lines[0]]
        chosen = line if line in lines else root if root in lines else lines[0]
        assert chosen is not None
        return chosen, fitting[0].from_state, fitting[0].to_state

    def _free(
        self, path: Path, table: CutInShape, feature: Feature, from_state: str | None, to_state: str | None
    ) -> tuple[str, str, str] | None:
        """A feature in no version: with two states one names the other; a line is needed where several have it."""
        others = [state for state in feature.states if state not in (from_state, to_state)]
        if len(others) == 1 and (from_state is None) != (to_state is None):
            from_state, to_state = from_state or others[0], to_state or others[0]
        if from_state is None or to_state is None:
            self._note(path, f"no version mentions {quoted(feature.id)}, so give both from and to")
            return None
        lines = [line for line in self.roots if feature.in_line(line)]
        if table.line is None and len({self.roots[line] for line in lines}) > 1:
            self._note(path, f"does not say which line is meant; give line = {quoted(lines[0])} or another")
            return None
        return table.line or self.roots[lines[0]], from_state, to_state

    def _check_axis(self, path: Path, bound: CutInBound) -> None:
        """A cut-in is one of the line's own positions, so a bound must leave one of them."""
        first, last = axis_range(self.family, bound.line)
        if bound.after is not None and last is not None and bound.after >= last:
            self._note(
                (*path, "after"),
                f"line {quoted(bound.line)} ends at {last}, so a change that is in no set up to {bound.after} "
                "was never made",
            )
        if bound.before is not None and bound.before < first:
            self._note(
                (*path, "before"),
                f"line {quoted(bound.line)} begins at {first}, so a change that is in every set from {bound.before} on "
                f"has no set before it; the smallest is {first}",
            )


def axis_range(family: Family, line: str) -> tuple[int, int | None]:
    """First and last position of a line's axis as far as the documents say; None for an open end."""
    blocks = [block for block in family.serial_blocks if block.line == line]
    first, last = family.first_serial, family.last_serial
    if blocks:
        low = min(block.starts_at for block in blocks)
        high = max(block.starts_at + block.last - block.first for block in blocks)
        return max(low, first or 0), high if last is None else min(high, last)
    return 1 if first is None else first, last
