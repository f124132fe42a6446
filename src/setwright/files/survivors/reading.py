"""Reading a survivors file: the register of other known sets of a family."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path

from setwright.files.problems import ProblemList, quoted, refuse
from setwright.files.source_text import SURVIVORS_LIMIT, load
from setwright.files.survivors.cells import CellProblem, cell_readers, read_id
from setwright.files.survivors.columns import Columns, known_names, read_header
from setwright.files.survivors.csv_text import CsvText, Record, open_csv
from setwright.files.survivors.register import (
    MOST_ROWS_KEPT,
    Register,
    SurvivorRows,
    bench_place,
    bench_warnings,
    doubt_warnings,
    row_code,
    same_place_warnings,
)
from setwright.files.survivors.serials import SerialPlacer
from setwright.files.survivors.spreadsheet import clean
from setwright.identity.model import BenchSet, Family

_TOML_FORMAT = re.compile(rb"""^\s*format\s*=\s*["']setwright-""", re.MULTILINE)


def read_survivors(
    path_or_bytes: str | Path | bytes, family: Family, name: str | None = None, *, bench: BenchSet | None = None
) -> Register:
    """Read a survivors file (CSV) against its family.

    path_or_bytes : the file, or its content. name : what messages call it, default the path.
    bench : the set on the bench; rows that are this set are left out with a warning.

    Large files are read column by column where they are regular and without a problem; whatever is not goes
    row by row, which is slower and says in which row.

    Raises FileProblems with everything that is wrong, the first 200 named and the rest counted; nothing is
    taken in then.
    """
    source = load(path_or_bytes, name, SURVIVORS_LIMIT, "survivors")
    if _TOML_FORMAT.search(source.data[:4096]):
        raise refuse(source.name, "this is a family or set file (TOML); here a survivors table (CSV) is read")
    text = open_csv(source, known_names(family))
    if source.data.count(b"\n") >= MOST_ROWS_KEPT:
        from setwright.files.survivors.large import read_columns

        register = read_columns(text, family, bench)
        if register is not None:
            return register
    return read_rows(text, family, bench)


def read_rows(text: CsvText, family: Family, bench: BenchSet | None) -> Register:
    """The register read row by row; every problem is noted with its row and column."""
    problems = ProblemList(text.name)
    records = text.records()
    header = next(records, None)
    if header is None:
        problems.add("row 1", 'the file is empty; begin with a header row such as "id,serial,line"', line=1)
        raise problems.failure()
    columns = read_header(header.cells, family, text.separator, header.line, problems)
    if columns.id is None:
        # Probably the wrong file or separator; what its rows hold would only confuse.
        raise problems.failure()
    reader = RowReader(text.name, family, columns, bench, problems)
    for record in records:
        reader.read(record)
    problems.raise_if_any()
    return reader.register(text.warnings)


class RowReader:
    """Reads the rows of one file, one after another; what is wrong goes into `problems`."""

    def __init__(
        self, name: str, family: Family, columns: Columns, bench: BenchSet | None, problems: ProblemList
    ) -> None:
        self.name = name
        self.columns = columns
        self.problems = problems
        self.readers = cell_readers(columns, family)
        self.placer = SerialPlacer(family)
        self.bench = bench_place(family, bench)
        self.collected = SurvivorRows(family, columns)
        self.rows: list[Mapping[str, str]] = []
        self.first_rows: dict[str, int] = {}
        self.left_out: list[str] = []
        self.nameless = tuple(columns.nameless())

    def read(self, record: Record) -> None:
        """Take in one row; a row whose cells are all empty is passed over."""
        cells, width = record.cells, len(self.columns.names)
        if len(cells) < width:
            cells = cells + [""] * (width - len(cells))
        # An ordinary row has its first cell filled, which says quickest that the row is not empty.
        if not cells[0].strip() and not any(map(clean, cells)):
            return
        if len(cells) > width and any(map(clean, cells[width:])):
            message = f"the row has {len(cells)} cells, the header {width}; a cell with a comma in it needs quotes"
            self._note(record, None, message)
        for index in self.nameless:
            if clean(cells[index]):
                self._note(record, index, f"{quoted(cells[index])} stands in a column without a name; name it in row 1")
        values = {}
        for index, reader in self.readers.items():
            cell = reader.known.get(cells[index]) or reader(cells[index])
            values[index] = cell.value
            if cell.problem is not None:
                self._note(record, index, cell.problem.message, cell.problem.suggestion)
        set_id = self._id(record, cells)
        if set_id is not None:
            self._take_in(record, set_id, cells, values)

    def _note(self, record: Record, index: int | None, message: str, suggestion: str | None = None) -> None:
        where = f"row {record.row}"
        if index is not None:
            name = self.columns.names[index]
            where += f', column "{name}"' if name else f", column {index + 1}"
        self.problems.add(where, message, line=record.line, suggestion=suggestion)

    def _id(self, record: Record, cells: list[str]) -> str | None:
        index = self.columns.id
        assert index is not None, "a register without ids is refused before its rows are read"
        try:
            set_id = read_id(cells[index])
        except CellProblem as problem:
            self._note(record, index, problem.message, problem.suggestion)
            return None
        first = self.first_rows.setdefault(set_id, record.row)
        if first != record.row:
            self._note(record, index, f"the id {quoted(set_id)} stands in row {first} already; give each set its own")
            return None
        return set_id

    def _take_in(self, record: Record, set_id: str, cells: list[str], values: Mapping[int, int]) -> None:
        line = -1 if self.columns.line is None else values[self.columns.line]
        serial = "" if self.columns.serial is None else cells[self.columns.serial]
        try:
            placed = self.placer.place(serial, line)
        except CellProblem as problem:
            self._note(record, self.columns.serial, problem.message, problem.suggestion)
            return
        if len(self.problems):
            # The file is refused already; what is left to do is to find what else is wrong.
            return
        if self.bench.holds(set_id, placed.plain, placed.line):
            self.left_out.append(set_id)
            return
        out = self.collected
        if placed.kept is not None:
            out.serial[len(out.ids)] = placed.kept
        out.ids.append(set_id)
        out.line.append(placed.line)
        out.position.append(placed.position)
        for name, place in self.columns.features.items():
            state = -1 if place.state is None else values[place.state]
            sure = 0 if place.sure is None else values[place.sure]
            serviced = 0 if place.serviced is None else values[place.serviced]
            out.seen[name].append(row_code(state, sure, serviced))
        for name, index in self.columns.dates.items():
            out.dates[name].append(clean(cells[index]))
        if len(self.rows) < MOST_ROWS_KEPT:
            self.rows.append({name: clean(cells[index]) for index, name in enumerate(self.columns.names) if name})

    def register(self, warnings: tuple[str, ...]) -> Register:
        """Everything taken in; the cells as text only where the register is small."""
        survivors = self.collected.survivors()
        named = {self.columns.names[index]: reader for index, reader in self.readers.items()}
        return Register(
            name=self.name,
            survivors=survivors,
            rows=tuple(self.rows) if len(survivors) < MOST_ROWS_KEPT else (),
            dates={name: tuple(cells) for name, cells in self.collected.dates.items()},
            warnings=(
                *warnings,
                *bench_warnings(self.left_out),
                *same_place_warnings(survivors),
                *doubt_warnings(named),
            ),
        )
