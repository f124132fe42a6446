"""Survivors files: what the format says, sentence by sentence, spreadsheet quirks, and what is refused."""

# A table of cases reads best with one case a line.
# ruff: noqa: E501

from __future__ import annotations

import numpy as np
import pytest

from setwright.files import FileProblems, read_family, read_survivors
from setwright.files.survivors.register import may_hold
from setwright.identity.model import LOOKS_SERVICED, NOT_SEEN, BenchSet, seen_code

BLOCKS = """
[[serial_block]]
prefix = "A"
first = 1
last = 15000
[[serial_block]]
prefix = "B"
first = 1
last = 20000
[[serial_block]]
prefix = "X"
line = "export"
first = 1
last = 500
[[serial_block]]
prefix = "A"
line = "export"
first = 14001
last = 16000
"""


@pytest.fixture
def blocks(family_text):
    return read_family((family_text + BLOCKS).encode()).family


def register(text, family, **more):
    data = text if isinstance(text, bytes) else text.encode()
    return read_survivors(data, family, **more)


def survivors(text, family, **more):
    return register(text, family, **more).survivors


# What is read


def test_a_set_file_is_no_register(family):
    with pytest.raises(FileProblems, match="here a survivors table"):
        register('format = "setwright-set/1"\nid = "bench-1"\n', family)


def test_only_the_id_is_required(family):
    known = survivors("id\na\nb\n", family)
    assert list(known.ids) == ["a", "b"]
    assert known.position.tolist() == [-1, -1]
    assert dict(known.seen) == {}


def test_one_row_a_set(family):
    known = survivors("id,serial,line,converter\na,120,main,6SB7Y\nb,45000,main,6BE6\n", family)
    assert known.position.tolist() == [120, 45000]
    assert known.line.tolist() == [0, 0]
    assert known.seen["converter"].tolist() == [seen_code(0, 0), seen_code(1, 0)]


def test_an_empty_cell_is_unknown_also_in_line(blocks):
    known = survivors("id,serial,line,converter\na,,,\n", blocks)
    assert (known.line.tolist(), known.position.tolist()) == ([-1], [-1])
    assert "converter" not in known.seen


def test_a_family_of_one_line_leaves_no_doubt_about_it(family):
    assert survivors("id\na\n", family).line.tolist() == [0]


def test_sure_and_serviced_columns(family):
    text = (
        "id,converter,converter.sure,converter.serviced\n"
        "a,6SB7Y,,\nb,6SB7Y,certain,false\nc,6BE6,likely,no\nd,6BE6,guess,0\ne,6BE6,guess,true\nf,,,YES\ng,,guess,\n"
    )
    assert survivors(text, family).seen["converter"].tolist() == [
        seen_code(0, 0),
        seen_code(0, 0),
        seen_code(1, 1),
        seen_code(1, 2),
        LOOKS_SERVICED,
        LOOKS_SERVICED,
        NOT_SEEN,
    ]


def test_other_text_and_near_misses_as_in_a_set(family, survivors_problems):
    text = "id,converter,tone-capacitor\na,12SA7,.021 mfd\nb,other: 6BE-6,.05 mfd\nc,,burnt\n"
    known = survivors(text, family)
    assert known.seen["converter"].tolist() == [seen_code(2, 0), seen_code(2, 0), NOT_SEEN]
    assert known.seen["tone-capacitor"].tolist() == [seen_code(0, 0), seen_code(3, 0), seen_code(3, 0)]
    (problem,) = survivors_problems("id,converter\na,6BE-6\n")
    assert problem == (
        'known.csv, line 2, row 2, column "converter": "6BE-6" is not a listed state but close to one; '
        'write that, or "other: 6BE-6" if it is really something else. Did you mean "6BE6"?'
    )


def test_part_dates_and_stamp_dates_are_checked_and_kept(family):
    text = "id,stamp_date,part_date.speaker\na,1948-W31,year-week:8?1\nb,,1948-03\n"
    assert register(text, family).dates == {
        "stamp_date": ("1948-W31", ""),
        "part_date.speaker": ("year-week:8?1", "1948-03"),
    }


def test_dating_needs_no_feature(family_text):
    head = "\n".join(family_text.splitlines()[:6])
    bare = read_family(head.encode()).family
    assert len(survivors("id,serial,stamp_date\na,12,1948\n", bare)) == 1


def test_free_columns_are_kept_and_ignored(family):
    text = 'id,note,source,seen_on,condition,x-photo\na,"- scratched, dull",auction,June,poor,7.jpg\n'
    read = register(text, family)
    assert read.rows == (
        {
            "id": "a",
            "note": "- scratched, dull",
            "source": "auction",
            "seen_on": "June",
            "condition": "poor",
            "x-photo": "7.jpg",
        },
    )


