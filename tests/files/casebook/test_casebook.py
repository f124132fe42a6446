"""A casebook gives back what was put into it; whatever is wrong with one is told, all of it, and nothing is read."""

# A table of cases reads best with one case a line.
# ruff: noqa: E501

from __future__ import annotations

import hashlib
import io
import random
import struct
import zipfile
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.files import FileProblems
from setwright.files.casebook import CasebookWriter, HistoryEntry, open_casebook
from setwright.files.casebook.history import read_history, write_history
from setwright.files.literature import new_literature

MADE = datetime(2024, 5, 2, 19, 4, 10, tzinfo=UTC)
PICTURE = b"\xff\xd8\xff\xe0 a picture"


def sum_of(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


@pytest.fixture
def entries(set_text):
    return (
        HistoryEntry(1, MADE, "you", "Taken in from x.toml", set_text.replace("41?08", "41108")),
        HistoryEntry(2, MADE, "an other\u2028one", "Serial read anew", set_text, undoes=None),
    )


@pytest.fixture
def files(family_text, set_text, entries) -> dict[str, bytes]:
    shelf = new_literature({"id": "folder-7", "title": "Service notes", "kind": "service data"})
    return {
        "families/heron-7.toml": family_text.encode(),
        "survivors/heron-7.csv": b"id,serial\r\ns1,41108\r\n",
        "sets/bench-1.toml": set_text.encode(),
        "literature/folder-7.toml": shelf.text.encode(),
        "literature/index.csv": b"id,title\n",
        f"photos/{sum_of(PICTURE)}.jpg": PICTURE,
        f"literature/files/{sum_of(b'%PDF')}.pdf": b"%PDF",
        "history/set-bench-1.jsonl": write_history(entries).encode(),
    }


def made(files, missing=()) -> bytes:
    stream = io.BytesIO()
    writer = CasebookWriter(stream, MADE)
    for name, content in files.items():
        writer.add(name, content)
    for name in missing:
        writer.note_missing(name)
    writer.finish()
    return stream.getvalue()


@pytest.fixture
def content(files) -> bytes:
    return made(files)


def problems(content: bytes) -> list[str]:
    with pytest.raises(FileProblems) as refused:
        open_casebook(content, "book.zip")
    return [str(problem) for problem in refused.value.problems]


def test_everything_comes_back(files, entries, set_text, family_text, tmp_path):
    path = tmp_path / "book.zip"
    path.write_bytes(made(files, ["photos/gone.jpg"]))
    with open_casebook(path) as book:
        assert book.made_at == MADE
        assert book.families["heron-7"].text == family_text
        assert book.sets["bench-1"].text == set_text
        assert book.survivors == {"heron-7": "id,serial\r\ns1,41108\r\n"}
        assert book.literature["folder-7"].entry.title == "Service notes"
        assert book.content_of(book.photos[sum_of(PICTURE)]) == PICTURE
        assert book.content_of(book.attachments[sum_of(b"%PDF")]) == b"%PDF"
        assert book.history == {("set", "bench-1"): entries}
        assert book.missing == ("photos/gone.jpg",)


def test_the_same_records_give_the_same_file(files):
    assert made(files) == made(files)


def test_a_place_that_is_none_is_refused_when_written():
    writer = CasebookWriter(io.BytesIO(), MADE)
    for name in ("../x", "sets/x.exe", "photos/1.jpg", "sets/.x.toml", "x"):
        with pytest.raises(ValueError, match="no place in a casebook"):
            writer.add(name, b"")


# History

texts = st.text(st.sampled_from("ab\n\r\u2028é"), max_size=12)


@given(st.lists(texts, max_size=6))
def test_any_history_comes_back(versions):
    entries = tuple(HistoryEntry(n, MADE, "you", "…", text, None, n % 2 == 0) for n, text in enumerate(versions, 1))
    assert read_history(write_history(entries), "x") == entries


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("{", "x, line 1: the entry cannot be read"),
        ("[]", "the entry cannot be read"),
        ('{"number":2,"at":"2024-05-02T19:04:00Z","by":"","what":"","lines_kept":0,"lines_out":0,"text_in":""}', "counted from 1"),
        ('{"number":1,"at":"2024-05-02","by":"","what":"","lines_kept":0,"lines_out":0,"text_in":""}', "time zone"),
        ('{"number":1,"at":"2024-05-02T19:04:00Z","by":"","what":"","lines_kept":1,"lines_out":1,"text_in":""}', "does not have"),
        ('{"number":1,"at":"2024-05-02T19:04:00Z","by":"","what":"","lines_kept":-1,"lines_out":0,"text_in":""}', "key lines_kept"),
        ('{"number":1,"at":1,"by":"","what":"","lines_kept":0,"lines_out":0,"text_in":""}', "key at"),
    ],
)  # fmt: skip
def test_a_history_that_cannot_be_read_is_told(line, expected):
    with pytest.raises(FileProblems) as refused:
        read_history(line + "\n", "x")
    assert expected in str(refused.value)


