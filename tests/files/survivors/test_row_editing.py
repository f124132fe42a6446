"""Rows are added, changed and taken out; whatever else stands in the file stays letter for letter."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.files import FileProblems, read_survivors
from setwright.files.survivors.editing import add_row, change_row, change_rows, remove_row

TEXT = 'id,"serial",converter,note\r\ns1,41108,6BE6,"a, ""b"""\r\n\r\ns2 ,,,\r\n"s3",12,"6SB7Y"\r\n'


def test_a_changed_cell_leaves_everything_else(family):
    changed = change_row(TEXT, family, "s2", {"serial": "77"})
    assert changed == TEXT.replace("s2 ,,,", "s2 ,77,,")
    changed = change_row(TEXT, family, "s1", {"note": "c", "converter": None})
    assert changed == TEXT.replace('6BE6,"a, ""b"""', ',"c"')


def test_a_row_that_is_too_short_is_filled_up(family):
    changed = change_row(TEXT, family, "s3", {"note": "two, three"})
    assert changed == TEXT.replace('"6SB7Y"', '"6SB7Y","two, three"')


def test_an_added_row_has_the_files_line_ends(family):
    assert add_row(TEXT, family, {"note": "x", "id": "s4", "serial": None}) == TEXT + "s4,,,x\r\n"
    assert add_row(TEXT.rstrip(), family, {"id": "s4"}) == TEXT + "s4,,,\r\n"
    assert add_row("", family, {"id": "s1", "serial": "12"}) == "id,serial,line\ns1,12,\n"


def test_a_new_column_goes_behind_the_others(family):
    changed = change_row(TEXT, family, "s1", {"finish": "walnut", "x-mine": None})
    assert changed == TEXT.replace("note\r\n", "note,finish\r\n").replace('"a, ""b"""', '"a, ""b""",walnut')
    nameless = "id,serial,,\ns1,12,,\n"
    assert change_row(nameless, family, "s1", {"note": "x"}) == "id,serial,note\ns1,12,x,\n"


def test_a_removed_row_is_gone_with_its_line(family):
    assert remove_row(TEXT, family, "s1") == TEXT.replace('s1,41108,6BE6,"a, ""b"""\r\n\r\n', "")
    only = remove_row("id,note\ns1,x", family, "s1")
    assert only == "id,note\n"
    assert add_row(only, family, {"id": "s1"}) == "id,note\ns1,\n"


def test_the_separator_of_the_file_is_kept(family):
    text = "sep=;\nid;serial;note\ns1;12;a\n"
    assert change_row(text, family, "s1", {"note": "b; c"}) == 'sep=;\nid;serial;note\ns1;12;"b; c"\n'


def test_a_cell_of_several_lines(family):
    text = 'id,note,serial\ns1,"one\ntwo",12\ns2,,13\n'
    assert change_row(text, family, "s1", {"serial": "14"}) == text.replace("12", "14")
    assert remove_row(text, family, "s1") == "id,note,serial\ns2,,13\n"


def test_many_rows_at_one_stroke(family):
    changed = change_rows(TEXT, family, {"s3": {"note": "z"}, "s2": {"finish": "blond"}}, [{"id": "s4"}, {"id": "s5"}])
    rows = {row["id"]: row for row in read_survivors(changed.encode(), family).rows}
    assert list(rows) == ["s1", "s2", "s3", "s4", "s5"]
    assert (rows["s3"]["note"], rows["s2"]["finish"]) == ("z", "blond")


@pytest.mark.parametrize(
    ("edit", "expected"),
    [
        (lambda f: add_row(TEXT, f, {"id": "s1"}), 'the id "s1" stands in row'),
        (lambda f: add_row(TEXT, f, {"serial": "12"}), "the id is missing"),
        (lambda f: add_row(TEXT, f, {"id": "s9", "convertor": "6BE6"}), 'Did you mean "converter"?'),
        (lambda f: change_row(TEXT, f, "s9", {"note": "x"}), 'there is no row with the id "s9"'),
        (lambda f: change_row(TEXT, f, "s1", {"converter": "6BE-6"}), 'row 2, column "converter"'),
        (lambda f: change_row(TEXT, f, "s1", {"note": "=1+1"}), "is a formula"),
        (lambda f: remove_row(TEXT, f, ""), "there is no row"),
        (lambda f: change_row("", f, "s1", {}), "there is no row"),
        (lambda f: remove_row("", f, "s1"), "the file is empty"),
    ],
)
def test_a_change_that_would_break_the_file_is_refused(edit, expected, family):
    with pytest.raises(FileProblems) as refused:
        edit(family)
    assert expected in str(refused.value)


cells = st.text(st.sampled_from('ab ",;\n\t|é'), max_size=6)


@given(
    st.lists(st.lists(cells, min_size=2, max_size=2), min_size=1, max_size=5),
    st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL, csv.QUOTE_NONNUMERIC]),
    st.sampled_from(["\n", "\r\n"]),
    st.sampled_from(",;\t"),
    st.integers(0, 4),
    st.text(st.sampled_from('ab ",;\n\t\r|é'), max_size=6),
)
def test_any_cells_come_through_a_change(family, rows, quoting, newline, separator, number, cell):
    def read(text):
        return list(csv.reader(io.StringIO(text, newline=""), delimiter=separator))

    number %= len(rows)
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, delimiter=separator, quoting=quoting, lineterminator=newline)
    writer.writerow(["id", "serial", "note", "x-2"])
    for place, row in enumerate(rows):
        writer.writerow([f"s{place}", "", *row])
    before = read(stream.getvalue())
    changed = read(change_row(stream.getvalue(), family, f"s{number}", {"note": cell}))
    before[number + 1][2] = cell
    assert changed == before
    removed = read(remove_row(stream.getvalue(), family, f"s{number}"))
    del before[number + 1]
    assert removed == before
