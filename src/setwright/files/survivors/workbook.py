"""A spreadsheet workbook (XLSX) as CSV text, its cells as they are shown.

Numbers keep their leading zeros and decimals, dates become ISO dates in the precision shown, formulas what they came
to when the workbook was saved. Macros and links to other files are refused, sizes are bounded.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any
from xml.etree.ElementTree import ParseError

from setwright.files.problems import listing, quoted, refuse
from setwright.files.source_text import MEGABYTE
from setwright.files.survivors.spreadsheet import clean
from setwright.files.zipped import UNREADABLE, Limits, ZippedFile

WORKBOOK_LIMIT = 20 * MEGABYTE
MOST_CELLS = 3_000_000
"""Empty ones counted: a workbook can place one cell in the last row of all."""
MOST_ROWS = 100_000
MOST_COLUMNS = 1_000

_LIMITS = Limits(members=2_000, bytes_in_all=150 * MEGABYTE, ratio=200)
# Its parts are read by a library that says in many ways what it cannot read.
_BROKEN = (*UNREADABLE, ParseError, KeyError, TypeError, AttributeError, IndexError, AssertionError, ArithmeticError)
_ZEROS = re.compile(r"0+")
_DECIMALS = re.compile(r"#?,?#*0(\.0+)")


def is_workbook(content: bytes) -> bool:
    """Whether a file is a zip file, as workbooks are."""
    return content.startswith(b"PK\x03\x04")


def workbook_as_csv(content: bytes, name: str) -> tuple[bytes, tuple[str, ...]]:
    """The sheet of a workbook that holds a column "id", else the first, as CSV in UTF-8; and warnings.

    Rows keep their numbers. FileProblems for what is no workbook, or one with macros or links.
    """
    if len(content) > WORKBOOK_LIMIT:
        size, most = len(content) / MEGABYTE, WORKBOOK_LIMIT / MEGABYTE
        raise refuse(name, f"is {size:,.0f} MB large; workbooks are read up to {most:,.0f} MB. Save the sheet as CSV")
    _look_over(content, name)
    from openpyxl import load_workbook  # takes a while to load, and few files are workbooks

    try:
        book = load_workbook(io.BytesIO(content), read_only=True, data_only=True, keep_links=False)
        try:
            return _sheet(book, name)
        finally:
            book.close()
    except _BROKEN as error:
        raise refuse(
            name, f"the workbook cannot be read ({error or type(error).__name__}); save it anew, or as CSV"
        ) from error


def _look_over(content: bytes, name: str) -> None:
    with ZippedFile(io.BytesIO(content), name, _LIMITS) as packed:
        names = [member.casefold() for member in packed.names]
    if "xl/workbook.xml" not in names and not any(member.endswith("workbook.xml") for member in names):
        raise refuse(name, "this is a packed file, but no workbook (XLSX); save the sheet as XLSX or CSV")
    if any(member.endswith("vbaproject.bin") for member in names):
        raise refuse(name, "the workbook holds macros; save it as XLSX without them, or as CSV")
    if any("externallinks/" in member for member in names):
        raise refuse(name, "the workbook draws on other files by links; save the sheet as CSV")


def _sheet(book: Any, name: str) -> tuple[bytes, tuple[str, ...]]:
    sheets = [sheet for sheet in book.worksheets if sheet.sheet_state == "visible"]
    if not sheets:
        raise refuse(name, "the workbook has no visible sheet")
    chosen = next((sheet for sheet in sheets if "id" in _header(sheet)), sheets[0])
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    blank = 0
    for count, row in enumerate(_rows(chosen, name)):
        if not row:
            blank += 1
            continue
        if count >= MOST_ROWS:
            raise refuse(
                name, f"the sheet goes beyond row {MOST_ROWS:,}; save it as CSV", where=f"sheet {quoted(chosen.title)}"
            )
        # Empty rows count, so that row numbers stay those of the sheet; behind the last row they are left out.
        text.write("\n" * blank)
        blank = 0
        writer.writerow(row)
    others = [quoted(sheet.title) for sheet in sheets if sheet is not chosen]
    told = f"Read was the sheet {quoted(chosen.title)}, and not {listing(others)}."
    return text.getvalue().encode("utf-8"), (told,) if others else ()


def _header(sheet: Any) -> list[str]:
    row = next(sheet.iter_rows(min_row=1, max_row=1, max_col=MOST_COLUMNS), ())
    return [clean(_shown(cell)) for cell in row]


def _rows(sheet: Any, name: str) -> Iterator[list[str]]:
    """The rows as texts, empty cells at their ends left out."""
    # The size a sheet claims may be anything.
    sheet.reset_dimensions()
    cells = 0
    for row in sheet.iter_rows():
        cells += len(row) + 1
        if cells > MOST_CELLS or len(row) > MOST_COLUMNS:
            message = (
                f"the sheet is larger than {MOST_CELLS:,} cells or {MOST_COLUMNS:,} columns; save its table as CSV"
            )
            raise refuse(name, message, where=f"sheet {quoted(sheet.title)}")
        shown = [_shown(cell) for cell in row]
        while shown and not shown[-1].strip():
            shown.pop()
        yield shown


def _shown(cell: Any) -> str:
    """A cell as the spreadsheet shows it."""
    value, style = cell.value, getattr(cell, "number_format", None) or "General"
    match value:
        case None:
            return ""
        case bool():
            return "true" if value else "false"
        case int() | float() | Decimal():
            return _number(value, style)
        case datetime() | date():
            return _date(value, style)
        case time() | timedelta():
            return str(value)
    return str(value)


def _number(value: float | Decimal, style: str) -> str:
    style = style.split(";")[0].strip()
    if _ZEROS.fullmatch(style) and value >= 0:
        return f"{round(value):0{len(style)}d}"
    decimals = _DECIMALS.fullmatch(style)
    if decimals is not None:
        return f"{value:.{len(decimals[1]) - 1}f}"
    if float(value).is_integer():
        return str(int(value))
    # Fifteen digits are what a spreadsheet holds; without powers of ten, which serials and values never have.
    return format(Decimal(f"{value:.15g}"), "f")


def _date(value: datetime | date, style: str) -> str:
    """A date in the precision that the cell shows."""
    moment = isinstance(value, datetime) and (value.hour, value.minute, value.second) != (0, 0, 0)
    style = re.sub(r'"[^"]*"|\[[^]]*\]|\\.', "", style).casefold()
    if moment:
        return value.isoformat()
    day = value.date() if isinstance(value, datetime) else value
    if "d" in style or "y" not in style:
        return day.isoformat()
    return f"{day:%Y-%m}" if "m" in style else f"{day:%Y}"
