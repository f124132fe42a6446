"""Part codes: decades, illegible figures, weeks there are not, misreadings, schemes of one's own."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.chronology.codes import read_code, scheme_fields
from setwright.notation import NotationError
from setwright.reference import misread_figures, part_code_schemes


def straight(code, scheme=None):
    return [found.date for found in read_code(code, scheme).dates if found.misread is None]


def test_every_scheme_of_the_table_can_be_read():
    for scheme, entry in part_code_schemes().items():
        fields = scheme_fields(scheme)
        assert any(name == "year" for name, _ in fields)
        assert entry.first_year >= 1920
        assert entry.source


def test_a_year_of_one_figure_fits_every_decade():
    assert straight("831", "year-week") == [f"19{decade}8-W31" for decade in range(2, 9)]
    assert straight("137831", "maker-year-week")[0] == "1948-W31"


def test_illegible_figures_are_all_they_can_be():
    assert straight("48?1", "year2-week") == [f"1948-W{tens}1" for tens in range(6)]


def test_week_53_is_the_last_week_of_a_year_that_has_52():
    reading = read_code("4953", "year2-week")
    assert straight("4953", "year2-week") == ["1949-W52"]
    assert any("week 53" in remark for remark in reading.remarks)
    assert straight("4853", "year2-week") == ["1948-W53"]


@pytest.mark.parametrize("code", ["861", "800", "899"])
def test_weeks_there_are_not_can_only_be_misread(code):
    reading = read_code(code, "year-week")
    assert all(found.misread is not None for found in reading.dates)
    assert "no such week" in reading.remarks[0]


def test_misreadings_are_the_usual_ones():
    read = {found.misread for found in read_code("831", "year-week").dates if found.misread}
    assert read == {"331", "031", "631", "851", "837"}  # 881 and 8 of week 81 there are not
    for figure, others in misread_figures().items():
        assert all(figure in misread_figures()[other] for other in others)


@pytest.mark.parametrize(
    ("code", "scheme", "date"),
    [
        ("12-48", "month-year2", "1948-12"),
        ("x148", "other-month1-year2", None),
        ("0348", "quarter-year2", None),
        ("348", "quarter-year2", "1948-07"),
        ("081748", "month-day-year2", "1948-08-17"),
        ("7748", "other2-year2", "1948"),
    ],
)
def test_schemes_of_ones_own(code, scheme, date):
    assert straight(code, scheme)[:1] == ([] if date is None else [date])


@pytest.mark.parametrize(
    ("scheme", "said"),
    [("year-weak", '"weak" is no field'), ("week", "gives no year"), ("year3-week", "a year never has 3 figures"),
     ("year-week-week", "gives the week twice")],
)  # fmt: skip
def test_schemes_that_cannot_be_read(scheme, said):
    with pytest.raises(NotationError, match=said):
        scheme_fields(scheme)


def test_what_is_no_code_says_so():
    assert read_code("AB1").dates == ()
    assert "no scheme" in read_code("AB1").remarks[0]
    assert "does not fit" in read_code("1", "year-week").remarks[0]
    assert "no usual scheme" in read_code("123456789").remarks[0]


@given(st.text("0123456789?", min_size=1, max_size=9))
def test_any_code_is_read_or_explained(code):
    reading = read_code(code)
    assert reading.dates or reading.remarks
    assert all(found.first <= found.last and 0 < found.weight <= 1 + 1e-9 for found in reading.dates)
