"""A regular CSV file as Arrow columns."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Any, overload

import pyarrow as pa
import pyarrow.csv as pa_csv

from setwright.files.survivors.columns import Columns
from setwright.files.survivors.csv_text import CsvText

_BLOCK_BYTES = 8_000_000
_END = b"\nend of the register"
_BLANK_LINE = re.compile(rb"\n[ \t]*\r?\n")


class Irregular(Exception):
    """Something that only the reading row by row deals with."""


class ArrowText(Sequence[str]):
    """A column of text that stays as it was read, a tenth of the size of a list."""

    def __init__(self, column: Any) -> None:
        self._column = column

    def __len__(self) -> int:
        return len(self._column)

    @overload
    def __getitem__(self, index: int) -> str: ...
    @overload
    def __getitem__(self, index: slice) -> Sequence[str]: ...
    def __getitem__(self, index: int | slice) -> str | Sequence[str]:
        if isinstance(index, slice):
            return tuple(self[i] for i in range(*index.indices(len(self))))
        if not -len(self) <= index < len(self):
            raise IndexError(index)
        return str(self._column[index].as_py())

    def __iter__(self) -> Iterator[str]:
        for chunk in self._column.chunks:
            yield from chunk.to_pylist()


class _WithEnd:
    """The file's bytes and one more row: where that row does not come out alone, a quote was left open."""

    closed = False

    def __init__(self, data: bytes, end: bytes) -> None:
        self._parts = [memoryview(data), memoryview(end)]

    def read(self, size: int = -1) -> bytes:
        while self._parts and not self._parts[0]:
            self._parts.pop(0)
        if not self._parts:
            return b""
        part = self._parts[0]
        taken = part if size < 0 else part[:size]
        self._parts[0] = part[len(taken) :]
        return bytes(taken)

    def readable(self) -> bool:
        return True

    def writable(self) -> bool:
        return False

    def seekable(self) -> bool:
        return False


def arrow_table(text: CsvText, columns: Columns, header_lines: int) -> Any:
    """The cells as Arrow columns: text for ids, serials and free columns, dictionaries for all others."""
    data = text.data
    if b"\r" in data and data.count(b"\r") != data.count(b"\r\n"):
        raise Irregular("line ends of old machines")
    end_of_rows = len(data)
    while end_of_rows and data[end_of_rows - 1] in b"\r\n":
        end_of_rows -= 1
    if _BLANK_LINE.search(data, 0, end_of_rows):
        raise Irregular("blank lines, which count as rows")
    quotes = data.count(b'"')
    if quotes % 2:
        raise Irregular("an odd number of quotes")
    plain = {columns.id, columns.serial, *columns.free, *columns.dates.values()}
    names = [str(index) for index in range(len(columns.names))]
    types = {name: pa.string() if int(name) in plain else pa.dictionary(pa.int32(), pa.string()) for name in names}
    end = _END + text.separator.encode() * (len(names) - 1) + b"\n"
    stream = pa.PythonFile(_WithEnd(data, end), mode="r") if quotes else pa.BufferReader(data)
    table = pa_csv.read_csv(
        stream,
        read_options=pa_csv.ReadOptions(column_names=names, skip_rows=header_lines, block_size=_BLOCK_BYTES),
        parse_options=pa_csv.ParseOptions(delimiter=text.separator, newlines_in_values=quotes > 0),
        convert_options=pa_csv.ConvertOptions(
            column_types=types, strings_can_be_null=False, quoted_strings_can_be_null=False, check_utf8=False
        ),
    )
    if not quotes:
        return table
    last = [column[-1].as_py() for column in table.columns]
    if last != [_END.decode().strip(), *[""] * (len(names) - 1)]:
        raise Irregular("a quote was left open")
    return table.slice(0, len(table) - 1)
