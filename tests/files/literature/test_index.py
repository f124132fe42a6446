"""The shelf as a table: good rows given, bad ones told by row and column, the way out and back without loss."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.files import FileProblems
from setwright.files.literature import KINDS, Attachment, LiteratureEntry, made_id, read_index, write_index


def told(text: str) -> list[str]:
    return [str(problem) for problem in read_index(text.encode(), "shelf.csv").problems]


def test_good_rows_are_given_and_bad_ones_told() -> None:
    index = read_index(
        b"title,maker,year,owned\nService data,Larkspur,1948,yes\nParts list,Larkspur,48ish,no\n,,,\n,Larkspur,1950,\n",
        "shelf.csv",
    )
    assert [(row.row, row.entry.id, row.entry.owned) for row in index.rows] == [(2, "larkspur-service-data", True)]
    assert [str(problem) for problem in index.problems] == [
        'shelf.csv, line 3, row 3, column "year": "48ish" is no whole number; write year as digits, such as 1948.',
        'shelf.csv, line 5, row 5, column "title": the cell is empty; give the document\'s title.',
    ]
    assert index.columns == ("title", "maker", "year", "owned")


def test_ids_are_made_alike_every_time_and_never_twice() -> None:
    table = b"title\nBulletin\nBulletin\n"
    first, second = read_index(table), read_index(table)
    assert [row.entry.id for row in first.rows] == [row.entry.id for row in second.rows] == ["bulletin", "bulletin-2"]
    assert made_id({"title": "目録"}) == "document"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("id,title\na,A\na,B\n", 'the id "a" stands in row 2 already'),
        ("id,title\n../a,A\n", 'column "id"'),
        ("title,kind\nA,novel\n", 'column "kind"'),
        ("title,owned\nA,perhaps\n", '"perhaps" says neither yes nor no'),
        ("title,year\nA,30\n", "at least 1,800"),
        ("title\n=HYPERLINK(1)\n", "is a formula"),
        ("title,maker\nA,b,c\n", 'column 3: "c" stands under no column name'),
    ],
)
def test_a_bad_row_is_told_with_its_column(text: str, said: str) -> None:
    assert said in "\n".join(told(text))


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "the file is empty"),
        (b"maker,model\nA,B\n", 'the column "title" is missing'),
        (b"title,titel\nA,B\n", 'no column "titel"'),
        (b"title,title\nA,B\n", "stands twice"),
        (b"%PDF-1.4\n", "this is a PDF, not CSV text"),
    ],
)
def test_a_table_that_is_none_is_refused(content: bytes, said: str) -> None:
    with pytest.raises(FileProblems, match=said):
        read_index(content, "shelf.csv")


def test_semicolons_and_a_spreadsheets_marks_are_understood() -> None:
    rows = read_index("\ufefftitle;note\nA;'-3 pages\n".encode()).rows
    assert rows[0].entry.note == "-3 pages"


def test_scans_are_named_on_the_way_out_and_passed_over_on_the_way_in() -> None:
    entry = LiteratureEntry("a", "A", attachments=(Attachment("ab" * 32, "a.pdf", "application/pdf"),))
    text = write_index([entry])
    assert "a.pdf" in text
    assert read_index(text.encode()).rows[0].entry == replace(entry, attachments=())


WORDS = st.text(st.characters(exclude_categories=("C", "Z"), exclude_characters="'=+-@"), max_size=12)


@given(
    st.lists(
        st.builds(
            LiteratureEntry,
            id=st.from_regex(r"[a-z0-9]{1,8}", fullmatch=True),
            title=WORDS.filter(bool),
            kind=st.sampled_from(KINDS),
            maker=WORDS,
            where=WORDS,
            owned=st.booleans(),
            year=st.none() | st.integers(1800, 2200),
            pages=st.none() | st.integers(1, 500),
        ),
        unique_by=lambda entry: entry.id,
        max_size=5,
    )
)
def test_what_goes_out_comes_back(entries: list[LiteratureEntry]) -> None:
    index = read_index(write_index(entries).encode())
    assert index.problems == ()
    assert [row.entry for row in index.rows] == entries
