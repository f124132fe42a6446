"""Words and questions: what counts as one word, what is marked in the sentence that is shown."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.workbench.search.excerpts import LONGEST_EXCERPT, Piece, excerpt, marked
from setwright.workbench.search.query import LONGEST_QUESTION, MOST_TERMS, Word, question
from setwright.workbench.search.words import words_of


def nothing(word: str) -> list[str]:
    return []


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("6SB7Y/6BE6", ["6sb7y/6be6", "6sb7y", "6be6"]),
        (".02 mfd", ["02", "mfd"]),
        ("B 71?08.", ["b", "71?08"]),
        ("Why? In **1948**", ["why", "in", "**1948**"]),
        ("Éclair ½ – bench-1", ["eclair", "1/2", "1", "2", "bench-1", "bench", "1"]),
        ("?? * --- \"'()", []),
    ],
)
def test_words(text: str, words: list[str]) -> None:
    assert words_of(text) == words


@given(st.text(max_size=200))
def test_no_word_holds_what_a_database_could_read(text: str) -> None:
    for word in words_of(text):
        assert word
        assert not set(word) & set(" \t\n'\"\\()&|!:<>^%_")


def test_letters_are_beginnings_and_numbers_are_not() -> None:
    asked = question("conv 6SB7 C4", nothing)
    assert [term.alternatives[0][0] for term in asked.terms] == [Word("conv", True), Word("6sb7"), Word("c4")]


def test_a_fragment_with_a_star_at_its_end_is_a_beginning() -> None:
    term = question("71*", lambda word: ["7104", "71?4", "7?10"]).terms[0]
    assert (Word("71", True),) in term.alternatives
    assert (Word("7?10"),) in term.alternatives
    assert (Word("7104"),) not in term.alternatives


@given(st.text(max_size=500))
def test_any_question_is_bounded(text: str) -> None:
    asked = question(text, nothing)
    assert len(asked.asked) <= LONGEST_QUESTION
    assert len(asked.terms) <= MOST_TERMS


def test_the_sentence_with_the_words_is_shown() -> None:
    asked = question("mice haybarn", nothing)
    text = "Bought at a sale. Found in a haybarn; mice had been in it. Mice again."
    assert excerpt(text, asked) == (Piece("Found in a "), Piece("haybarn", marked=True), Piece(";"))


def test_a_long_sentence_is_cut_around_the_word() -> None:
    text = "word " * 200 + "haybarn " + "word " * 200
    pieces = excerpt(text, question("haybarn", nothing))
    assert Piece("haybarn", marked=True) in pieces
    assert sum(len(piece.text) for piece in pieces) <= LONGEST_EXCERPT + 10


@given(st.text(max_size=600), st.text(max_size=40))
def test_pieces_make_up_the_text(text: str, words: str) -> None:
    asked = question(words, nothing)
    assert "".join(piece.text for piece in marked(text, asked)) == text
    shown = "".join(piece.text for piece in excerpt(text, asked)).strip(" …")
    assert shown in text