@pytest.mark.parametrize(
    ("serial", "line", "expected"),
    [
        ("A1204", "", (0, 1204, None)),
        ("a 1204", "main", (0, 1204, None)),
        ("A-14500", "export", (1, 1000, None)),
        ("B1204", "", (0, 16204, None)),
        ("X007", "", (1, 7, None)),
        ("A14500", "", (-1, -1, "A14500")),
        ("A15500", "", (1, 2000, None)),
        ("B12?4", "", (0, -1, "B12?4")),
        ("A?4500", "", (-1, -1, "A?4500")),
        ("X50?", "", (1, 500, None)),
        ("", "export", (1, -1, None)),
        ("*", "", (-1, -1, "*")),
    ],
)
def test_serials_are_placed(serial, line, expected, blocks):
    known = survivors(f"id,serial,line\na,{serial},{line}\n", blocks)
    assert (int(known.line[0]), int(known.position[0]), known.serial.get(0)) == expected


def test_first_block_of_the_export_line(blocks):
    assert [(b.prefix, b.starts_at) for b in blocks.serial_blocks] == [("A", 1), ("B", 15001), ("X", 1), ("A", 501)]


def test_a_numbering_used_twice_leaves_the_position_open(family_text):
    twice = "[[serial_block]]\nfirst = 1\nlast = 900\n[[serial_block]]\nfirst = 1\nlast = 500\n"
    family = read_family((family_text + twice).encode()).family
    known = survivors("id,serial\na,450\nb,600\n", family)
    assert (known.line.tolist(), known.position.tolist(), dict(known.serial)) == ([0, 0], [-1, 600], {0: "450"})


def test_the_bench_set_is_left_out_by_id(family):
    read = register("id,serial\nbench-1,\nb,7\n", family, bench=BenchSet("bench-1", "heron-7", "9"))
    assert list(read.survivors.ids) == ["b"]
    assert read.warnings == (
        'Left out: "bench-1", which by id, or by serial and line, is the set on the bench itself.',
    )
    assert len(read.rows) == 1


@pytest.mark.parametrize(
    ("serial", "line", "row", "left_out"),
    [
        ("A 1204", None, "A1204,", True),
        ("A1204", "main", "a-1204,main", True),
        ("A1204", "export", "A1204,main", False),
        ("A14500", None, "A14500,", True),
        ("A14500", None, "A14500,main", False),
        ("A14500", "export", "A14500,export", True),
        ("B12?4", None, "B12?4,", True),
        ("B12?4", None, "B1204,", False),
        ("*", None, "*,", False),
        (None, None, ",", False),
        (None, "main", ",main", False),
    ],
)
def test_the_bench_set_is_left_out_by_serial_and_line(serial, line, row, left_out, blocks):
    if serial == "A1204" and line == "export":
        serial = "A14600"
        row = "A14600,main"
    bench = BenchSet("bench-1", "heron-7", serial, line)
    read = register(f"id,serial,line\na,{row}\n", blocks, bench=bench)
    assert (len(read.survivors) == 0) == left_out
    assert bool(read.warnings) == left_out
    assert may_hold(survivors(f"id,serial,line\na,{row}\n", blocks), blocks, bench) or not left_out


def test_a_register_without_the_bench_set_is_known_from_reading_it_whole(blocks):
    whole = survivors("id,serial,line\na,A1204,main\nb,B12?4,\nc,,\nd,X7,\n", blocks)
    held = ("A1204", "B12?4", "X 7")
    assert all(may_hold(whole, blocks, BenchSet("bench-1", "heron-7", serial)) for serial in held)
    assert may_hold(whole, blocks, BenchSet("c", "heron-7"))
    absent = ("A1205", "B1204", "X9", None, "*")
    assert not any(may_hold(whole, blocks, BenchSet("bench-1", "heron-7", serial)) for serial in absent)


def test_two_rows_with_one_serial_are_pointed_out(family):
    read = register("id,serial\na,12\nb,13\nc,0012\n", family)
    assert len(read.survivors) == 3
    assert read.warnings == ('Two rows with the same serial and line: "a" and "c". If they are one set, keep one row.',)


def test_texts_that_may_mean_unknown_are_pointed_out(family):
    read = register("id,converter\na,unknown\nb,?\n", family)
    assert read.survivors.seen["converter"].tolist() == [seen_code(2, 0)] * 2
    assert read.warnings == (
        'Column "converter": "?" and "unknown" counts as something that is not listed. '
        "Leave a cell empty where nothing was seen.",
    )


