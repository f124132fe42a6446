"""From text to the words under which it is found. The index and the question go through the same functions.

A word is letters and digits, as the trade writes them: `6SB7Y`, `71?08` with an illegible digit, `0.02`, `C40/C41`.
What is joined by a dot, dash, slash, comma or plus sign is one word and its parts as well, so that `bench-1` is found
by `bench`. Case, accents and compatibility forms (full-width letters, ½) make no difference. No word holds a space,
quote, bracket or backslash: none can mean anything to a database.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from functools import lru_cache

LONGEST_WORD = 64

_CHUNK = re.compile(r"(?:[^\W_]|[?*])+(?:[.,/+\-\u2010-\u2013](?:[^\W_]|[?*])+)*")
_JOINT = re.compile(r"[.,/+-]")
_DASH = re.compile("[\u2010-\u2013\u2212]")
_FOREIGN = re.compile(r"(?:[^\w?*.,/+-]|_)+")
_DIGIT = re.compile(r"\d")


def chunks(text: str) -> Iterator[tuple[int, int, tuple[str, ...]]]:
    """Every word of a text: where it begins and ends, and the forms under which it is found, the whole one first.

    >>> [forms for _, _, forms in chunks("Tube 6SB7Y/6BE6, serial 71?08.")]
    [('tube',), ('6sb7y/6be6', '6sb7y', '6be6'), ('serial',), ('71?08',)]
    """
    for found in _CHUNK.finditer(text):
        forms = forms_of(found[0])
        if forms:
            yield found.start(), found.end(), forms


def words_of(text: str) -> list[str]:
    """All forms of all words of a text, in its order.

    >>> words_of("Really? By the mill, in 1948?")
    ['really', 'by', 'the', 'mill', 'in', '1948?', '1948']
    """
    return [form for _, _, forms in chunks(text) for form in forms]


@lru_cache(maxsize=50_000)
def forms_of(chunk: str) -> tuple[str, ...]:
    """The forms of one word: the whole, without question marks at its end, and the parts between its joints.

    Remembered, because records say the same few thousand words over and over.
    """
    whole = normal(chunk)
    if not _DIGIT.search(whole):
        # A question or emphasis, not an illegible character: those stand among digits.
        whole = whole.replace("?", "").replace("*", "")
    forms = [whole, whole.rstrip("?")]
    if _JOINT.search(whole):
        forms += [part.rstrip("?") if not _DIGIT.search(part) else part for part in _JOINT.split(whole)]
    return tuple(dict.fromkeys(form[:LONGEST_WORD] for form in forms if form.strip("?*.,/+-")))


def normal(text: str) -> str:
    """A word without what makes no difference: case, accents, compatibility forms, kinds of dashes.

    >>> normal("Éclair"), normal("½"), normal("0.02\N{MICRO SIGN}F")
    ('eclair', '1/2', '0.02μf')
    """
    apart = unicodedata.normalize("NFKD", text).casefold()
    plain = "".join(letter for letter in apart if not unicodedata.combining(letter))
    return _FOREIGN.sub("", _DASH.sub("-", plain.replace("\N{FRACTION SLASH}", "/"))).strip(".,/+-")


def has_mark(word: str) -> bool:
    """Whether a word has illegible characters: ? for one, * for any number of them."""
    return "?" in word or "*" in word


def has_digit(word: str) -> bool:
    """Whether a word is of the kind of serials, part references and tube types."""
    return bool(_DIGIT.search(word))
