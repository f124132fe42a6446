"""Formulas, spoilt cells and what goes out."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.files.survivors.spreadsheet import clean, harmless, is_formula, spoiled


@pytest.mark.parametrize(
    "cell",
    [
        "=1",
        "=A1",
        "=HYPERLINK(\"http://x\",\"y\")",
        "= same as the other",
        "+1+1",
        "-2+3",
        "+A1",
        "-B1204",
        "-A1*2",
        "+SUM(A1:A9)",
        "@SUM(1,2)",
        "-(2+3)",
        "+cmd|' /C calc'!A0",
        "@A1",
    ],
)  # fmt: skip
def test_formulas(cell):
    assert is_formula(cell)


@pytest.mark.parametrize(
    "cell", ["", "-", "--", "- scratched", "+ later knob", "-5", "+5.2", "-5 V", "@home", "-ish", "6SB7Y", "A=B", "1+1"]
)
def test_ordinary_text(cell):
    assert not is_formula(cell)


@given(st.text(max_size=20))
def test_nothing_that_goes_out_is_a_formula(cell):
    out = harmless(cell)
    assert not is_formula(out)
    assert out in (cell, f"'{cell}")


@pytest.mark.parametrize(
    "cell", ["7.1E+4", "7E+04", "71208.0", "12-Mar", "Mar-48", "1948-03-09", "9/3/1948", "#NAME?", "#####", "#REF!"]
)
def test_spoilt_cells(cell):
    assert spoiled(cell)


@pytest.mark.parametrize("cell", ["71208", "B1204", "6SB7Y", "1948", "4.7 nF", "1-2", "", "#3", "MARK 48"])
def test_sound_cells(cell):
    assert spoiled(cell) is None


@pytest.mark.parametrize(
    ("cell", "expected"),
    [
        (" a ", "a"),
        ("a\u00a0b\u00a0", "a b"),
        ("\ufeffid", "id"),
        ("a\r\nb", "a b"),
        ("6\u200bBE6", "6BE6"),
        ("\t", ""),
    ],
)
def test_cleaning(cell, expected):
    assert clean(cell) == expected
