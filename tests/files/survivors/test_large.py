"""Reading by columns gives the same register as reading row by row, and leaves every problem to it."""

# A table of cases reads best with one case a line.
# ruff: noqa: E501

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.files import FileProblems, read_family, read_survivors
from setwright.files.source_text import SourceBytes
from setwright.files.survivors.arrow_table import ArrowText
from setwright.files.survivors.columns import known_names
from setwright.files.survivors.csv_text import open_csv
from setwright.files.survivors.large import read_columns
from setwright.files.survivors.reading import read_rows
from setwright.identity.model import BenchSet, Family, Survivors

BLOCKS = """
[[serial_block]]
first = 1
last = 900
[[serial_block]]
prefix = "B"
first = 1
last = 2000
[[serial_block]]
prefix = "B"
line = "export"
first = 1501
last = 2500
[[serial_block]]
first = 1
last = 50
"""
BENCH = BenchSet("bench-1", "heron-7", "B12", "main")


@cache
def family_with_blocks(text: str) -> Family:
    return read_family((text + BLOCKS).encode()).family


def opened(data: bytes, family: Family):
    return open_csv(SourceBytes("known.csv", data), known_names(family))


def same(one: Survivors, other: Survivors) -> None:
    assert list(one.ids) == list(other.ids)
    for a, b in [(one.line, other.line), (one.position, other.position)]:
        assert a.dtype == b.dtype
        assert np.array_equal(a, b)
    assert list(one.seen) == list(other.seen)
    for name, codes in one.seen.items():
        assert codes.dtype == other.seen[name].dtype, name
        assert np.array_equal(codes, other.seen[name]), name
    assert dict(one.serial) == dict(other.serial)


def compare(data: bytes, family: Family, bench: BenchSet | None) -> bool:
    """Whether the columns were read; both registers are the same then, and the rows have no problem."""
    text = opened(data, family)
    by_columns = read_columns(text, family, bench)
    if by_columns is None:
        return False
    by_rows = read_rows(text, family, bench)
    same(by_columns.survivors, by_rows.survivors)
    assert by_columns.warnings == by_rows.warnings
    assert {name: list(cells) for name, cells in by_columns.dates.items()} == {
        name: list(cells) for name, cells in by_rows.dates.items()
    }
    return True


HEADER = "id,serial,line,converter,converter.sure,converter.serviced,tone-capacitor,stamp_date,part_date.speaker,note"
REGULAR = "".join(
    f"s{i},{['B', 'b-', ''][i % 3]}{i % 800 + 101},{['main', ''][i % 2]},{['6SB7Y', '6BE6', '12SA7', ''][i % 4]},"
    f"{['', 'guess', 'likely'][i % 3]},{['', 'true', 'no'][i % 7 % 3]},{['.02 mfd', '4700 pF', 'absent', '.1 mfd', ''][i % 5]},"
    f"{['1948', '1949-03', ''][i % 3]},{['year-week:831', '1948-W31', ''][i % 3]},{['dull', '- scratched', ''][i % 3]}\n"
    for i in range(500)
)


@pytest.mark.parametrize(
    "bench", [None, BENCH, BenchSet("s3", "heron-7", "B112"), BenchSet("x", "heron-7", "B 101", "main")]
)
def test_a_regular_file_is_read_by_columns(bench, family_text):
    assert compare(f"{HEADER}\n{REGULAR}".encode(), family_with_blocks(family_text), bench)


