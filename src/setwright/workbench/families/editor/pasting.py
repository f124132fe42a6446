"""Cells of the grid pasted from a spreadsheet: one row a feature, one column a version."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from setwright.files import FamilyFile
from setwright.files.learning.table import columns_of
from setwright.files.problems import quoted
from setwright.files.states import StateProblem, listed_state
from setwright.files.survivors.spreadsheet import clean, without_text_mark
from setwright.identity.model import Version
from setwright.workbench.families.editor.cells import Cell, own_states
from setwright.workbench.site.words import listing

ABOUT_FEATURES = ("label", "access", "permanence")
"""Columns of an exported table that are no versions."""


@dataclass(frozen=True, slots=True)
class Pasted:
    """What a pasted table says. `cells` are those that differ from the family; `notes` what was not understood."""

    cells: Mapping[Cell, str]
    notes: tuple[str, ...]


def read_pasted(file: FamilyFile, text: str) -> Pasted:
    """Read a table whose first column names features and whose other columns are headed by versions, by id or name.

    An empty cell says nothing and changes nothing, and so does a state that the version has already, if only from
    the version it is based on. Raises FileProblems where it is no table.
    """
    columns = columns_of(text.encode("utf-8"), "pasted cells")
    names = list(columns)
    versions = {name: _version(file, name) for name in names[1:] if name.casefold() not in ABOUT_FEATURES}
    features = {key.casefold(): one.id for one in file.family.features for key in (one.label, one.id)}
    cells: dict[Cell, str] = {}
    unknown: list[str] = []
    for row, key in enumerate(columns[names[0]]):
        feature = features.get(clean(key).casefold())
        if feature is None:
            unknown += [key] if clean(key) else []
            continue
        for name, version in versions.items():
            state = without_text_mark(clean(columns[name][row]))
            if version is not None and state and not _has(file, version, feature, state):
                cells[feature, version.id] = state
    strange = [name for name, version in versions.items() if version is None]
    notes = [f"There is no feature {listing(map(quoted, unknown), 'or')}; add it first."] if unknown else []
    notes += [f"There is no version {listing(map(quoted, strange), 'or')}; add it first."] if strange else []
    return Pasted(cells, tuple(notes))


def _version(file: FamilyFile, name: str) -> Version | None:
    """The version that a column is headed with: by id, by name, or as an exported table has it, line and id."""
    for version in file.family.versions:
        if name.casefold() in (one.casefold() for one in (version.id, version.label, f"{version.line}:{version.id}")):
            return version
    return None


def _has(file: FamilyFile, version: Version, feature: str, text: str) -> bool:
    try:
        state = listed_state(file.family.feature(feature), text, m_means_thousand=file.m_means_thousand)
    except StateProblem:
        return False
    return version.states.get(feature) == state


def overlaid_grid(file: FamilyFile, pasted: Pasted) -> dict[Cell, str]:
    """The grid's cells as they stand, with the pasted ones over them."""
    return {**own_states(file), **pasted.cells}
