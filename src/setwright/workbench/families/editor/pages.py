"""The editor's page, put into reading order: the grid, and below it the other tables of the file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from setwright.files import FamilyFile
from setwright.identity.places import describe
from setwright.workbench.families.editor.cells import Cell, EditGrid
from setwright.workbench.families.editor.steps import name_of, raw_tables
from setwright.workbench.families.editor.tables import BLOCK, BOUND, LINE, SOURCE, Table
from setwright.workbench.site.words import line_words

MOST_SWITCHED = 16
"""The style sheet can show one of so many versions at a time on a phone; more of them scroll."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One table in a list: what it is called, what it says, and the address part that names it."""

    name: str
    says: str
    which: str


@dataclass(frozen=True, slots=True)
class TableList:
    """The tables of one kind."""

    table: Table
    heading: str
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class GridPage:
    """The grid's page. `shown` is the number, from 1, of the version that a phone shows first."""

    grid: EditGrid
    lists: tuple[TableList, ...]
    shown: int

    @property
    def switched(self) -> bool:
        """Whether a phone shows one version at a time."""
        return 1 < len(self.grid.columns) <= MOST_SWITCHED


def grid_page(file: FamilyFile, grid: EditGrid, shown: str) -> GridPage:
    """Lays the editor out. shown : the version asked for, by number or id; one with a problem comes before it."""
    ids = [column.version.id for column in grid.columns]
    wrong = next((cell.version for row in grid.rows for cell in row.cells if cell.problem), None)
    number = ids.index(wrong) + 1 if wrong else ids.index(shown) + 1 if shown in ids else int(shown or 1)
    lists = [_table_list(file, table) for table in (SOURCE, BOUND, BLOCK, LINE)]
    return GridPage(grid, tuple(lists), min(max(number, 1), max(len(ids), 1)))


def _table_list(file: FamilyFile, table: Table) -> TableList:
    entries = []
    for number, raw in enumerate(raw_tables(file, table.kind)):
        which = str(raw["id"]) if table.has_ids else str(number + 1)
        entries.append(Entry(name_of(file, table, raw), _says(file, table, number, raw), which))
    return TableList(table, table.many.capitalize(), tuple(entries))


def _says(file: FamilyFile, table: Table, number: int, raw: Mapping[str, Any]) -> str:
    family = file.family
    if table is SOURCE:
        shelf = ", on the literature shelf" if raw.get("literature") else ""
        return (f"page {raw['page']}" if raw.get("page") else "no page given") + shelf
    if table is BOUND:
        bound = family.cut_in_bounds[number]
        said = []
        said += [f"in no set up to {describe(family, bound.line, bound.after)}"] if bound.after is not None else []
        said += [f"in every set from {describe(family, bound.line, bound.before)}"] if bound.before is not None else []
        return ", ".join(said) + ("" if bound.source else "; no source yet")
    if table is BLOCK:
        return line_words(str(raw.get("line", "main")))
    shares = raw.get("shares_cutins_with")
    return f"cut-ins of the {line_words(shares)}" if shares else "cut-ins of its own"


def overlaid(seen: Mapping[Cell, str], now: Mapping[Cell, str], mine: Mapping[Cell, str]) -> dict[Cell, str]:
    """The cells that both a person and somebody else changed since the person saw them: cell to the other's state."""
    return {cell: now.get(cell, "") for cell in mine if now.get(cell, "") not in (seen.get(cell, ""), mine[cell])}
