"""The literature shelf as a table: one row a document, for spreadsheets, in and out.

The table says everything but the scans; the column `attachments` names them on the way out and is passed over on
the way in. Only `title` is required. A row without an id gets one made of maker, model, title and page, so that
the same table taken in twice names the same documents.
"""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from setwright.files.literature.entry import LiteratureEntry
from setwright.files.literature.shapes import LITERATURE_FORMAT, LiteratureShape
from setwright.files.problems import Problem, ProblemList, quoted
from setwright.files.shape_check import check_shape
from setwright.files.source_text import MEGABYTE, load
from setwright.files.suggest import nearest
from setwright.files.survivors.cells import CellProblem, refuse_formula
from setwright.files.survivors.csv_text import SEPARATORS, CsvText, Record, open_csv
from setwright.files.survivors.spreadsheet import clean, harmless, without_text_mark
from setwright.files.toml.text import TomlFile

COLUMNS = (
    "id", "title", "kind", "maker", "model", "chassis", "volume", "page", "pages", "year", "owned", "where", "note",
)  # fmt: skip
"""The columns of the table, in the order in which it is written."""

SCANS = "attachments"
INDEX_LIMIT = 2 * MEGABYTE
MOST_ROWS = 5_000

_WORDS = {"yes": True, "true": True, "1": True, "x": True, "no": False, "false": False, "0": False, "": False}
_NUMBERS = ("pages", "year")
_NO_ID = re.compile(r"[^a-z0-9]+")


@dataclass(frozen=True, slots=True)
class IndexRow:
    """One good row. `row` counts as a spreadsheet does; the entry has no attachments."""

    row: int
    entry: LiteratureEntry


@dataclass(frozen=True, slots=True)
class ShelfIndex:
    """A table that was read: the good rows, and what is wrong with the others.

    columns : the columns that the table has; of an entry that is on the shelf already, the others stay as they are.
    """

    name: str
    columns: tuple[str, ...]
    rows: tuple[IndexRow, ...]
    problems: tuple[Problem, ...]
    problems_left_out: int = 0
    warnings: tuple[str, ...] = ()