# What is refused


def packed(members, method=zipfile.ZIP_DEFLATED) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", method) as target:
        for name, content in members:
            target.writestr(name, content)
    return stream.getvalue()


def members(content: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(content)) as source:
        return {name: source.read(name) for name in source.namelist()}


def again(content: bytes, **changes: bytes | None) -> bytes:
    """The casebook packed anew with members changed, added, or (None) left out; its list stays as it was."""
    found = {**members(content), **changes}
    return packed([(name, data) for name, data in found.items() if data is not None])


@pytest.mark.parametrize("cut", [0, 1, 21, 100, -1, -10, -200])
def test_a_truncated_casebook(content, cut):
    (told,) = problems(content[:cut])
    assert "the file is not whole, or no zip file" in told


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        ({"sets/bench-1.toml": b"x"}, ['"sets/bench-1.toml": is 1 bytes long; the list of files says']),
        ({"sets/bench-1.toml": None}, ['"sets/bench-1.toml": is in the list of files, but not in the casebook']),
        ({"sets/more.toml": b"x", "x": b""}, ['"sets/more.toml": is not in the list of files', '"x": is not in the list of files']),
        ({"casebook.toml": None}, ["holds no casebook.toml"]),
        ({"casebook.toml": b"x"}, ["not valid TOML"]),
        ({"casebook.toml": b"\xff"}, ["is not UTF-8"]),
        ({"casebook.toml": b'format = "setwright-casebook/2"'}, ["a newer Setwright may be needed"]),
        ({"casebook.toml": b'format = "setwright-set/1"'}, ["this is a set file"]),
        ({"casebook.toml": b'format = "setwright-casebook/1"'}, ["the key made_at is missing"]),
        ({"casebook.toml": b'format = "setwright-casebook/1"\nmade_at = "x"'}, ['"x" is no date']),
        ({"../outside.toml": b""}, ['"../outside.toml": the name leads outside the folder']),
        ({"/etc/passwd": b""}, ["leads outside the folder"]),
        ({"sets/../../x": b""}, ["leads outside the folder"]),
        ({"C:/x": b""}, ["leads outside the folder"]),
        ({"sets\\x": b""}, ["the name cannot be used"]),
        ({"x\x1b": b""}, ["the name cannot be used"]),
        ({"bomb": bytes(30_000_000)}, ["would unpack to 30 MB"]),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_with_its_place(change, expected, content):
    told = problems(again(content, **change))
    assert len(told) == len(expected)
    for line, words in zip(told, expected, strict=True):
        assert line.startswith("book.zip")
        assert words in line


def test_wrong_sums_are_told_all_together(content, files):
    wrong = {name: bytes([data[0] ^ 1]) + data[1:] for name, data in files.items()}
    told = problems(again(content, **wrong))
    assert len(told) == len(files)
    assert all("is damaged: its sum is not the one in the list" in line for line in told)


def test_members_packed_twice_are_told(content):
    with pytest.warns(UserWarning, match="Duplicate name"):
        twice = packed([*members(content).items(), ("sets/bench-1.toml", b"x")])
    assert any("stands in the file twice" in line for line in problems(twice))


def test_links_are_told(content):
    stream = io.BytesIO(content)
    with zipfile.ZipFile(stream, "a") as target:
        info = zipfile.ZipInfo("sets/link.toml")
        info.create_system, info.external_attr = 3, (0o120777 << 16)
        target.writestr(info, "/etc/passwd")
    assert "is a link to another file" in problems(stream.getvalue())[0]


def patched(content: bytes, mark: bytes, offset: int, value: bytes) -> bytes:
    """Every record that begins with the mark, with bytes at an offset in it changed."""
    data, place = bytearray(content), 0
    while (place := data.find(mark, place)) >= 0:
        data[place + offset : place + offset + len(value)] = value
        place += 4
    return bytes(data)


def test_encrypted_members_and_other_methods_are_told(content):
    assert all("is encrypted" in line for line in problems(patched(content, b"PK\x01\x02", 8, b"\x01\x00")))
    assert all(
        "by a method that is not read here" in line
        for line in problems(patched(content, b"PK\x01\x02", 10, b"\x0c\x00"))
    )


