"""Literature files are read with all their problems, changed with their comments kept, and come back as they went."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.files import FileProblems
from setwright.files.literature import (
    KINDS,
    Attachment,
    add_attachment,
    change_attachment,
    change_literature,
    new_literature,
    read_literature,
    remove_attachment,
)

SHA = "ab" * 32
TEXT = f"""\
# from the club's box
format = "setwright-literature/1"
id = "larkspur-11-service"
title = "Service data, Larkspur 11"
kind = "service data"
maker = "Larkspur"
volume = "VII"
page = "7-3"
year = 1948 # by the print number
owned = true
where = "binder 3"

[[attachment]]
sha256 = "{SHA}"
name = "sheet.pdf"
media_type = "application/pdf"
pages = 6
opens_at = 2
"""


def problems_of(text: str) -> str:
    with pytest.raises(FileProblems) as caught:
        read_literature(text.encode(), "sheet.toml")
    return str(caught.value)


def test_what_is_read() -> None:
    entry = read_literature(TEXT.encode()).entry
    assert (entry.id, entry.kind, entry.maker, entry.year, entry.owned) == (
        "larkspur-11-service", "service data", "Larkspur", 1948, True,
    )  # fmt: skip
    assert entry.place == "volume VII, page 7-3"
    assert entry.attachments == (Attachment(SHA, "sheet.pdf", "application/pdf", 6, 2),)
    assert entry.attachments[0].suffix == ".pdf"


def test_a_title_is_enough() -> None:
    entry = read_literature(b'format = "setwright-literature/1"\nid = "a"\ntitle = "A book"\n').entry
    assert (entry.kind, entry.owned, entry.year, entry.attachments, entry.place) == ("other", False, None, (), "")


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('id = "larkspur', 'id = "../larkspur', "line 3"),
        ('title = "Service data, Larkspur 11"', "", "the key title is missing"),
        ('"service data"', '"servis data"', "service data"),
        ("year = 1948", 'year = "1948"', "line 9"),
        ("year = 1948", "year = 48", "at least 1,800"),
        ("owned = true", 'owned = "yes"', "must be true or false"),
        (SHA, "ab", "64 digits"),
        ("opens_at = 2", "opens_at = 7", "is page 7 of a scan of 6"),
        ("application/pdf", "text/html", "image/png"),
        ('where = "binder 3"', 'were = "binder 3"', 'Did you mean "where"?'),
        ("setwright-literature/1", "setwright-set/1", "here a literature file"),
    ],
)
def test_what_is_wrong_is_said_with_its_place(old: str, new: str, said: str) -> None:
    assert said in problems_of(TEXT.replace(old, new, 1))


def test_all_problems_come_in_one_answer() -> None:
    told = problems_of(TEXT.replace("year = 1948", "year = 48").replace("opens_at = 2", "opens_at = 9"))
    assert len(told.splitlines()) == 2


def test_the_same_scan_twice_is_refused() -> None:
    twice = TEXT + TEXT[TEXT.index("[[attachment]]") :]
    assert "attached twice" in problems_of(twice)


def test_changes_keep_comments_and_order() -> None:
    file = change_literature(read_literature(TEXT.encode()), {"year": 1949, "where": None, "model": "11"})
    assert file.text.startswith("# from the club's box\n")
    assert "year = 1949 # by the print number" in file.text
    assert (file.entry.year, file.entry.where, file.entry.model) == (1949, "", "11")
    assert len(file.entry.attachments) == 1


def test_scans_come_and_go() -> None:
    table = {"sha256": "cd" * 32, "name": "front.jpg", "media_type": "image/jpeg"}
    file = add_attachment(read_literature(TEXT.encode()), table)
    assert [one.name for one in file.entry.attachments] == ["sheet.pdf", "front.jpg"]
    file = change_attachment(file, 0, {"opens_at": 5})
    assert file.entry.attachments[0].opens_at == 5
    file = remove_attachment(file, 0)
    assert [one.name for one in file.entry.attachments] == ["front.jpg"]
    with pytest.raises(FileProblems, match="no attachment number 2; the file has 1"):
        remove_attachment(file, 1)


def test_a_change_that_breaks_the_file_is_refused() -> None:
    file = read_literature(TEXT.encode())
    with pytest.raises(FileProblems, match="is page 9 of a scan of 6"):
        change_attachment(file, 0, {"opens_at": 9})


WORDS = st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=30).map(str.strip)


@given(
    title=WORDS.filter(bool), kind=st.sampled_from(KINDS), where=WORDS, owned=st.booleans(),
    year=st.none() | st.integers(1800, 2200), note=st.lists(WORDS, max_size=3).map("\n".join).map(str.strip),
)  # fmt: skip
def test_what_is_written_is_read(**keys: object) -> None:
    entry = new_literature({"id": "it", **keys}).entry
    assert {key: getattr(entry, key) for key in keys} == keys


@given(st.binary(max_size=300))
def test_random_bytes_are_read_or_refused(content: bytes) -> None:
    try:
        read = read_literature(content)
    except FileProblems:
        return
    assert read.entry.title
