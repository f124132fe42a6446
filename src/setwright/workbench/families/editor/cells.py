"""The editor's grid: what each version itself says of each feature, and the steps that a changed grid needs.

An empty cell means that the version is silent, or, where it is based on another one, that it is as there.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from setwright.files import FamilyFile
from setwright.files.editing import FamilyEdit
from setwright.files.problems import quoted
from setwright.files.states import StateProblem, listed_state
from setwright.files.suggest import near_miss
from setwright.identity.model import Feature, Version
from setwright.workbench.site.words import listing

Cell = tuple[str, str]
"""A feature's and a version's id."""

LONGEST_STATE = 500


@dataclass(frozen=True, slots=True)
class EditCell:
    """One cell. `written` is what the version itself says; `inherited` what it has from the one it is based on.

    name : the form field's. possible : whether the version's line has the feature at all. problem : why what was
    entered is refused.
    """

    name: str
    feature: str
    version: str
    written: str
    inherited: str
    possible: bool
    problem: str = ""


@dataclass(frozen=True, slots=True)
class EditRow:
    """One feature with its cells, in the order of the columns."""

    feature: Feature
    cells: tuple[EditCell, ...]
    first: bool
    last: bool


@dataclass(frozen=True, slots=True)
class EditColumn:
    """One version. `based_on` is the label of the version it is based on; `first` and `last` are within its line."""

    version: Version
    based_on: str
    first: bool
    last: bool


@dataclass(frozen=True, slots=True)
class EditGrid:
    """The features that change against the versions of all lines, and the variants, which belong to no version."""

    columns: tuple[EditColumn, ...]
    rows: tuple[EditRow, ...]
    variants: tuple[Feature, ...]
    several_lines: bool


def field_name(feature: str, version: str) -> str:
    """The name of a cell's form field."""
    return f"cell:{feature}:{version}"


def own_states(file: FamilyFile) -> dict[Cell, str]:
    """What each version itself says, in the words in which the feature lists the state."""
    found: dict[Cell, str] = {}
    for table in file.document.unwrap().get("version", []):
        for feature, text in table.get("states", {}).items():
            state = listed_state(file.family.feature(feature), text, m_means_thousand=file.m_means_thousand)
            found[feature, table["id"]] = state
    return found


def edit_grid(
    file: FamilyFile, entered: Mapping[Cell, str] | None = None, problems: Mapping[Cell, str] | None = None
) -> EditGrid:
    """The grid as it stands in the file, or with what a person entered and what is wrong with it."""
    family, own = file.family, own_states(file)
    versions = [version for line in family.line_ids for version in family.versions_of(line)]
    by_id = {version.id: version for version in versions}
    changing = [feature for feature in family.features if feature.role == "change"]
    rows = []
    for place, feature in enumerate(changing):
        cells = []
        for version in versions:
            key = (feature.id, version.id)
            base = by_id.get(version.based_on or "")
            cells.append(
                EditCell(
                    name=field_name(*key),
                    feature=feature.id,
                    version=version.id,
                    written=own.get(key, "") if entered is None else entered.get(key, own.get(key, "")),
                    inherited="" if base is None else base.states.get(feature.id, ""),
                    possible=feature.in_line(version.line),
                    problem=(problems or {}).get(key, ""),
                )
            )
        rows.append(EditRow(feature, tuple(cells), place == 0, place == len(changing) - 1))
    return EditGrid(
        columns=tuple(_column(version, by_id, family.versions_of(version.line)) for version in versions),
        rows=tuple(rows),
        variants=tuple(feature for feature in family.features if feature.role == "variant"),
        several_lines=len(family.lines) > 1,
    )


def _column(version: Version, by_id: Mapping[str, Version], line: tuple[Version, ...]) -> EditColumn:
    base = by_id.get(version.based_on or "")
    return EditColumn(version, "" if base is None else base.label, version == line[0], version == line[-1])


def read_cells(file: FamilyFile, posted: Mapping[str, str]) -> dict[Cell, str]:
    """The cells of a form that was sent, blanks at both ends taken away; what is no cell of this file is left out."""
    cells = {}
    for feature in file.family.features:
        for version in file.family.versions:
            text = posted.get(field_name(feature.id, version.id))
            if text is not None:
                cells[feature.id, version.id] = " ".join(text.split())
    return cells


@dataclass(frozen=True, slots=True)
class CellChanges:
    """What a changed grid comes to.

    changed : each changed cell with its new state, "" for none. new_states : by feature, to be added to its states.
    problems : why a cell is refused; nothing can be saved then.
    """

    changed: Mapping[Cell, str]
    new_states: Mapping[str, tuple[str, ...]]
    problems: Mapping[Cell, str]

    def edits(self, file: FamilyFile) -> list[FamilyEdit]:
        """The steps that make the changes: states added to their features, then one step a version."""
        steps = [
            FamilyEdit("change", "feature", name, {"states": [*file.family.feature(name).states, *states]})
            for name, states in self.new_states.items()
        ]
        by_version: dict[str, dict[str, str | None]] = {}
        for (feature, version), state in self.changed.items():
            by_version.setdefault(version, {})[feature] = state or None
        return steps + [
            FamilyEdit("change", "version", version, {"states": states}) for version, states in by_version.items()
        ]

    def sentence(self, file: FamilyFile) -> str:
        """What was done, for the history."""
        features = {feature.id: feature.label for feature in file.family.features}
        versions = {version.id: version.label for version in file.family.versions}
        if len(self.changed) == 1:
            (((feature, version), state),) = self.changed.items()
            return f"{features[feature]} in {versions[version]}: {state or 'left out'}"
        concerned = {version for _, version in self.changed}
        named = listing(label for version, label in versions.items() if version in concerned)
        return f"{len(self.changed)} states changed in {named}"


def cell_changes(file: FamilyFile, cells: Mapping[Cell, str]) -> CellChanges:
    """Compare a grid that was sent with the file."""
    own = own_states(file)
    changed: dict[Cell, str] = {}
    new: dict[str, list[str]] = {}
    problems: dict[Cell, str] = {}
    for (name, version), text in cells.items():
        feature = file.family.feature(name)
        known = replace_states(feature, new.get(name, ()))
        try:
            state = _state(known, text, file.m_means_thousand)
        except StateProblem as problem:
            problems[name, version] = problem.message
            continue
        if state == own.get((name, version), ""):
            continue
        changed[name, version] = state
        if state and state not in known.states:
            new.setdefault(name, []).append(state)
    return CellChanges(changed, {name: tuple(states) for name, states in new.items()}, problems)


def replace_states(feature: Feature, added: Iterable[str]) -> Feature:
    """The feature with states behind those it lists; new values have no number until the file is read."""
    states = tuple(added)
    values = (*feature.values, *(None for _ in states)) if feature.unit else ()
    return replace(feature, states=(*feature.states, *states), values=values)


def _state(feature: Feature, text: str, m_means_thousand: bool) -> str:
    """The state that a cell's text means: a listed one, or the text itself as a new one; StateProblem if near one."""
    if not text or text in feature.states:
        return text
    if len(text) > LONGEST_STATE:
        raise StateProblem(f"a state has at most {LONGEST_STATE} characters")
    try:
        return listed_state(feature, text, m_means_thousand=m_means_thousand)
    except StateProblem as problem:
        meant = None if feature.unit else near_miss(text, feature.states)
        if meant is not None:
            raise StateProblem(
                f"{quoted(text)} is close to {quoted(meant)}, which is listed; choose that, or list it with the "
                "feature first",
                meant,
            ) from problem
        return text
