"""One change is taken back while later ones stay; differences lead from one text to the other."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from setwright.workbench.records import merging
from setwright.workbench.records.diff import MOST_LINES, diff_of
from setwright.workbench.records.merging import differences, lines_of, taken_back

LINES = st.lists(st.sampled_from(["", "a = 1", "b = 2", "c = 3", "[[x]]"]).map(lambda line: line + "\n"), max_size=12)
TEXTS = LINES.map("".join)
BLOCKS = st.lists(st.integers(0, 99), min_size=2, max_size=8, unique=True)


def block(number: int, state: str = "seen") -> str:
    return f'\n[[observation]]\nfeature = "f{number}"\nstate = "{state}"\n'


@given(TEXTS, TEXTS)
def test_differences_lead_from_one_text_to_the_other(old: str, new: str) -> None:
    lines = lines_of(old)
    for stretch in reversed(differences(lines, lines_of(new))):
        lines[stretch.start : stretch.end] = stretch.lines
    assert "".join(lines) == new


def test_texts_too_long_to_compare_in_full_lead_there_too(monkeypatch) -> None:
    monkeypatch.setattr(merging, "MOST_COMPARED", 2)
    test_differences_lead_from_one_text_to_the_other()
    test_the_newest_change_taken_back_is_the_text_before()


@given(TEXTS, TEXTS)
def test_the_newest_change_taken_back_is_the_text_before(before: str, base: str) -> None:
    assert taken_back(base, before, base) == before


@given(TEXTS, TEXTS)
def test_a_change_of_nothing_leaves_later_ones(base: str, present: str) -> None:
    assert taken_back(base, base, present) == present


@given(BLOCKS, st.data())
def test_any_one_of_several_blocks_can_be_taken_out(numbers: list[int], data: st.DataObject) -> None:
    """An observation that was added comes out; those added later, and one changed later, stay."""
    taken = data.draw(st.integers(0, len(numbers) - 2))
    before = "".join(block(number) for number in numbers[:taken])
    base = before + block(numbers[taken])
    later = [block(number) for number in numbers[taken + 1 :]]
    changed = before.replace("seen", "seen again") if data.draw(st.booleans()) else before
    present = changed + block(numbers[taken]) + "".join(later)
    assert taken_back(base, before, present) == changed + "".join(later)


def test_a_change_that_was_changed_again_is_left_alone() -> None:
    before, base = block(1), block(1) + block(2)
    assert taken_back(base, before, block(1) + block(2, "altered")) is None
    assert taken_back(base, before, block(1) + block(2).replace("state", 'note = "so"\nstate')) is None
    assert taken_back("b\n", "a\n", "c\n") is None
    assert taken_back("", "a\n", "b\n") is None  # both put lines into the same place


def test_line_ends_stay_as_they_are() -> None:
    assert taken_back("a\r\nb\r\nc", "a\r\nc", "a\r\nb\r\nc\r\nd") == "a\r\nc\r\nd"


@given(TEXTS, TEXTS)
def test_a_diff_shows_every_line_that_changed(old: str, new: str) -> None:
    diff = diff_of(old, new)
    shown = [line for stretch in diff.stretches for line in stretch]
    before, after = lines_of(old), lines_of(new)
    for line in shown:
        text = (before if line.sign == "-" else after)[line.number - 1]
        assert text.rstrip("\n") == line.text
    went, came = (sum(line.sign == sign for line in shown) for sign in "-+")
    assert came - went == len(after) - len(before)
    assert diff.is_empty == (old == new)


def test_a_very_long_diff_is_cut_and_counted() -> None:
    diff = diff_of("", "".join(f"{number}\n" for number in range(1000)))
    assert sum(map(len, diff.stretches)) == MOST_LINES
    assert diff.left_out == 1000 - MOST_LINES