@pytest.mark.parametrize(
    "change",
    [
        lambda t: t.replace("\n", "\r\n"),
        lambda t: t.replace(",", ";"),
        lambda t: "sep=;\n" + t.replace(",", ";"),
        lambda t: "\ufeff" + t,
        lambda t: t.replace("- scratched", '"scratched, ""badly"""'),
        lambda t: t.replace("- scratched", '"scratched\nbadly"'),
        lambda t: t.replace("dull", "d\u00fcll"),
        lambda t: t.rstrip("\n"),
        lambda t: t + "\n\n",
        lambda t: t.replace("12SA7", " 12SA7\u00a0"),
        lambda t: t.replace("12SA7", "unknown"),
        lambda t: t.replace("B101,", "B1?1,").replace("b-105,", "*5,"),
    ],
)
def test_quirks_are_read_by_columns_too(change, family_text):
    assert compare(change(f"{HEADER}\n{REGULAR}").encode(), family_with_blocks(family_text), BENCH)


@pytest.mark.parametrize(
    "change",
    [
        lambda t: t.replace("s7,", "s8,"),
        lambda t: t.replace("s7,", ","),
        lambda t: t.replace("s7,", "=s7,"),
        lambda t: t.replace("s7,", "12-Mar,"),
        lambda t: t.replace("s7,", "1948-03-09,"),
        lambda t: t.replace("s7,", "7.1E+4,"),
        lambda t: t.replace("s7,b-", "s7,Q"),
        lambda t: t.replace("b-108", "B9999"),
        lambda t: t.replace("b-108", "B1!8"),
        lambda t: t.replace("12SA7", "6BE-6", 1),
        lambda t: t.replace("guess", "gues", 1),
        lambda t: t.replace("true", "perhaps", 1),
        lambda t: t.replace("main", "mian", 1),
        lambda t: t.replace("1949-03", "March", 1),
        lambda t: t.replace("831", "#831", 1),
        lambda t: t.replace("- scratched", "=1+1", 1),
        lambda t: t.replace("- scratched", "-1+1", 1),
        lambda t: t.replace("- scratched", "\u00a0=1", 1),
        lambda t: t.replace("- scratched", "too, many", 1),
        lambda t: t.replace("- scratched", '"open', 1),
        lambda t: t.replace("- scratched", 'o"pen', 1) + 'z,,,,,,,,,"open',
        lambda t: t.replace("converter.sure", "converter.sur"),
        lambda t: t.replace("id,", "name,", 1),
        lambda t: t.replace("dull", "x" * 140_000, 1),
    ],
)
def test_what_is_refused_is_left_to_the_rows(change, family_text):
    family = family_with_blocks(family_text)
    text = opened(change(f"{HEADER}\n{REGULAR}").encode(), family)
    assert read_columns(text, family, BENCH) is None
    with pytest.raises(FileProblems):
        read_rows(text, family, BENCH)


def test_an_id_with_spaces_is_left_to_the_rows_that_trim_it(family_text):
    family = family_with_blocks(family_text)
    text = opened(f"{HEADER}\n{REGULAR}".replace("s7,", " s7,").encode(), family)
    assert read_columns(text, family, None) is None
    assert read_rows(text, family, None).survivors.ids[7] == "s7"


cell = st.sampled_from(
    [
        "",
        "6SB7Y",
        "6BE6",
        "6be6",
        "12SA7",
        " 6BE6",
        "\u00a0",
        "'6BE6",
        '"6BE6"',
        '"a,b"',
        "?",
        "unknown",
        "=1",
        "other: 6BE-6",
    ]
)
serial = st.sampled_from(
    [
        "",
        "7",
        "007",
        "B12",
        "b 12",
        "b-12",
        "B-1-2",
        "B1600",
        "60",
        "950",
        "Q1",
        "B1?",
        "?",
        "*",
        "7.0",
        "1e+3",
        "12-Mar",
        '"B12"',
        "B12 ",
    ]
)
rows = st.lists(
    st.tuples(
        st.sampled_from(["a", "b", "c", "d", "e", "f", "", "bench-1", " a", '"g"']),
        serial,
        st.sampled_from(["", "main", "export", "Main", " main"]),
        cell,
        st.sampled_from(["", "certain", "guess", "Guess"]),
        st.sampled_from(["", "true", "FALSE", "1", "maybe"]),
        st.sampled_from(["", ".02 mfd", "0.005 uF", "470M", "absent", "4.7E-09 F", "-1"]),
        st.sampled_from(["", "1948", "1948-13", " 1948"]),
        st.sampled_from(["", "year-week:831", "x:1"]),
        st.sampled_from(["", "note", "- note", "-1+1", '"two\nlines"', 'mid"quote', "\u00fc"]),
    ),
    max_size=5,
)