# Spreadsheet quirks

ROWS = 'id,serial,converter,note\na,120,6SB7Y,"b, c"\nb,450,6BE6,\n'


@pytest.mark.parametrize(
    "data",
    [
        ROWS.encode(),
        ROWS.encode("utf-8-sig"),
        ROWS.encode("utf-16"),
        ROWS.replace("\n", "\r\n").encode(),
        ROWS.replace("\n", "\r").encode(),
        ROWS.replace('"b, c"', "b, c").replace(",", ";").replace("b; c", "b, c").encode(),
        ROWS.replace('"b, c"', "b, c").replace(",", "\t").replace("b\t c", "b, c").encode(),
        ("sep=;\n" + ROWS.replace('"b, c"', "b, c").replace(",", ";").replace("b; c", "b, c")).encode(),
        ROWS.replace("note\n", "note,,\n").replace('c"\n', 'c",,\n').encode(),
        (ROWS + ",,,\n,,,\n").encode(),
        (ROWS + "\n\n").encode(),
        ROWS.replace("6BE6,\n", "6BE6\n").encode(),
        ROWS.replace("120", " 120\u00a0").replace("6BE6", "'6BE6").encode(),
        ROWS.rstrip("\n").encode(),
    ],
)
def test_understood(data, family):
    read = register(data, family)
    assert list(read.survivors.ids) == ["a", "b"]
    assert read.survivors.position.tolist() == [120, 450]
    assert read.survivors.seen["converter"].tolist() == [seen_code(0, 0), seen_code(1, 0)]
    assert read.rows[0]["note"] == "b, c"
    assert read.warnings == ()


def test_line_breaks_inside_quotes_keep_rows_and_lines_apart(family, survivors_problems):
    text = 'id,note,converter\na,"one\ntwo",6SB7Y\n\nb,,6be6\n'
    (problem,) = survivors_problems(text)
    assert 'line 5, row 4, column "converter"' in problem
    assert register(text.replace("6be6", "6BE6"), family).rows[0]["note"] == "one two"


def test_windows_1252_is_understood_with_a_warning(family):
    read = register("id,note\na,Fl\u00fcgel \u2013 \u20ac 5\n".encode("cp1252"), family)
    assert read.rows[0]["note"] == "Fl\u00fcgel \u2013 \u20ac 5"
    assert read.warnings == (
        "The file is not UTF-8 and was read as Windows-1252. Save it as UTF-8 to be sure of every letter.",
    )


# What is refused

REFUSALS = {
    "empty file": ("", "row 1: the file is empty; begin with a header row"),
    "no id column": ("serial,line\n1,main\n", 'row 1: the column "id" is missing; every set needs a name'),
    "unknown column": ("id,convertor\na,\n", 'line 1, row 1, column 2: the column "convertor" is no feature of family "heron-7"'),
    "nearest known name": ("id,seriel\na,\n", 'Did you mean "serial"?'),
    "unknown companion": ("id,converter.sur\na,\n", 'Did you mean "converter.sure"?'),
    "a column of one's own": ("id,photo\na,\n", "a column of your own begins with x-"),
    "part with a dot": ("id,part_date.T1.a\na,\n", "a part's name has no dot"),
    "column twice": ("id,line,line\na,,\n", 'column 3: the column "line" stands twice'),
    "no id": ("id,serial\n,12\n", 'line 2, row 2, column "id": the id is missing'),
    "id twice": ("id\na\nb\na\n", 'row 4, column "id": the id "a" stands in row 2 already'),
    "too many cells": ("id,note\na,b, c\n", "row 2: the row has 3 cells, the header 2; a cell with a comma in it needs quotes"),
    "cell without a column": ("id,,note\na,x,y\n", '"x" stands in a column without a name'),
    "serial outside": ("id,serial\na,60001\n", 'row 2, column "serial": no set of the family has the serial "60001"; there are 1 to 60000'),
    "unknown prefix": ("id,serial\na,Q12\n", 'no set of the family has the serial "Q12"'),
    "no serial": ("id,serial\na,12!\n", '"!" cannot stand in a serial'),
    "unknown line": ("id,line\na,mian\n", 'column "line": the family has no line "mian"; its lines are "main"'),
    "sureness": ("id,converter,converter.sure\na,6BE6,surely\n", "must be certain, likely or guess"),
    "serviced": ("id,converter.serviced\na,perhaps\n", "must be true or false"),
    "stamp date": ("id,stamp_date\na,17.8.1948\n", 'Did you mean "1948-08-17"?'),
    "part date": ("id,part_date.speaker\na,year-weak:831\n", 'Did you mean "year-week"?'),
    "ambiguous M": ("id,tone-capacitor\na,470 apples\n", 'column "tone-capacitor"'),
    "formula": ('id,note\na,"=HYPERLINK(""http://x"")"\n', 'row 2, column "note": "=HYPERLINK("http://x")" is a formula'),
    "formula in a state": ("id,converter\na,+1+1\n", "is a formula"),
    "formula in an id": ("id\n=A1\n", "is a formula"),
    "formula in a serial": ("id,serial\na,=71208\n", "is a formula"),
    "number cut short": ("id,serial\na,7.1E+4\n", '"7.1E+4": a spreadsheet has cut this number short; write the serial anew'),
    "serial made a date": ("id,serial\na,1948-03-09\n", "has probably made a date of this"),
    "serial with decimals": ("id,serial\na,1208.0\n", "has added decimals to this number"),
    "state made a date": ("id,converter\na,12-Mar\n", "has probably made a date of this; write the state as seen"),
    "a spreadsheet's error": ("id,converter\na,#NAME?\n", "has put its mark for an error here"),
    "open quote": ('id,note\na,"b\nc,d\n', 'row 2: a cell is opened with a double quote that is never closed'),
}  # fmt: skip


