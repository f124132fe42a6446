"""What a table of survivors would change in a register: which rows are new, changed, the same, or wrong.

The table may be CSV, a workbook (XLSX) or cells pasted from a spreadsheet. A row that is wrong is listed with
everything wrong in it and keeps nothing else out; the others can be taken in without it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from setwright.files.problems import Problem, ProblemList, refuse
from setwright.files.source_text import SURVIVORS_LIMIT, SourceBytes, check_size
from setwright.files.survivors.columns import Columns, known_names, read_header
from setwright.files.survivors.csv_text import CsvText, Record, open_csv
from setwright.files.survivors.editing import change_rows
from setwright.files.survivors.reading import RowReader
from setwright.files.survivors.spreadsheet import clean
from setwright.files.survivors.workbook import is_workbook, workbook_as_csv
from setwright.identity.model import Family

RowState = Literal["new", "changed", "same", "bad"]

MOST_ROWS = 100_000
"""A longer table is no matter for a preview."""


@dataclass(frozen=True, slots=True)
class PreviewRow:
    """One row of the table.

    row : its number as a spreadsheet counts, the header being row 1. cells : column to cell, empty ones left out.
    changes : of a changed row, column to (cell now, cell then). An empty cell says nothing and changes nothing.
    problems : what is wrong in a bad row.
    """

    row: int
    id: str
    state: RowState
    cells: Mapping[str, str]
    changes: Mapping[str, tuple[str, str]]
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True)
class Preview:
    """All rows of a table, beside the register it is to go into."""

    name: str
    columns: tuple[str, ...]
    rows: tuple[PreviewRow, ...]
    warnings: tuple[str, ...] = ()

    def of(self, state: RowState) -> tuple[PreviewRow, ...]:
        """The rows in one state."""
        return tuple(row for row in self.rows if row.state == state)

    @property
    def counts(self) -> dict[RowState, int]:
        """How many rows are in each state."""
        counts: dict[RowState, int] = {"new": 0, "changed": 0, "same": 0, "bad": 0}
        for row in self.rows:
            counts[row.state] += 1
        return counts

    def merged(self, present: str, family: Family, name: str = "survivors.csv", *, checked: bool = True) -> str:
        """The register with the new and the changed rows in it, the bad ones left out.

        present : the register's text as it stands, "" for none. checked : False where the caller reads the new text
        anyway before anything is kept. Raises FileProblems where the two do not go together.
        """
        changed = {row.id: {column: then for column, (_, then) in row.changes.items()} for row in self.of("changed")}
        return change_rows(present, family, changed, [row.cells for row in self.of("new")], name, checked=checked)


def preview(content: bytes, family: Family, name: str, present: str = "") -> Preview:
    """Compare a table with a register.

    content : CSV, XLSX (told by its content) or pasted text. present : the register's text, "" for none.

    Raises FileProblems where the table as a whole cannot be read: no header, unknown columns, no text.
    """
    warnings: tuple[str, ...] = ()
    if is_workbook(content):
        content, warnings = workbook_as_csv(content, name)
    check_size(name, len(content), SURVIVORS_LIMIT // 10, "survivors")
    text = open_csv(SourceBytes(name, content), known_names(family))
    records = text.records()
    columns = _columns(text, next(records, None), family)
    reader = RowReader(name, family, columns, None, ProblemList(name))
    known = rows_by_id(present, family)
    rows: list[PreviewRow] = []
    for record in records:
        cells = _named(columns.names, record)
        if not cells and not any(map(clean, record.cells)):
            continue
        if len(rows) == MOST_ROWS:
            raise refuse(name, f"the table has over {MOST_ROWS:,} rows; split it", line=record.line)
        rows.append(_compared(reader, record, cells, known))
    return Preview(name, tuple(columns.names), tuple(rows), (*warnings, *text.warnings))


def rows_by_id(text: str, family: Family) -> dict[str, dict[str, str]]:
    """The rows of a register by their ids: column to cell, empty cells left out."""
    if not text.strip():
        return {}
    records = open_csv(SourceBytes("survivors", text.encode("utf-8")), known_names(family)).records()
    names = [clean(cell) for cell in next(records).cells]
    rows = {}
    for record in records:
        cells = _named(names, record)
        if "id" in cells:
            rows[cells["id"]] = cells
    return rows


def _columns(text: CsvText, header: Record | None, family: Family) -> Columns:
    problems = ProblemList(text.name)
    if header is None:
        raise refuse(text.name, 'the table is empty; begin with a header row such as "id,serial,line"')
    columns = read_header(header.cells, family, text.separator, header.line, problems)
    problems.raise_if_any()
    return columns


def _named(names: list[str], record: Record) -> dict[str, str]:
    cells = {name: clean(cell) for name, cell in zip(names, record.cells, strict=False) if name}
    return {name: cell for name, cell in cells.items() if cell}


def _compared(
    reader: RowReader, record: Record, cells: dict[str, str], known: Mapping[str, Mapping[str, str]]
) -> PreviewRow:
    row_id = cells.get("id", "")
    reader.problems = ProblemList(reader.name)
    reader.read(record)
    if len(reader.problems):
        return PreviewRow(record.row, row_id, "bad", cells, {}, reader.problems.failure().problems)
    if row_id not in known:
        return PreviewRow(record.row, row_id, "new", cells, {})
    now = known[row_id]
    changes = {name: (now.get(name, ""), cell) for name, cell in cells.items() if now.get(name, "") != cell}
    return PreviewRow(record.row, row_id, "changed" if changes else "same", cells, changes)
