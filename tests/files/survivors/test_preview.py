"""A table beside the register it is to go into: rows new, changed, the same or wrong; whatever kind of file it is."""

# A table of cases reads best with one case a line.
# ruff: noqa: E501

from __future__ import annotations

import datetime
import io
import random
import zipfile

import openpyxl
import pytest
from openpyxl.styles import numbers

from setwright.files import FileProblems, read_survivors
from setwright.files.survivors.table import preview
from setwright.files.survivors.workbook import workbook_as_csv

PRESENT = "id,serial,converter,note\ns1,41108,6BE6,dusty\ns2,12,,\n"
TABLE = "id,serial,converter,finish\ns1,41108,6BE6,\ns2,12,6SB7Y,walnut\ns3,77,6BE-6,\ns4,900,,blond\ns4,901,,\n,5,,\ns5,99999,,\n"


def states(found):
    return [(row.row, row.id, row.state) for row in found.rows]


def book(rows, styles=None, sheets=(), **more) -> bytes:
    made = openpyxl.Workbook()
    sheet = made.active
    for row in rows:
        sheet.append(row)
    for place, style in (styles or {}).items():
        sheet[place].number_format = style
    for title in sheets:
        made.create_sheet(title).append(["something", "else"])
    stream = io.BytesIO()
    made.save(stream)
    return stream.getvalue()


def test_rows_are_new_changed_the_same_or_wrong(family):
    found = preview(TABLE.encode(), family, "list.csv", PRESENT)
    assert states(found) == [
        (2, "s1", "same"), (3, "s2", "changed"), (4, "s3", "bad"), (5, "s4", "new"), (6, "s4", "bad"), (7, "", "bad"), (8, "s5", "bad"),
    ]  # fmt: skip
    assert found.counts == {"new": 1, "changed": 1, "same": 1, "bad": 4}
    (changed,) = found.of("changed")
    assert changed.changes == {"converter": ("", "6SB7Y"), "finish": ("", "walnut")}
    told = ["; ".join(map(str, row.problems)) for row in found.of("bad")]
    assert 'list.csv, line 4, row 4, column "converter"' in told[0]
    assert 'Did you mean "6BE6"?' in told[0]
    assert 'the id "s4" stands in row 5 already' in told[1]
    assert 'row 7, column "id": the id is missing' in told[2]
    assert 'row 8, column "serial"' in told[3]


def test_the_good_rows_go_in_without_the_wrong_ones(family):
    merged = preview(TABLE.encode(), family, "list.csv", PRESENT).merged(PRESENT, family)
    assert merged == "id,serial,converter,note,finish\ns1,41108,6BE6,dusty\ns2,12,6SB7Y,,walnut\ns4,900,,,blond\n"
    assert preview(TABLE.encode(), family, "x", merged).counts == {"new": 0, "changed": 0, "same": 3, "bad": 4}
    fresh = preview(TABLE.encode(), family, "list.csv").merged("", family)
    assert [row["id"] for row in read_survivors(fresh.encode(), family).rows] == ["s1", "s2", "s4"]


def test_ten_thousand_rows_of_which_fifty_are_wrong(family):
    wrong = set(random.Random(3).sample(range(10_000), 50))
    lines = [f"s{i},{i + 1},{'6SB7' if i in wrong else '6BE6'}\n" for i in range(10_000)]
    found = preview(("id,serial,converter\n" + "".join(lines)).encode(), family, "long.csv")
    assert found.counts == {"new": 9_950, "changed": 0, "same": 0, "bad": 50}
    assert {row.row - 2 for row in found.of("bad")} == wrong
    assert len(read_survivors(found.merged("", family).encode(), family).survivors) == 9_950


def test_cells_pasted_from_a_spreadsheet(family):
    found = preview(b"id\tserial\tnote\r\ns3\t77\ta, b\r\n", family, "pasted cells", PRESENT)
    assert states(found) == [(2, "s3", "new")]
    assert found.merged(PRESENT, family) == PRESENT + 's3,77,,"a, b"\n'


@pytest.mark.parametrize(
    ("content", "expected"),
    [
        (b"", "the table is empty"),
        (b"serial\n12\n", 'the column "id" is missing'),
        (b"id,convertor\ns1,6BE6\n", 'Did you mean "converter"?'),
        (b"%PDF-1.7", "this is a PDF"),
        (b"\xd0\xcf\x11\xe0", "is an old spreadsheet workbook"),
    ],
)
def test_a_table_that_cannot_be_read_at_all_is_told(content, expected, family):
    with pytest.raises(FileProblems) as refused:
        preview(content, family, "list.csv", PRESENT)
    assert expected in str(refused.value)


# Workbooks