@pytest.mark.parametrize("case", REFUSALS)
def test_refused(case, survivors_problems):
    text, expected = REFUSALS[case]
    problems = survivors_problems(text)
    assert any(expected in problem for problem in problems), problems
    assert len(problems) == 1, problems


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (b"PK\x03\x04....", "is a spreadsheet workbook or another packed file, not CSV text; save or export it as CSV text"),
        (b"id,note\na,\x00b\n", "line 2: the file holds zero bytes"),
        (b"id,note\na,\x81\n", "line 2: the file's encoding cannot be made out"),
        (b"\xef\xbb\xbfid\n\xff\n", "begins as UTF-8 but holds bytes that are not"),
        (b"\xff\xfei", "begins as UTF-16 but cannot be read"),
        (b'id,note\na,"' + b"x" * 200_000, "holds over 131,072 characters; a closing double quote is probably missing"),
    ],
)  # fmt: skip
def test_unreadable(data, expected, survivors_problems):
    (problem,) = survivors_problems(data)
    assert expected in problem


def test_m_for_thousand_is_refused(family_text, survivors_problems):
    ohms = family_text.replace("0.02 uF", "470k").replace("0.0047 uF", "2.2 meg").replace('"F"', '"ohm"')
    (problem,) = survivors_problems("id,tone-capacitor\na,470M\n", read_family(ohms.encode()).family)
    assert "can be read in two ways" in problem


def test_a_serial_of_another_line(blocks, survivors_problems):
    (problem,) = survivors_problems("id,serial,line\na,X12,main\n", blocks)
    assert "there are A1 to A15000 and B1 to B20000" in problem
    assert "the serial belongs to line export" in problem


def test_the_wrong_separator_is_told(survivors_problems):
    unknown, missing = survivors_problems("id:serial\na:12\n")
    assert 'the column "id:serial" is no feature' in unknown
    assert 'the column "id" is missing (read with commas between the columns)' in missing


def test_all_problems_come_in_one_answer(survivors_problems):
    text = "id,serial,convertor,converter\na,99999,,6be6\na,12,,\n,13,,\nd,Q1,,6SB7Y\n"
    problems = survivors_problems(text)
    places = [problem.split(", ", 2)[2].split(":")[0] for problem in problems]
    assert places == [
        "row 1, column 3",
        'row 2, column "converter"',
        'row 2, column "serial"',
        'row 3, column "id"',
        'row 4, column "id"',
        'row 5, column "serial"',
    ]


def test_the_list_of_problems_is_capped(family):
    with pytest.raises(FileProblems) as failure:
        register("id,converter\n" + "".join(f"s{i},6be6\n" for i in range(1000)), family)
    assert len(failure.value.problems) == 200
    assert failure.value.lines[-1] == "and 800 more."


def test_a_file_over_a_gigabyte(tmp_path, family):
    path = tmp_path / "large.csv"
    with path.open("wb") as stream:
        stream.write(b"id\n")
        stream.truncate(1_000_000_001)
    with pytest.raises(FileProblems, match=r"is 1,000\.0 MB large; a survivors file may have 1,000 MB"):
        read_survivors(path, family)


def test_columns_are_small(family):
    known = survivors("id,serial,converter\na,1,6BE6\n", family)
    assert known.seen["converter"].dtype == np.int8
    assert known.line.dtype == np.int16
