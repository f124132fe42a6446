"""Reading a large survivors file column by column, each different cell once.

Only a regular file without any problem is read here. Whatever is out of the ordinary (a row too short, a
formula, a doubled id, a serial that fits nowhere …) makes `read_columns` give up, and the file is read row
by row, where every problem gets its place. So both ways give the same register, and the same refusals.
"""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from setwright.files.problems import FileProblems, ProblemList
from setwright.files.survivors.arrow_table import ArrowText, Irregular, arrow_table
from setwright.files.survivors.cells import CellProblem, CellReader, cell_readers, read_id
from setwright.files.survivors.columns import Columns, FeatureColumns, read_header
from setwright.files.survivors.csv_text import CsvText
from setwright.files.survivors.register import (
    BenchPlace,
    Register,
    bench_place,
    bench_warnings,
    code_type,
    doubt_warnings,
    same_place_warnings,
)
from setwright.files.survivors.serials import SerialPlacer
from setwright.identity.model import LOOKS_SERVICED, NOT_SEEN, SURENESSES, BenchSet, Family, Survivors

_LONGEST_CELL = 100_000
_ODD_SPACES = r"\x{a0}\x{ad}\x{1680}\x{2000}-\x{200f}\x{2028}-\x{202f}\x{205f}\x{2060}\x{3000}\x{feff}"
_ODD_ID = rf"^[=+\-@'\s#]|\s$|[\x00-\x1f\x7f-\x{{9f}}{_ODD_SPACES}]"
_PLAIN_SERIAL = r"^(?P<prefix>[A-Za-z]{0,12})[ \-]?(?P<number>[0-9]{1,15})$"
_MAY_BE_FORMULA = "^\\s*[\u200b-\u200f\u2060\ufeff\u00ad\u00a0]*\\s*[=+\\-@]"


def read_columns(text: CsvText, family: Family, bench: BenchSet | None) -> Register | None:
    """The register, or None where the file must be read row by row."""
    try:
        columns, header_lines = _header(text, family)
        table = arrow_table(text, columns, header_lines)
        return _ColumnReader(text, family, columns, table, bench).register()
    except (Irregular, pa.ArrowInvalid, CellProblem):
        return None


def _header(text: CsvText, family: Family) -> tuple[Columns, int]:
    """The columns, and how many lines stand before the first set."""
    if text.encoding not in ("utf-8", "utf-8-sig"):
        raise Irregular("only UTF-8 is read by columns")
    # The first two records are enough to see where the header ends; an open quote may swallow the file.
    problems = ProblemList(text.name)
    records = text.records()
    try:
        header, first = next(records), next(records)
    except (FileProblems, StopIteration):
        raise Irregular("no header or no row") from None
    columns = read_header(header.cells, family, text.separator, header.line, problems)
    if len(problems) or list(columns.nameless()) or len(columns.names) != len(header.cells):
        raise Irregular("a header with problems")
    if header.line != text.lines_before + 1 or first.line != header.line + 1:
        raise Irregular("a header over several lines")
    return columns, header.line


