"""The sentence in which the words asked for stand, with the words marked."""

from __future__ import annotations

import re
from dataclasses import dataclass

from setwright.workbench.search.query import Question
from setwright.workbench.search.words import chunks

LONGEST_EXCERPT = 240
"""Characters of an excerpt, about three lines of a phone."""

_SENTENCE_END = re.compile(r"(?<=[.!?;])\s+|\n+")
_MORE = "\N{HORIZONTAL ELLIPSIS}"


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of text; `marked` where it is a word that was asked for."""

    text: str
    marked: bool = False


def marked(text: str, question: Question) -> tuple[Piece, ...]:
    """The whole text in pieces, the words asked for marked."""
    return _pieces(text, [(start, end) for start, end, _ in _found(text, question)])


def excerpt(text: str, question: Question) -> tuple[Piece, ...]:
    """The sentence that holds most of the words asked for, cut around the first of them where it is long.

    Of a text that holds none of them (the title does) it is the beginning.
    """
    sentences = [sentence.strip() for sentence in _SENTENCE_END.split(text) if sentence.strip()]
    if not sentences:
        return ()
    found = [_found(sentence, question) for sentence in sentences]
    best = max(range(len(sentences)), key=lambda number: (len({term for _, _, term in found[number]}), -number))
    return _cut(sentences[best], [(start, end) for start, end, _ in found[best]])


def _found(text: str, question: Question) -> list[tuple[int, int, int]]:
    """Where words asked for stand, and the number of the first term that each is of."""
    places = []
    for start, end, forms in chunks(text):
        number = next((number for number, term in enumerate(question.terms) if term.fits_any(forms)), None)
        if number is not None:
            places.append((start, end, number))
    return places


def _cut(sentence: str, places: list[tuple[int, int]]) -> tuple[Piece, ...]:
    if len(sentence) <= LONGEST_EXCERPT:
        return _pieces(sentence, places)
    start = max(0, (places[0][0] if places else 0) - LONGEST_EXCERPT // 3)
    if start:
        start = sentence.find(" ", start) + 1
    end = start + LONGEST_EXCERPT
    if end < len(sentence):
        end = max(sentence.rfind(" ", start, end), places[0][1] if places else start + 1)
    inside = [(first - start, last - start) for first, last in places if first >= start and last <= end]
    pieces = _pieces(sentence[start:end], inside)
    before = (Piece(f"{_MORE} "),) if start else ()
    after = (Piece(f" {_MORE}"),) if end < len(sentence) else ()
    return (*before, *pieces, *after)


def _pieces(text: str, places: list[tuple[int, int]]) -> tuple[Piece, ...]:
    pieces, here = [], 0
    for start, end in places:
        pieces += [Piece(text[here:start]), Piece(text[start:end], marked=True)]
        here = end
    return tuple(piece for piece in (*pieces, Piece(text[here:])) if piece.text)
