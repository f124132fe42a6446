"""The pages of a register and of one survivor, put into reading order and words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from setwright.workbench.families.grid import Grid, grid_of
from setwright.workbench.pictures.axis import AxisPicture, axis_pictures
from setwright.workbench.services.survivors import FamilyCase
from setwright.workbench.site.words import line_words, listing
from setwright.workbench.survivors.reading import (
    Agreement,
    SurvivorView,
    agreements,
    best_versions,
    positions_on,
    survivor_cells,
    view_of,
)

FREE_COLUMNS = {
    "stamp_date": "Date stamp",
    "condition": "Condition",
    "seen_on": "Seen on",
    "source": "Source",
    "note": "Note",
}
"""The columns of a survivors file that computations of identity do not use, as a page names them."""


@dataclass(frozen=True, slots=True)
class RegisterRow:
    """One survivor in the list."""

    name: str
    serial: str
    line: str
    seen: int
    closest: str


@dataclass(frozen=True, slots=True)
class SurvivorPage:
    """Everything a survivor's page shows."""

    view: SurvivorView
    facts: tuple[tuple[str, str], ...]
    agreements: tuple[Agreement, ...]
    best: str
    pictures: tuple[AxisPicture, ...]
    grids: tuple[tuple[str, Grid], ...]


def register_rows(case: FamilyCase, indices: Sequence[int]) -> tuple[RegisterRow, ...]:
    """The rows of one sheet of the list."""
    rows = []
    for index in indices:
        view = view_of(case.family, case.survivors, index)
        rows.append(
            RegisterRow(
                name=view.name,
                serial=view.serial or "not known",
                line=line_words(view.line) if view.line else "line not known",
                seen=len(view.seen),
                closest=_closest(case, view),
            )
        )
    return tuple(rows)


def _closest(case: FamilyCase, view: SurvivorView) -> str:
    best = best_versions(case.family, view)
    if not best:
        return "nothing to compare"
    which = listing((item.label for item in best), "or")
    return f"{which} ({best[0].agreeing} of {best[0].comparable})"


def survivor_page(case: FamilyCase, index: int) -> SurvivorPage:
    """Lays one survivor out."""
    family = case.family
    view = view_of(family, case.survivors, index)
    cells = survivor_cells(view)
    lines = [view.line] if view.line is not None else list(family.line_ids)
    several = len(family.lines) > 1
    pictures: tuple[AxisPicture, ...] = ()
    if view.line is not None and view.position is not None:
        positions = positions_on(family, case.survivors, view.line)
        pictures = axis_pictures(family, view.line, positions, marked=view.position, marked_label=view.name)
    return SurvivorPage(
        view=view,
        facts=_facts(case, view, several),
        agreements=agreements(family, view),
        best=_closest(case, view),
        pictures=pictures,
        grids=tuple(
            (line_words(line).capitalize() if several else "", grid_of(family, line, cells, set_label=view.name))
            for line in lines
            if family.versions_of(line)
        ),
    )


def _facts(case: FamilyCase, view: SurvivorView, several_lines: bool) -> tuple[tuple[str, str], ...]:
    facts = [("Serial", view.serial or "not known")]
    if several_lines:
        facts.append(("Line", line_words(view.line) if view.line else "not known"))
    facts.append(("Seen", f"{len(view.seen)} of {len(case.family.features)} features"))
    cells = free_cells(case, view.index)
    facts += [(words, cells[name]) for name, words in FREE_COLUMNS.items() if cells.get(name)]
    return tuple(facts)


def free_cells(case: FamilyCase, index: int) -> Mapping[str, str]:
    """The row as it stands in the file, by column name; empty for registers too large to keep their text."""
    rows = None if case.register is None else case.register.rows
    return rows[index] if rows else {}