@given(
    rows, st.sampled_from(["\n", "\r\n"]), st.sampled_from([",", ";"]), st.booleans(), st.sampled_from([None, BENCH])
)
def test_both_ways_agree(family_text, cells, line_end, separator, ends, bench):
    family = family_with_blocks(family_text)
    lines = [HEADER.replace(",", separator), *(separator.join(row) for row in cells)]
    text = line_end.join(lines) + (line_end if ends else "")
    compare(text.encode(), family, bench)


sound_rows = st.lists(
    st.tuples(
        st.integers(0, 10**9).map(lambda i: f"s{i}") | st.just("bench-1"),
        st.sampled_from(
            ["", "60", "007", "850", "B12", "b 12", "b-12", "B-1-2", "B1600", "B2400", "B1?", "?", "*", '"B12"', "B12 "]
        ),
        st.sampled_from(["", "main", " main"]),
        st.sampled_from(
            ["", "6SB7Y", "6BE6", "12SA7", " 6BE6", "\u00a0", "'6BE6", '"a,b"', "?", "unknown", "other: 6BE-6"]
        ),
        st.sampled_from(["", "certain", "guess"]),
        st.sampled_from(["", "true", "FALSE", "1"]),
        st.sampled_from(["", ".02 mfd", "0.005 uF", "absent", "4.7E-09 F", "burnt"]),
        st.sampled_from(["", "1948", "1948-W31"]),
        st.sampled_from(["", "year-week:831", "1949"]),
        st.sampled_from(["", "note", "- note", '"two\nlines"', 'mid"quote"', "\u00fc"]),
    ),
    min_size=1,
    max_size=6,
    unique_by=lambda row: row[0],
)


@given(sound_rows, st.sampled_from(["\n", "\r\n"]), st.sampled_from([None, BENCH]))
def test_sound_rows_are_read_by_columns(family_text, cells, line_end, bench):
    family = family_with_blocks(family_text)
    # B2400 is an export serial, so it stands without a line.
    cells = [(*row[:2], "", *row[3:]) if row[1] == "B2400" else row for row in cells]
    text = line_end.join([HEADER, *map(",".join, cells), ""])
    assert compare(text.encode(), family, bench)


def test_a_file_of_many_rows_goes_the_quick_way(family_text):
    family = family_with_blocks(family_text)
    body = "".join(f"s{i},B{i % 1000 + 1},main,6BE6\n" for i in range(25_000))
    read = read_survivors(f"id,serial,line,converter\n{body}".encode(), family)
    assert isinstance(read.survivors.ids, ArrowText)
    assert (len(read.survivors), read.rows) == (25_000, ())
    assert read.survivors.ids[24_999] == "s24999"


def test_a_large_file_with_a_problem_says_in_which_row(family_text, survivors_problems):
    body = "".join(f"s{i},{i % 900 + 1}\n" for i in range(25_000))
    (problem,) = survivors_problems(f"id,serial\n{body}z,Q1\n", family_with_blocks(family_text))
    assert 'line 25002, row 25002, column "serial"' in problem


def test_ids_behave_as_a_sequence(family_text):
    family = family_with_blocks(family_text)
    read = read_columns(opened(b"id\na\nb\nc\n", family), family, None)
    assert read is not None
    ids = read.survivors.ids
    assert (ids[0], ids[-1], ids[1:], list(reversed(ids)), "b" in ids) == ("a", "c", ("b", "c"), ["c", "b", "a"], True)
    with pytest.raises(IndexError):
        ids[3]
