"""Near misses and nearest names."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.files.suggest import near_miss, nearest, squeezed, within_one_edit

words = st.text("ABC12- ", max_size=7)


def all_edits(word: str) -> set[str]:
    letters = "ABC12- "
    parts = [(word[:i], word[i:]) for i in range(len(word) + 1)]
    return {
        word,
        *(a + b[1:] for a, b in parts if b),
        *(a + c + b for a, b in parts for c in letters),
        *(a + c + b[1:] for a, b in parts if b for c in letters),
        *(a + b[1] + b[0] + b[2:] for a, b in parts if len(b) > 1),
    }


@given(words, words)
def test_one_edit_is_one_character_added_left_out_replaced_or_two_swapped(a, b):
    assert within_one_edit(a, b) == (b in all_edits(a))
    assert within_one_edit(a, b) == within_one_edit(b, a)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("6be6", "6BE6"),
        ("6BE-6", "6BE6"),
        (" 6 B E 6", "6BE6"),
        ("6BE", "6BE6"),
        ("6BA6", "6BE6"),
        ("6EB6", "6BE6"),
        ("6BE67", "6BE6"),
        ("6BA7", None),
        ("A2", None),
        ("a1", "A1"),
        ("6BE6", None),
        ("+", None),
    ],
)
def test_near_misses(text, expected):
    assert near_miss(text, ["6BE6", "A1", "-"]) == expected


def test_a_listed_state_is_never_a_near_miss_of_another():
    assert near_miss("12AV6", ["12AT6", "12AV6"]) is None


@given(words, st.lists(words, max_size=4))
def test_a_near_miss_is_listed_and_something_else(text, listed):
    found = near_miss(text, listed)
    assert found is None or (found in listed and found != text)


@given(words)
def test_squeezing_forgets_case_spaces_and_punctuation(word):
    assert squeezed(word) == squeezed(word.lower().replace(" ", "").replace("-", " - "))


def test_nearest():
    known = ["converter", "tone-capacitor"]
    assert nearest("Converter", known) == "converter"
    assert nearest("tone_capacitor", known) == "tone-capacitor"
    assert nearest("convertor", known) == "converter"
    assert nearest("speaker", known) is None
