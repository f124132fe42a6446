"""Workbooks that go out: every cell is text and comes back as it was."""

from __future__ import annotations

import csv
import io

from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook

from setwright.files.survivors.workbook import workbook_as_csv
from setwright.files.survivors.workbook_out import workbook_of

ROWS = [
    ("id", "serial", "note"),
    ("K/08 & co", "00120", "=1+1"),
    ("B", "1-2-48", 'two\nlines, "quoted" <b>'),
    ("C", "", "  ½  "),
]


def test_another_program_reads_what_was_written() -> None:
    sheet = load_workbook(io.BytesIO(workbook_of(ROWS, "Survivors: [Heron]")), data_only=False).active
    assert [tuple(cell.value or "" for cell in row) for row in sheet.iter_rows()] == ROWS
    assert {cell.data_type for row in sheet.iter_rows() for cell in row if cell.value} == {"s"}
    assert sheet.freeze_panes == "A2"


def test_it_comes_back_in_and_the_same_table_gives_the_same_bytes() -> None:
    book = workbook_of([("id", "serial"), ("A", "0012"), ("B", "B 71?08")])
    assert book == workbook_of([("id", "serial"), ("A", "0012"), ("B", "B 71?08")])
    content, _ = workbook_as_csv(book, "out.xlsx")
    assert list(csv.reader(io.StringIO(content.decode()))) == [["id", "serial"], ["A", "0012"], ["B", "B 71?08"]]


def test_columns_beyond_z() -> None:
    sheet = load_workbook(io.BytesIO(workbook_of([tuple(f"c{n}" for n in range(60))]))).active
    assert [cell.value for cell in next(sheet.iter_rows())] == [f"c{n}" for n in range(60)]


@settings(max_examples=30)
@given(st.lists(st.lists(st.text(max_size=20), min_size=2, max_size=2), min_size=1, max_size=5))
def test_any_text_makes_a_workbook_that_opens(rows: list[list[str]]) -> None:
    sheet = load_workbook(io.BytesIO(workbook_of([["id", "x", "y"], *(["set", *row] for row in rows)]))).active
    assert sheet.max_row == len(rows) + 1
