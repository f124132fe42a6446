"""The pages of a register and of one survivor, put into reading order and words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from setwright.identity.model import Feature
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
from setwright.workbench.survivors.table import SORTS, STATE_WORDS, Query

FREE_COLUMNS = {
    "stamp_date": "Date stamp",
    "condition": "Condition",
    "seen_on": "Seen on",
    "source": "Source",
    "x-link": "Link",
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
    state: str = ""


@dataclass(frozen=True, slots=True)
class Heading:
    """The head of a column: the address part that sorts by it, and how it is sorted now ("" where it is not)."""

    words: str
    sort: str
    order: str


@dataclass(frozen=True, slots=True)
class RegisterPage:
    """Everything one sheet of the list shows. `chosen` is the feature whose states stand in a column of their own."""

    query: Query
    rows: tuple[RegisterRow, ...]
    headings: tuple[Heading, ...]
    features: tuple[tuple[str, str], ...]
    states: tuple[tuple[str, str], ...]
    lines: tuple[tuple[str, str], ...]
    chosen: str

    @property
    def order(self) -> str:
        """The order of the rows in words."""
        return f"In the order of {SORTS[self.query.sort]}{', the last first' if self.query.backwards else ''}"


@dataclass(frozen=True, slots=True)
class SurvivorPage:
    """Everything a survivor's page shows."""

    view: SurvivorView
    facts: tuple[tuple[str, str], ...]
    agreements: tuple[Agreement, ...]
    best: str
    pictures: tuple[AxisPicture, ...]
    grids: tuple[tuple[str, Grid], ...]


def register_page(case: FamilyCase, query: Query, indices: Sequence[int]) -> RegisterPage:
    """Lays one sheet of the list out. indices : the rows on it."""
    family = case.family
    feature = next((one for one in family.features if one.id == query.feature), None)
    states = [] if feature is None else [(state, state) for state in feature.all_states]
    headings = [("name", "Set"), ("serial", "Serial")]
    headings += [("", "Line")] * (len(family.lines) > 1)
    headings += [("state", feature.label)] if feature else []
    headings += [("seen", "Features seen"), ("closest", "Agrees most with")]
    return RegisterPage(
        query=query,
        rows=register_rows(case, indices, feature),
        headings=tuple(_heading(query, sort, words) for sort, words in headings),
        features=tuple((one.id, one.label) for one in family.features),
        states=(*states, *((value, words) for value, words in STATE_WORDS.items())),
        lines=tuple((line, line_words(line)) for line in family.line_ids) if len(family.lines) > 1 else (),
        chosen=feature.label if feature else "",
    )


def _heading(query: Query, sort: str, words: str) -> Heading:
    """The head of a column; sorting by it again turns the order round."""
    if not sort:
        return Heading(words, "", "")
    here = query.sort == sort
    # The set of which most was seen comes first unless it is turned round.
    down = query.backwards != (sort == "seen")
    order = ("descending" if down else "ascending") if here else ""
    return Heading(words, query.parameters(sort=sort, backwards=here and not query.backwards), order)


def register_rows(case: FamilyCase, indices: Sequence[int], feature: Feature | None = None) -> tuple[RegisterRow, ...]:
    """The rows of one sheet of the list, with the state of one feature where it is asked for."""
    rows = []
    for index in indices:
        view = view_of(case.family, case.survivors, index)
        state = view.seen.get(feature.id) if feature else None
        rows.append(
            RegisterRow(
                name=view.name,
                serial=view.serial or "not known",
                line=line_words(view.line) if view.line else "line not known",
                seen=len(view.seen),
                closest=_closest(case, view),
                state="not seen" if state is None else f"{state.text}{f', {state.sure}' if state.sure else ''}",
            )
        )
    return tuple(rows)


def _closest(case: FamilyCase, view: SurvivorView) -> str:
    best = best_versions(case.family, view)
    if not best:
        return "nothing to compare"
    which = listing((item.label for item in best), "or")
    return f"{which} ({best[0].agreeing} of {best[0].comparable})"


def survivor_page(case: FamilyCase, index: int, cells_in_file: Mapping[str, str] | None = None) -> SurvivorPage:
    """Lays one survivor out. cells_in_file : its row as it stands in the register."""
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
        facts=_facts(case, view, several, cells_in_file or {}),
        agreements=agreements(family, view),
        best=_closest(case, view),
        pictures=pictures,
        grids=tuple(
            (line_words(line).capitalize() if several else "", grid_of(family, line, cells, set_label=view.name))
            for line in lines
            if family.versions_of(line)
        ),
    )


def _facts(
    case: FamilyCase, view: SurvivorView, several_lines: bool, cells: Mapping[str, str]
) -> tuple[tuple[str, str], ...]:
    facts = [("Serial", view.serial or "not known")]
    if several_lines:
        facts.append(("Line", line_words(view.line) if view.line else "not known"))
    facts.append(("Seen", f"{len(view.seen)} of {len(case.family.features)} features"))
    facts += [(words, cells[name]) for name, words in FREE_COLUMNS.items() if cells.get(name)]
    return tuple(facts)