def write_index(entries: Iterable[LiteratureEntry], columns: Sequence[str] = (*COLUMNS, SCANS)) -> str:
    """The table of the entries as CSV text; cells that a spreadsheet would run are made harmless.

    columns : which of the columns to write; the id always stands first.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    names = ["id", *(column for column in columns if column != "id")]
    writer.writerow(names)
    for entry in entries:
        writer.writerow([harmless(_cell(entry, name)) for name in names])
    return out.getvalue()


def _cell(entry: LiteratureEntry, column: str) -> str:
    if column == SCANS:
        return "; ".join(one.name for one in entry.attachments)
    return _as_cell(getattr(entry, column))


def _as_cell(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None else str(value)


def read_index(path_or_bytes: str | Path | bytes, name: str | None = None) -> ShelfIndex:
    """Read a table of documents (CSV).

    Every row stands for itself: what is wrong is listed by row and column, and the rows without a fault are
    given. Raises FileProblems where the table as a whole cannot be read.
    """
    text = open_csv(load(path_or_bytes, name, INDEX_LIMIT, "literature"), COLUMNS)
    problems = ProblemList(text.name)
    records = text.records()
    header = next(records, None)
    if header is None:
        problems.add("row 1", 'the file is empty; begin with a header row such as "title,maker,model"', line=1)
        raise problems.failure()
    columns = _header(text, header, problems)
    problems.raise_if_any()
    reader = _RowReader(text.name, columns, problems)
    for record in records:
        reader.read(record)
        if len(reader.rows) > MOST_ROWS:
            problems.add("", f"the table has more than {MOST_ROWS:,} rows; split it")
            raise problems.failure()
    known = tuple(column for column in columns if column in COLUMNS)
    failure = problems.failure()
    return ShelfIndex(text.name, known, tuple(reader.rows), failure.problems, failure.left_out, text.warnings)


def _header(text: CsvText, header: Record, problems: ProblemList) -> list[str]:
    columns = [clean(cell).casefold() for cell in header.cells]
    for index, column in enumerate(columns):
        where = f"row 1, column {index + 1}"
        if column and column in columns[:index]:
            problems.add(where, f"the column {quoted(column)} stands twice; keep one", line=header.line)
        elif column and column not in (*COLUMNS, SCANS):
            message = f"there is no column {quoted(column)} on the shelf; its columns are {', '.join(COLUMNS)}"
            problems.add(where, message, line=header.line, suggestion=nearest(column, COLUMNS))
    if "title" not in columns:
        parted = f" (read with {SEPARATORS.get(text.separator, text.separator)} between the columns)"
        message = f'the column "title" is missing{parted if len(columns) < 2 else ""}; every document needs a title'
        problems.add("row 1", message, line=header.line)
    return columns


class _RowReader:
    """Reads the rows of a table whose header is sound."""

    def __init__(self, name: str, columns: list[str], problems: ProblemList) -> None:
        self.name = name
        self.columns = columns
        self.problems = problems
        self.rows: list[IndexRow] = []
        self.first_rows: dict[str, int] = {}

    def read(self, record: Record) -> None:
        """Take one row in, or note what is wrong with it; a row of empty cells is passed over."""
        if not any(map(clean, record.cells)):
            return
        before = len(self.problems)
        for index, cell in enumerate(record.cells):
            if (index >= len(self.columns) or not self.columns[index]) and clean(cell):
                message = f"{quoted(cell)} stands under no column name; a cell with a comma in it needs quotes"
                self._note(record, f"column {index + 1}", message)
        keys = self._keys(record)
        if len(self.problems) > before:
            return
        entry = self._entry(record, keys)
        if entry is not None:
            self.rows.append(IndexRow(record.row, entry))

    def _note(self, record: Record, where: str, message: str, suggestion: str | None = None) -> None:
        self.problems.add(f"row {record.row}, {where}", message, line=record.line, suggestion=suggestion)

    def _keys(self, record: Record) -> dict[str, object]:
        """The cells that say something, each of the type its key has."""
        keys: dict[str, object] = {}
        for column, raw in zip(self.columns, record.cells, strict=False):
            text = clean(raw)
            if column not in COLUMNS or not text:
                continue
            try:
                refuse_formula(text)
                keys[column] = _value(column, without_text_mark(text))
            except CellProblem as problem:
                self._note(record, f"column {quoted(column)}", problem.message, problem.suggestion)
        return keys

    def _entry(self, record: Record, keys: dict[str, object]) -> LiteratureEntry | None:
        made = "id" not in keys
        if made:
            keys["id"] = self._free_id(keys)
        checked = ProblemList(self.name)
        shape = check_shape(LiteratureShape, TomlFile(self.name, "", {"format": LITERATURE_FORMAT, **keys}), checked)
        for problem in checked.failure().problems:
            column = problem.where.removeprefix("key ")
            self._note(record, f"column {quoted(column)}", _for_a_cell(column, problem.message), problem.suggestion)
        if len(checked):
            return None
        first = self.first_rows.setdefault(shape.shape.id, record.row)
        if first != record.row:
            message = f"the id {quoted(shape.shape.id)} stands in row {first} already; give each document its own"
            self._note(record, 'column "id"', message)
            return None
        return LiteratureEntry(**shape.shape.model_dump(exclude={"format", "attachment"}))

    def _free_id(self, keys: Mapping[str, object]) -> str:
        wanted = made_id(keys)
        number, free = 1, wanted
        while free in self.first_rows:
            number += 1
            free = f"{wanted}-{number}"
        return free


def _for_a_cell(column: str, message: str) -> str:
    """What a shape says of a file, said of a cell."""
    return f"the cell is empty; give the document's {column}" if " is missing; " in message else message


def _value(column: str, text: str) -> object:
    if column == "owned":
        if text.casefold() not in _WORDS:
            raise CellProblem(f"{quoted(text)} says neither yes nor no")
        return _WORDS[text.casefold()]
    if column in _NUMBERS:
        if not (text.isascii() and text.isdigit() and len(text) <= 6):
            example = "1948" if column == "year" else "12"
            raise CellProblem(f"{quoted(text)} is no whole number; write {column} as digits, such as {example}")
        return int(text)
    return text.casefold() if column == "kind" else text


def made_id(keys: Mapping[str, object]) -> str:
    """An id made of what names the document: maker, model, title and page.

    >>> made_id({"maker": "Larkspur", "model": "11", "title": "Service data", "page": "7-3"})
    'larkspur-11-service-data-7-3'
    """
    said = " ".join(str(keys.get(key) or "") for key in ("maker", "model", "title", "page"))
    plain = unicodedata.normalize("NFKD", said).encode("ascii", "ignore").decode().casefold()
    return _NO_ID.sub("-", plain).strip("-")[:80].strip("-") or "document"