def test_cells_are_read_as_they_are_shown(family):
    rows = [
        ["id", "serial", "stamp_date", "tone-capacitor", "x-1", "x-2", "x-3", "x-4", "x-5"],
        ["s3", 77, datetime.date(1948, 8, 17), "0.02 uF", 0.1, 1e-7, datetime.date(1948, 3, 1), True, datetime.datetime(1948, 3, 1, 7, 30)],
        [],
        [12, 12.0, None, None, 2.5, 123456789012, datetime.date(1948, 1, 1), False, "text"],
    ]  # fmt: skip
    styles = {"B2": "00000", "E4": "0.00", "G2": "mmm\\-yy", "G4": "yyyy", "F4": numbers.FORMAT_NUMBER_COMMA_SEPARATED1}
    found = preview(book(rows, styles), family, "list.xlsx")
    assert [row.row for row in found.rows] == [2, 4]
    assert [dict(row.cells) for row in found.rows] == [
        {"id": "s3", "serial": "00077", "stamp_date": "1948-08-17", "tone-capacitor": "0.02 uF", "x-1": "0.1", "x-2": "0.0000001",
         "x-3": "1948-03", "x-4": "true", "x-5": "1948-03-01T07:30:00"},
        {"id": "12", "serial": "12", "x-1": "2.50", "x-2": "123456789012.00", "x-3": "1948", "x-4": "false", "x-5": "text"},
    ]  # fmt: skip
    assert found.counts["new"] == 2


def test_a_state_that_became_a_date_is_told(family):
    found = preview(book([["id", "converter"], ["s1", datetime.date(2024, 3, 12)]]), family, "list.xlsx")
    assert "probably made a date of this" in str(found.rows[0].problems[0])
    assert 'row 2, column "converter"' in found.rows[0].problems[0].where


def test_the_sheet_with_ids_is_read(family):
    content = book([["something"]], sheets=["more"])
    stream = io.BytesIO(content)
    made = openpyxl.load_workbook(stream)
    made.create_sheet("known").append(["id"])
    made["known"].append(["s1"])
    out = io.BytesIO()
    made.save(out)
    found = preview(out.getvalue(), family, "list.xlsx")
    assert [row.id for row in found.rows] == ["s1"]
    assert found.warnings == ('Read was the sheet "known", and not "Sheet" or "more".',)


def with_member(content: bytes, name: str, data: bytes = b"x") -> bytes:
    stream = io.BytesIO(content)
    with zipfile.ZipFile(stream, "a", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr(name, data)
    return stream.getvalue()


def zipped(**members: bytes) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as packed:
        for name, data in members.items():
            packed.writestr(name, data)
    return stream.getvalue()


@pytest.mark.parametrize(
    ("make", "expected"),
    [
        (lambda good: with_member(good, "xl/vbaProject.bin"), "holds macros"),
        (lambda good: with_member(good, "xl/externalLinks/externalLink1.xml"), "draws on other files"),
        (lambda good: with_member(good, "xl/media/image1.png", bytes(60_000_000)), "would unpack to 60 MB"),
        (lambda good: with_member(good, "../x"), "leads outside"),
        (lambda good: good[: len(good) // 2], "not whole"),
        (lambda good: zipped(a=b"1"), "no workbook"),
        (lambda good: zipped(**{"xl/workbook.xml": b"<a>"}), "cannot be read"),
        (lambda good: good + bytes(21_000_000), "is 21 MB large"),
    ],
)  # fmt: skip
def test_what_is_no_harmless_workbook_is_refused(make, expected, family):
    with pytest.raises(FileProblems) as refused:
        preview(make(book([["id"], ["s1"]])), family, "list.xlsx")
    assert expected in str(refused.value)


def sheet_with(xml: str) -> bytes:
    """A workbook whose sheet says what openpyxl would not write."""
    source, out = io.BytesIO(book([["id"], ["s1"]])), io.BytesIO()
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for member in old.namelist():
            data = old.read(member)
            if member.endswith("sheet1.xml"):
                data = f'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">{xml}</worksheet>'.encode()
            new.writestr(member, data)
    return out.getvalue()


@pytest.mark.parametrize(
    "xml",
    [
        '<dimension ref="A1:XFD1048576"/><sheetData><row r="1"><c r="A1" t="inlineStr"><is><t>id</t></is></c></row><row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData>',
        '<sheetData>' + '<row><c r="XFD1"><v>1</v></c></row>' * 300 + "</sheetData>",
        '<sheetData><row r="5000000000"><c r="A5000000000"><v>1</v></c></row></sheetData>',
    ],
    ids=["last cell of all", "wide rows", "beyond the last row"],
)  # fmt: skip
def test_a_sheet_that_places_a_cell_far_away_is_refused(xml, family):
    with pytest.raises(FileProblems):
        preview(sheet_with(xml), family, "list.xlsx")


def mutate(content: bytes, seed: int) -> bytes:
    chance, data = random.Random(seed), bytearray(content)
    for _ in range(chance.choice([1, 2, 5, 20])):
        data[chance.randrange(len(data))] = chance.randrange(256)
    return bytes(data[: chance.randrange(len(data))] if chance.random() < 0.1 else data)


def check_mutated(family, seeds):
    good = book([["id", "serial"], ["s1", 41108], ["s2", datetime.date(1948, 1, 1)]])
    for seed in seeds:
        try:
            preview(mutate(good, seed), family, "list.xlsx")
        except FileProblems:
            continue


def test_damaged_workbooks_are_read_or_refused(family):
    check_mutated(family, range(100))


@pytest.mark.slow
def test_many_damaged_workbooks_are_read_or_refused(family):
    check_mutated(family, range(100, 6_000))


def test_rows_behind_empty_ones_keep_their_numbers():
    text, _ = workbook_as_csv(book([["id"], [], [], ["s1"], []]), "list.xlsx")
    assert text == b"id\n\n\ns1\n"