class _ColumnReader:
    def __init__(self, text: CsvText, family: Family, columns: Columns, table: Any, bench: BenchSet | None) -> None:
        self.text = text
        self.family = family
        self.columns = columns
        self.table = table
        self.readers = cell_readers(columns, family)
        self.placer = SerialPlacer(family)
        self.bench = bench_place(family, bench)

    def register(self) -> Register:
        """Everything in the file."""
        ids = self._ids()
        for index in self.columns.free:
            self._check_free(index)
        dates = {name: self._dates(index) for name, index in self.columns.dates.items()}
        line, position, serial, plain = self._places()
        seen = {name: self._codes(place) for name, place in self.columns.features.items()}
        left_out, keep = self._bench_rows(ids, line, plain)
        if keep is not None:
            ids, line, position = ids.filter(pa.array(keep)), line[keep], position[keep]
            seen = {name: codes[keep] for name, codes in seen.items()}
            dates = {name: column.filter(pa.array(keep)) for name, column in dates.items()}
            new_rows = np.cumsum(keep) - 1
            serial = {int(new_rows[row]): kept for row, kept in serial.items() if keep[row]}
        survivors = Survivors(
            ids=ArrowText(ids),
            line=line,
            position=position,
            seen={name: codes for name, codes in seen.items() if bool((codes != NOT_SEEN).any())},
            serial=serial,
        )
        named = {self.columns.names[index]: reader for index, reader in self.readers.items()}
        return Register(
            name=self.text.name,
            survivors=survivors,
            dates={name: ArrowText(column) for name, column in dates.items()},
            warnings=(
                *self.text.warnings,
                *bench_warnings(left_out),
                *same_place_warnings(survivors),
                *doubt_warnings(named),
            ),
        )

    def _column(self, index: int) -> Any:
        return self.table.column(index)

    def _ids(self) -> Any:
        assert self.columns.id is not None, "a header without ids was refused"
        ids = self._column(self.columns.id)
        lengths = pc.min_max(pc.utf8_length(ids)).as_py()
        if lengths["min"] is None or lengths["min"] < 1 or lengths["max"] > 200:
            raise Irregular("no id, or a very long one")
        odd = pc.any(pc.match_substring_regex(ids, _ODD_ID)).as_py()
        spoilt = pc.any(pc.match_substring_regex(ids, r"^[0-9].*[-/.,eE ]|[-/ ][0-9]{1,4}$")).as_py()
        if odd or (spoilt and not self._ids_pass(ids)):
            raise Irregular("an id that must be looked at")
        if pc.count_distinct(ids).as_py() < len(ids):
            raise Irregular("an id stands twice")
        return ids

    def _ids_pass(self, ids: Any) -> bool:
        """Whether every id is taken as it stands."""
        return all(read_id(text) == text for text in ArrowText(ids))

    def _check_free(self, index: int) -> None:
        column = self._column(index)
        if (pc.max(pc.binary_length(column)).as_py() or 0) > _LONGEST_CELL:
            raise Irregular("a very long cell")
        suspects = column.filter(pc.match_substring_regex(column, _MAY_BE_FORMULA))
        for cell in ArrowText(suspects):
            if self.readers[index](cell).problem is not None:
                raise Irregular("a formula")

    def _dates(self, index: int) -> Any:
        column = self._column(index)
        odd = pc.any(pc.match_substring_regex(column, r"^\s|\s$|[^\x21-\x7e ]|[\r\n\t]")).as_py()
        if odd:
            raise Irregular("odd characters around dates")
        self._values(column.dictionary_encode(), self.readers[index])
        return column

    def _values(self, column: Any, reader: CellReader) -> np.ndarray:
        """The numbers of a dictionary column's cells, each different cell read once."""
        parts = []
        for chunk in column.chunks:
            values = []
            for cell in chunk.dictionary.to_pylist():
                if len(cell) > _LONGEST_CELL:
                    raise Irregular("a very long cell")
                read = reader(cell)
                if read.problem is not None:
                    raise read.problem
                values.append(read.value)
            table = np.array(values or [0], dtype=np.int16)
            parts.append(table[chunk.indices.to_numpy(zero_copy_only=False)])
        return np.concatenate(parts) if parts else np.empty(0, dtype=np.int16)

    def _optional(self, index: int | None, default: int) -> np.ndarray | None:
        return None if index is None else self._values(self._column(index), self.readers[index])

    def _codes(self, place: FeatureColumns) -> np.ndarray:
        """One feature's column for identity, as `register.row_code` makes it cell by cell."""
        state = self._optional(place.state, NOT_SEEN)
        sure = self._optional(place.sure, 0)
        serviced = self._optional(place.serviced, 0)
        if state is None:
            state = np.full(len(self.table), NOT_SEEN, dtype=np.int16)
        codes = state * np.int16(len(SURENESSES))
        if sure is not None:
            codes += sure
        codes[state < 0] = NOT_SEEN
        if serviced is not None:
            codes[serviced > 0] = LOOKS_SERVICED
        return codes.astype(code_type(place.feature))

    def _places(self) -> tuple[np.ndarray, np.ndarray, dict[int, str], list[Any]]:
        """Line, position and the serials that settle no position, as `SerialPlacer.place` gives them row by row.

        The last item is what `_bench_rows` needs to find the bench set's serial: prefixes, their places, numbers,
        and the plain serials of the rows that were placed one by one.
        """
        count = len(self.table)
        line_read = self._optional(self.columns.line, -1)
        line = np.full(count, -1, dtype=np.int16) if line_read is None else line_read
        position = np.full(count, -1, dtype=np.int64)
        serial: dict[int, str] = {}
        if self.columns.serial is None:
            line[line < 0] = self.placer.only_line
            return line, position, serial, []
        column = self._column(self.columns.serial)
        fields = pc.extract_regex(column, _PLAIN_SERIAL).combine_chunks()
        if any(character.isdigit() for stretch in self.placer.stretches for character in stretch.prefix):
            simple = np.zeros(count, dtype=bool)
        else:
            simple = np.asarray(fields.is_valid().to_numpy(zero_copy_only=False), dtype=bool)
        empty = pc.equal(column, "").combine_chunks().to_numpy(zero_copy_only=False).astype(bool)
        line[empty & (line < 0)] = self.placer.only_line
        number = np.full(count, -1, dtype=np.int64)
        prefix = np.full(count, -1, dtype=np.int64)
        prefixes = self._split(fields, simple, number, prefix)
        unsettled = self._place_simple(simple, prefixes, prefix, number, line, position)
        plain: dict[int, str] = {}
        for row in np.flatnonzero((~simple & ~empty) | unsettled):
            placed = self.placer.place(str(column[int(row)].as_py()), int(line[row]))
            line[row], position[row] = placed.line, placed.position
            if placed.kept is not None:
                serial[int(row)] = placed.kept
            if placed.plain is not None:
                plain[int(row)] = placed.plain
        return line, position, serial, [prefixes, prefix, number, plain]

    def _split(self, fields: Any, simple: np.ndarray, number: np.ndarray, prefix: np.ndarray) -> list[str]:
        """Prefix (as a place in the list returned) and number of each serial of the plain kind."""
        chosen = pa.array(simple)
        found = fields.filter(chosen)
        names = pc.utf8_upper(found.field("prefix")).dictionary_encode()
        number[simple] = pc.cast(found.field("number"), pa.int64()).to_numpy(zero_copy_only=False)
        prefix[simple] = names.indices.to_numpy(zero_copy_only=False)
        return [str(name) for name in names.dictionary.to_pylist()]

    def _place_simple(
        self,
        simple: np.ndarray,
        prefixes: list[str],
        prefix: np.ndarray,
        number: np.ndarray,
        line: np.ndarray,
        position: np.ndarray,
    ) -> np.ndarray:
        """Fill in lines and positions of serials that fit exactly one place; True for those that fit several.

        Raises Irregular where one fits none.
        """
        fits = np.zeros(len(line), dtype=np.int16)
        found_line = np.full(len(line), -1, dtype=np.int16)
        for stretch in self.placer.stretches:
            if stretch.prefix not in prefixes:
                continue
            here = simple & (prefix == prefixes.index(stretch.prefix))
            here &= (number >= stretch.first) & (number <= stretch.last)
            here &= (line < 0) | (line == stretch.line)
            fits += here
            found_line[here] = stretch.line
            position[here] = number[here] + stretch.shift
        if bool((simple & (fits == 0)).any()):
            raise Irregular("a serial that no set can have")
        once = simple & (fits == 1)
        line[once] = found_line[once]
        several: np.ndarray = simple & (fits > 1)
        position[several] = -1
        return several

    def _bench_rows(self, ids: Any, line: np.ndarray, plain: list[Any]) -> tuple[list[str], np.ndarray | None]:
        """The ids of rows that are the bench set itself, and the mask of all others; None where there is none."""
        bench: BenchPlace = self.bench
        if bench.id is None:
            return [], None
        same = pc.equal(ids, bench.id).combine_chunks().to_numpy(zero_copy_only=False).astype(bool)
        if bench.serial is not None and plain:
            same |= self._same_serial(bench.serial, plain) & (line == bench.line)
        if not same.any():
            return [], None
        return [ids[int(row)].as_py() for row in np.flatnonzero(same)], ~same

    def _same_serial(self, serial: str, plain: list[Any]) -> np.ndarray:
        """Rows whose serial in its plain form is the one given, leading zeros included."""
        prefixes, prefix, number, one_by_one = plain
        rows = np.zeros(len(number), dtype=bool)
        match = re.fullmatch(_PLAIN_SERIAL, serial)
        assert self.columns.serial is not None, "without serials nothing is compared"
        if match is not None and match["prefix"] in prefixes:
            candidates = (prefix == prefixes.index(match["prefix"])) & (number == int(match["number"]))
            column = self._column(self.columns.serial)
            for row in np.flatnonzero(candidates):
                cell = str(column[int(row)].as_py())
                rows[row] = re.sub(r"[ \-]", "", cell).upper() == serial
        for row, text in one_by_one.items():
            rows[row] = text == serial
        return rows
