"""A CSV file as people have it: its encoding, its separator, its header and its records, one after another."""

from __future__ import annotations

import codecs
import csv
import io
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from setwright.files.problems import FileProblems, refuse
from setwright.files.source_text import SourceBytes, refuse_other_kinds
from setwright.files.survivors.spreadsheet import clean

SEPARATORS = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars"}
_HEAD = 200_000
_STEP = 16_000_000
_END = "\x01end of register\x01"
"""A record of its own behind the last one: where it does not come out alone, a quote was left open."""


@dataclass(frozen=True)
class Record:
    """One row of the file. `row` counts as a spreadsheet does, the header being row 1; `line` is where it begins."""

    row: int
    line: int
    cells: list[str]


@dataclass(frozen=True)
class CsvText:
    """A CSV file's content and how to read it.

    lines_before : lines in front of the header (a spreadsheet's "sep=;").
    """

    name: str
    data: bytes
    encoding: str
    separator: str
    lines_before: int
    warnings: tuple[str, ...]

    def records(self) -> Iterator[Record]:
        """The records, the header first, blank lines left out; FileProblems where the text is not CSV."""
        # The codec skips a byte-order mark itself.
        stream = io.TextIOWrapper(io.BytesIO(self.data), encoding=self.encoding, newline="")
        for _ in range(self.lines_before):
            stream.readline()
        reader = csv.reader(_and_end(stream), delimiter=self.separator)
        row, line = 0, self.lines_before + 1
        while True:
            row += 1
            try:
                cells = next(reader)
            except csv.Error as error:
                raise _not_csv(self.name, row, line, str(error)) from error
            if cells == [_END]:
                return
            if any(_END in cell for cell in cells[-1:]):
                raise _not_csv(self.name, row, line, "quote")
            if cells:
                yield Record(row, line, cells)
            line = self.lines_before + reader.line_num + 1


def _and_end(lines: Iterable[str]) -> Iterator[str]:
    last = "\n"
    for last in lines:
        yield last
    if not last.endswith(("\n", "\r")):
        # Ends the last record, unless a quote is open.
        yield "\n"
    yield _END


def _not_csv(name: str, row: int, line: int, error: str) -> FileProblems:
    if error == "quote":
        message = "a cell is opened with a double quote that is never closed; close it, or double it if it is meant"
    elif "field larger" in error:
        message = f"a cell holds over {csv.field_size_limit():,} characters; a closing double quote is probably missing"
    else:
        message = f"the row cannot be read as CSV ({error})"
    return refuse(name, message, where=f"row {row}", line=line)


def open_csv(source: SourceBytes, known: Iterable[str]) -> CsvText:
    """Find out encoding and separator. known : column names by which the separator is recognised.

    Understood are UTF-8 with or without a byte-order mark, UTF-16 with one, and Windows-1252 (with Latin-1 in
    it), which gives a warning. FileProblems for what is no text.
    """
    refuse_other_kinds(source, "CSV text")
    encoding, warnings = _encoding(source)
    head = codecs.getincrementaldecoder(encoding)().decode(source.data[:_HEAD])
    first, _, rest = head.partition("\n")
    separator, lines_before = None, 0
    if clean(first).lower().startswith("sep=") and len(first.rstrip("\r")) == 5:
        separator, lines_before, head = first[4], 1, rest
    if separator is None:
        separator = _separator(head, set(known))
    return CsvText(source.name, source.data, encoding, separator, lines_before, warnings)


def _encoding(source: SourceBytes) -> tuple[str, tuple[str, ...]]:
    data = source.data
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        _check_decodes(source, "utf-16")
        return "utf-16", ()
    if b"\0" in data:
        line = data.count(b"\n", 0, data.index(b"\0")) + 1
        raise refuse(source.name, "the file holds zero bytes, so it is no CSV text; save it as CSV in UTF-8", line=line)
    if data.isascii():
        return "utf-8", ()
    if _decodes(data):
        return "utf-8-sig" if data.startswith(codecs.BOM_UTF8) else "utf-8", ()
    if data.startswith(codecs.BOM_UTF8):
        raise refuse(source.name, "begins as UTF-8 but holds bytes that are not; save it as UTF-8")
    _check_decodes(source, "cp1252")
    return "cp1252", (
        "The file is not UTF-8 and was read as Windows-1252. Save it as UTF-8 to be sure of every letter.",
    )


def _decodes(data: bytes) -> bool:
    """Whether the bytes are UTF-8, without holding the whole text at once."""
    decoder = codecs.getincrementaldecoder("utf-8")()
    try:
        for start in range(0, len(data), _STEP):
            decoder.decode(data[start : start + _STEP])
        decoder.decode(b"", final=True)
    except UnicodeDecodeError:
        return False
    return True


def _check_decodes(source: SourceBytes, encoding: str) -> None:
    decoder = codecs.getincrementaldecoder(encoding)()
    try:
        for start in range(0, len(source.data), _STEP):
            decoder.decode(source.data[start : start + _STEP])
        decoder.decode(b"", final=True)
    except UnicodeDecodeError as error:
        message = "the file's encoding cannot be made out, neither UTF-8 nor Windows-1252; save it as CSV in UTF-8"
        if encoding != "cp1252":
            message = "the file begins as UTF-16 but cannot be read as that; save it as CSV in UTF-8"
        line = source.data.count(b"\n", 0, start + error.start) + 1
        raise refuse(source.name, message, line=line) from None


def _separator(head: str, known: set[str]) -> str:
    """The separator by which the header falls into most known names; a comma where none does."""

    def score(separator: str) -> tuple[int, int]:
        try:
            header = next(csv.reader(io.StringIO(head, newline=""), delimiter=separator), [])
        except csv.Error:
            return 0, 0
        return sum(clean(cell) in known for cell in header), len(header)

    return max(SEPARATORS, key=score)
