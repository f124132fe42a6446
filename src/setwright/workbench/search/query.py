"""What was asked, as words that have to be there.

Every word of a question has to be found. A word of letters is also found as the beginning of a longer one; a word with
digits (a tube type, a part reference, a serial) only as itself, but fragments of serials fit each other: `71?08`
finds 71208 and `712*`, and 71208 finds the survivor whose serial was read as 71?08.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from setwright.workbench.search.words import chunks, has_digit, has_mark

LONGEST_QUESTION = 200
MOST_TERMS = 12
MOST_FITTING = 100
"""So many serials that a fragment may be are looked for; one that fits more says next to nothing."""

SHORTEST_BEGINNING = 3
"""From so many letters on, a word is found as the beginning of a longer one."""


@dataclass(frozen=True, slots=True)
class Word:
    """A word that has to be there: itself, or a longer one that begins with it."""

    text: str
    is_beginning: bool = False

    def fits(self, other: str) -> bool:
        """Whether another word is this one."""
        return other.startswith(self.text) if self.is_beginning else other == self.text


@dataclass(frozen=True, slots=True)
class Term:
    """One word of the question: any of the alternatives will do; of an alternative all words have to be there."""

    alternatives: tuple[tuple[Word, ...], ...]

    def fits_any(self, forms: Sequence[str]) -> bool:
        """Whether one of the words asked for is among the forms of a word of a text."""
        return any(word.fits(form) for words in self.alternatives for word in words for form in forms)


@dataclass(frozen=True, slots=True)
class Question:
    """A question taken apart.

    asked : as it was typed, cut where it is very long. vague : fragments of serials that may be so many that only
    some were looked for.
    """

    asked: str
    terms: tuple[Term, ...]
    vague: tuple[str, ...] = ()


def question(asked: str, fitting: Callable[[str], Sequence[str]]) -> Question:
    """Take a question apart; anything may be typed.

    fitting : the words of the index that a serial, or a fragment of one, may be the same as, `MOST_FITTING` of them.
    """
    asked = " ".join(asked[:LONGEST_QUESTION].split())
    seen: dict[tuple[str, ...], None] = dict.fromkeys(forms for _, _, forms in chunks(asked))
    kept = list(seen)[:MOST_TERMS]
    fits = {forms[0]: fitting(forms[0]) for forms in kept if has_digit(forms[0])}
    terms = [_term(forms[0], forms[1:], fits.get(forms[0], ())) for forms in kept]
    return Question(asked, tuple(terms), tuple(word for word, words in fits.items() if len(words) >= MOST_FITTING))


def _term(whole: str, parts: tuple[str, ...], fits: Sequence[str]) -> Term:
    alternatives: list[tuple[Word, ...]] = [(_word(whole),)]
    if has_mark(whole):
        # "1948?" is a fragment, or the end of a question.
        alternatives += [(Word(part),) for part in parts if part == whole.rstrip("?")]
    elif parts:
        alternatives.append(tuple(_word(part) for part in parts))
    beginning = Word(whole.rstrip("*"), is_beginning=True)
    if beginning.text != whole and not has_mark(beginning.text):
        alternatives.append((beginning,))
        fits = [word for word in fits if not beginning.fits(word)]
    alternatives += [(Word(word),) for word in fits if word != whole]
    return Term(tuple(dict.fromkeys(alternatives)))


def _word(text: str) -> Word:
    return Word(text, len(text) >= SHORTEST_BEGINNING and not has_digit(text))
