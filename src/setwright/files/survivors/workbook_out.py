"""A table as a spreadsheet workbook (XLSX), every cell as text.

Cells are written as text in place, so that a spreadsheet neither runs them, nor cuts a long number short, nor makes a
date of a serial. Office Open XML, ECMA-376 part 1 (from memory): one sheet with inline strings is all that is used.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape

_TYPES = (
    '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="xml" ContentType="application/xml"/>'
    '<Override PartName="/xl/workbook.xml" '
    'ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/>'
    '<Override PartName="/xl/worksheets/sheet1.xml" '
    'ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/></Types>'
)
_RELATION = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_RELATIONS = (
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    '<Relationship Id="rId1" Type="{}/{}" Target="{}"/></Relationships>'
)
_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
_NOT_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff\ud800-\udfff]")
_MOMENT = (1980, 1, 1, 0, 0, 0)
"""Every part bears the earliest date a zip file can hold, so that the same table gives the same bytes."""


def workbook_of(rows: Iterable[Sequence[str]], title: str = "Survivors") -> bytes:
    """The workbook with one sheet; empty cells are left out. The first row stays in view when the sheet is scrolled."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as book:
        _write(book, "[Content_Types].xml", _TYPES)
        _write(book, "_rels/.rels", _RELATIONS.format(_RELATION, "officeDocument", "xl/workbook.xml"))
        name = escape(re.sub(r"[\[\]:*?/\\]", " ", title)[:31], {'"': "&quot;"})
        sheets = f'<sheets><sheet name="{name}" sheetId="1" r:id="rId1"/></sheets>'
        _write(book, "xl/workbook.xml", f'<workbook xmlns="{_MAIN}" xmlns:r="{_RELATION}">{sheets}</workbook>')
        _write(book, "xl/_rels/workbook.xml.rels", _RELATIONS.format(_RELATION, "worksheet", "worksheets/sheet1.xml"))
        _write(book, "xl/worksheets/sheet1.xml", "".join(_sheet(rows)))
    return out.getvalue()


def _write(book: zipfile.ZipFile, name: str, text: str) -> None:
    part = zipfile.ZipInfo(name, _MOMENT)
    part.compress_type = zipfile.ZIP_DEFLATED
    book.writestr(part, _HEAD + text)


def _sheet(rows: Iterable[Sequence[str]]) -> Iterable[str]:
    yield (
        f'<worksheet xmlns="{_MAIN}"><sheetViews><sheetView workbookViewId="0">'
        '<pane ySplit="1" topLeftCell="A2" activePane="bottomLeft" state="frozen"/></sheetView></sheetViews><sheetData>'
    )
    letters: list[str] = []
    for number, row in enumerate(rows, 1):
        while len(letters) < len(row):
            letters.append(column_letters(len(letters)))
        cells = "".join(
            f'<c r="{letter}{number}" t="inlineStr"><is><t xml:space="preserve">{_text(cell)}</t></is></c>'
            for letter, cell in zip(letters, row, strict=False)
            if cell
        )
        yield f'<row r="{number}">{cells}</row>'
    yield "</sheetData></worksheet>"


def _text(cell: str) -> str:
    """A cell as XML; characters that XML cannot hold are left out."""
    return escape(cell if cell.isascii() and cell.isprintable() else _NOT_XML.sub("", cell))


def column_letters(index: int) -> str:
    """The letters of a column, counted from 0.

    >>> column_letters(0), column_letters(25), column_letters(26), column_letters(702)
    ('A', 'Z', 'AA', 'AAA')
    """
    letters = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        letters = chr(65 + rest) + letters
    return letters
