"""Editing a survivors file row by row: every other cell, the order and the quoting stay as they are.

A change gives a new text, which is read again before anything else happens: one that would break the file
raises FileProblems, and the text given stays good.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise

from setwright.files.problems import quoted, refuse
from setwright.files.source_text import SourceBytes
from setwright.files.survivors.cells import CellProblem, read_id
from setwright.files.survivors.columns import known_names
from setwright.files.survivors.csv_text import Record, open_csv
from setwright.files.survivors.reading import read_survivors
from setwright.files.survivors.spreadsheet import clean
from setwright.identity.model import Family

MANY_ROWS = 2_000
"""In a longer table every row is kept as wide as the header: a regular table is read much faster."""

NEW_FILE = "id,serial,line\n"
"""What a survivors file begins with where there is none yet."""

Cells = Mapping[str, str | None]
"""Column to cell; None or "" empties a cell."""


def add_row(text: str, family: Family, cells: Cells, name: str = "survivors.csv") -> str:
    """The text with one more row behind the last; columns that are not there yet are put behind the others.

    text : the file as it stands, "" for a new one. cells : must hold an `id` that no row has.
    """
    return change_rows(text, family, {}, [cells], name)


def change_row(text: str, family: Family, row_id: str, cells: Cells, name: str = "survivors.csv") -> str:
    """The text with cells of one row changed; a cell that stood in quotes keeps them."""
    return change_rows(text, family, {row_id: cells}, [], name)


def remove_row(text: str, family: Family, row_id: str, name: str = "survivors.csv") -> str:
    """The text without one row."""
    table = _CsvRows(text, family, name)
    table.remove(row_id)
    return table.checked_text()


def change_rows(
    text: str,
    family: Family,
    changed: Mapping[str, Cells],
    added: Iterable[Cells],
    name: str = "survivors.csv",
    *,
    checked: bool = True,
) -> str:
    """The text with many rows changed, by their id, and many added, at one stroke.

    checked : False where the caller reads the new text anyway before anything is kept.
    """
    table = _CsvRows(text if text.strip() else NEW_FILE, family, name)
    for row_id, cells in changed.items():
        table.change(row_id, cells)
    for cells in added:
        table.append(cells)
    return table.checked_text() if checked else table.text()


class _CsvRows:
    """A CSV text cut into its rows, each as it is written, with the line end and blank lines behind it."""

    def __init__(self, text: str, family: Family, name: str) -> None:
        self._name, self._family = name, family
        csv = open_csv(SourceBytes(name, text.encode("utf-8")), known_names(family))
        self._separator = csv.separator
        mark = re.escape(csv.separator)
        self._cell = re.compile(rf'((?:"(?:[^"]|"")*")?[^{mark}\r\n]*)({mark}|\r\n|\r|\n|\Z)')
        records = list(csv.records())
        if not records:
            raise refuse(name, 'the file is empty; begin with a header row such as "id,serial,line"', where="row 1")
        # As the CSV reader counts lines.
        lines = list(io.StringIO(text, newline=""))
        bounds = [*(record.line - 1 for record in records), len(lines)]
        self._before = "".join(lines[: bounds[0]])
        self._rows = ["".join(lines[start:end]) for start, end in pairwise(bounds)]
        self._header = [clean(cell) for cell in records[0].cells]
        while self._header and not self._header[-1]:
            self._header.pop()
        self._numbers = self._by_id(records)
        self._newline = self._split(self._rows[0])[1] or "\n"

    def _by_id(self, records: Sequence[Record]) -> dict[str, int]:
        """The number of each row by its id; the first where two have one."""
        numbers: dict[str, int] = {}
        place = self._header.index("id") if "id" in self._header else len(self._header)
        for number, record in enumerate(records[1:], 1):
            try:
                numbers.setdefault(read_id(record.cells[place]), number)
            except (CellProblem, IndexError):
                continue  # a row without a usable id cannot be asked for
        return numbers

    def change(self, row_id: str, cells: Cells) -> None:
        """Change cells of the row with this id."""
        self._put(self._number(row_id), cells)

    def remove(self, row_id: str) -> None:
        """Take the row with this id out; its place stays, so that the numbers of the others stay true."""
        self._rows[self._number(row_id)] = ""

    def append(self, cells: Cells) -> None:
        """Put a row behind the last."""
        last = next(number for number in reversed(range(len(self._rows))) if self._rows[number])
        if not self._rows[last].endswith(("\n", "\r")):
            self._rows[last] += self._newline
        # As wide as the header: a regular table is read much faster.
        self._rows.append(self._separator * (len(self._header) - 1) + self._newline)
        self._put(len(self._rows) - 1, {column: cell for column, cell in cells.items() if cell})

    def text(self) -> str:
        """The whole text."""
        return self._before + "".join(self._rows)

    def checked_text(self) -> str:
        """The whole text, read again; FileProblems where it is no good any more."""
        text = self.text()
        read_survivors(text.encode("utf-8"), self._family, self._name)
        return text

    def _number(self, row_id: str) -> int:
        number = self._numbers.get(row_id)
        if number is None:
            raise refuse(self._name, f"there is no row with the id {quoted(row_id)}")
        return number

    def _put(self, number: int, cells: Cells) -> None:
        """Write cells into a row; columns that are not there yet are added to the header."""
        written, rest = self._split(self._rows[number])
        for column, cell in cells.items():
            if column not in self._header:
                if not cell:
                    continue
                self._add_column(column)
            place = self._header.index(column)
            written += [""] * (place + 1 - len(written))
            written[place] = self._written(cell or "", in_quotes=written[place].startswith('"'))
        self._rows[number] = self._separator.join(written) + rest

    def _add_column(self, name: str) -> None:
        written, rest = self._split(self._rows[0])
        # Nameless columns at the end of a header are none.
        written[len(self._header) :] = [self._written(name)]
        self._rows[0] = self._separator.join(written) + rest
        self._header.append(name)
        if len(self._rows) > MANY_ROWS:
            for number in range(1, len(self._rows)):
                self._widen(number)

    def _widen(self, number: int) -> None:
        """Give a row as many cells as the header has."""
        row = self._rows[number]
        if not row:
            return
        if '"' in row:
            written, rest = self._split(row)
            body, width = self._separator.join(written), len(written)
        else:
            body = row.rstrip("\r\n")
            rest, width = row[len(body) :], body.count(self._separator) + 1
        self._rows[number] = body + self._separator * (len(self._header) - width) + rest

    def _split(self, row: str) -> tuple[list[str], str]:
        """The cells of a row as they are written, and what stands behind them: the line end, blank lines."""
        written, place = [], 0
        while True:
            match = self._cell.match(row, place)
            assert match is not None, "any text begins with a cell, which may be empty"
            written.append(match[1])
            place = match.end()
            if match[2] != self._separator:
                return written, row[place - len(match[2]) :]

    def _written(self, cell: str, in_quotes: bool = False) -> str:
        """A cell as CSV, in quotes where it needs or had them."""
        if in_quotes or cell != cell.strip() or any(mark in cell for mark in (self._separator, '"', "\r", "\n")):
            return '"' + cell.replace('"', '""') + '"'
        return cell
