"""Tables of survivors as columns."""

from __future__ import annotations

import io

import pytest

from setwright.files import FileProblems
from setwright.files.learning.table import columns_of


def test_csv_pasted_cells_and_a_workbook_give_the_same_columns() -> None:
    from openpyxl import Workbook

    rows = [["id", "serial", "tube chart"], ["A", "100", "paper"], ["B", "", "foil"]]
    book = Workbook()
    for row in rows:
        book.active.append(row)
    stream = io.BytesIO()
    book.save(stream)
    expected = {"id": ["A", "B"], "serial": ["100", ""], "tube chart": ["paper", "foil"]}
    for separator in (",", ";", "\t"):
        text = "".join(separator.join(row) + "\r\n" for row in rows)
        assert columns_of(text.encode(), "t") == expected
    assert columns_of(stream.getvalue(), "t.xlsx") == expected


def test_short_rows_are_filled_and_nameless_columns_left_out() -> None:
    assert columns_of(b"id,,knob\nA\nB,x,brown\n", "t") == {"id": ["A", "B"], "knob": ["", "brown"]}


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "no table was found"),
        (b"just words\n", "no table was found"),
        (b"id,knob,knob\nA,b,c\n", '"knob" stands twice'),
        (b"%PDF-1.4", "PDF"),
        (",".join(f"c{n}" for n in range(600)).encode(), "600 columns"),
    ],
)
def test_what_is_no_table_is_said(content: bytes, words: str) -> None:
    with pytest.raises(FileProblems, match=words):
        columns_of(content, "t")