def test_a_member_that_unpacks_to_more_than_it_says_is_told(content):
    told = problems(patched(content, b"PK\x01\x02", 24, struct.pack("<I", 1)))
    assert any("length" in line or "cannot be unpacked" in line for line in told)


def test_a_name_that_is_not_utf8_is_told(content):
    odd = patched(packed([*members(content).items(), ("sets/é.toml", b"")]), "é".encode(), 0, b"\xff\xff")
    assert any("not UTF-8" in line or "not whole" in line for line in problems(odd))


def test_far_too_many_members_are_told_without_being_listed():
    (told,) = problems(patched(packed([("a", b"")]), b"PK\x05\x06", 12, struct.pack("<I", 2_000_000_000)))
    assert "holds more than the 100,000 files" in told


@pytest.mark.parametrize(
    ("name", "data", "expected"),
    [
        ("sets/bench-1.toml", b'format = "setwright-set/1"\nid = "other"\nfamily = "heron-7"', "the id in it is \"other\""),
        ("sets/bench-1.toml", b'format = "setwright-set/1"\nid = "bench-1"\nfamily = "wren-1"', 'belongs to family "wren-1"'),
        ("sets/bench-1.toml", b'format = "setwright-set/1"\nid = "bench-1"\nfamily = "heron-7"\nserial = "99999"', "book.zip: sets/bench-1.toml, line 4, key serial"),
        ("families/heron-7.toml", b"x", "book.zip: families/heron-7.toml, line 1"),
        ("survivors/heron-7.csv", b"id,serial\ns1,99999\n", 'book.zip: survivors/heron-7.csv, line 2, row 2, column "serial"'),
        ("survivors/wren-1.csv", b"id\ns1\n", 'does not hold the family "wren-1"'),
        ("literature/folder-7.toml", b"", "the file is empty"),
        ("history/set-bench-1.jsonl", b"{}\n", "history/set-bench-1.jsonl, line 1"),
        ("history/set-bench-1.jsonl", b"", "does not end with the set as it stands"),
        ("history/set-gone.jsonl", b"", "is the history of a set that the casebook does not hold"),
        ("photos/" + "0" * 64 + ".jpg", b"x", "is not named by the sum of its content"),
    ],
)  # fmt: skip
def test_records_that_cannot_be_read_are_told(name, data, expected, files):
    told = problems(made({**files, name: data}))
    assert any(expected in line for line in told), told


# Fuzzing


def read_or_refused(content: bytes) -> None:
    try:
        with open_casebook(content, "book.zip") as book:
            for member in (*book.photos.values(), *book.attachments.values()):
                book.content_of(member)
    except FileProblems as failure:
        told = failure.lines
    else:
        return
    assert told
    assert all(line.startswith(("book.zip", "and ")) for line in told)


def mutated(content: bytes, seed: int) -> bytes:
    """Bytes changed, cut out, moved, doubled; and texts inside changed under a list that fits them again."""
    chance, data = random.Random(seed), bytearray(content)
    for _ in range(chance.choice([1, 1, 2, 3, 8, 30])):
        start = chance.randrange(max(len(data), 1))
        end = min(start + chance.choice([1, 1, 2, 4, 50]), len(data))
        match chance.randrange(5):
            case 0 | 1:
                data[start:end] = chance.randbytes(end - start)
            case 2:
                del data[start:end]
            case 3:
                data[start:start] = data[end : end + 40]
            case 4:
                data[start:end] = chance.choice([b"\x00", b"\xff", b"PK\x01\x02", b"PK\x05\x06", b"\xff\xff\xff\xff"])
    return bytes(data)


def mutated_inside(files: dict[str, bytes], seed: int) -> bytes:
    chance = random.Random(seed)
    name = chance.choice(sorted(files))
    return made({**files, name: mutated(files[name], seed + 1)})


def check(content, files, seeds):
    for seed in seeds:
        read_or_refused(mutated(content, seed))
        read_or_refused(mutated_inside(files, seed))


def test_mutated_casebooks_are_read_or_refused(content, files):
    check(content, files, range(60))


@given(st.binary(max_size=300), st.booleans())
def test_random_bytes_are_refused(data, begins_as_one):
    with pytest.raises(FileProblems):
        open_casebook((b"PK\x03\x04" if begins_as_one else b"") + data)


@given(st.dictionaries(st.text(max_size=12), st.binary(max_size=40), max_size=4))
def test_any_other_zip_file_is_refused(members):
    members = {name.replace("\0", "") or "x": data for name, data in members.items()}
    with pytest.raises(FileProblems):
        open_casebook(packed(members.items()))


@pytest.mark.slow
def test_many_mutated_casebooks_are_read_or_refused(content, files):
    check(content, files, range(1_000, 16_000))
