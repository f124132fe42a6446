"""Near misses: what somebody most likely meant to write."""

from __future__ import annotations

import difflib
import unicodedata
from collections.abc import Iterable

SHORTEST_EDITED = 4
"""From so many characters on, one edit away counts as a near miss; shorter words differ by one for good reason."""

OTHER = "other:"
"""Before a state, it insists that the state is none of those listed."""


def squeezed(text: str) -> str:
    """Text without what a near miss may differ in: case, spaces, punctuation.

    >>> squeezed(" 6be-6 ") == squeezed("6BE6")
    True
    """
    return "".join(c for c in unicodedata.normalize("NFKC", text).casefold() if unicodedata.category(c)[0] not in "ZPC")


def within_one_edit(a: str, b: str) -> bool:
    """Whether one character added, left out, replaced, or two neighbours swapped, turns `a` into `b`.

    >>> within_one_edit("6BE6", "6BA6"), within_one_edit("6BE6", "6EB6"), within_one_edit("6BE6", "6BA7")
    (True, True, False)
    """
    if a == b:
        return True
    if abs(len(a) - len(b)) > 1:
        return False
    start = next((i for i, (x, y) in enumerate(zip(a, b, strict=False)) if x != y), min(len(a), len(b)))
    rest_a, rest_b = a[start:], b[start:]
    if len(rest_a) == len(rest_b):
        return rest_a[1:] == rest_b[1:] or (rest_a[:2] == rest_b[1::-1] and rest_a[2:] == rest_b[2:])
    return rest_a[1:] == rest_b or rest_a == rest_b[1:]


def near_miss(text: str, listed: Iterable[str]) -> str | None:
    """The listed state that `text` was most likely meant to be, None if it is none of them or none is near.

    Near is: equal but for case, spaces and punctuation; or, from `SHORTEST_EDITED` characters of the listed
    state on, one edit away.

    >>> near_miss("6be-6", ["6SB7Y", "6BE6"]), near_miss("6BF6", ["6SB7Y", "6BE6"]), near_miss("AB", ["A1"])
    ('6BE6', '6BE6', None)
    """
    states = list(listed)
    if text in states:
        return None
    plain = squeezed(text)
    for state in states:
        # A state of punctuation alone ("+", "-") is near to nothing but itself.
        if plain and squeezed(state) == plain:
            return state
    for state in states:
        target = squeezed(state)
        if len(target) >= SHORTEST_EDITED and within_one_edit(plain, target):
            return state
    return None


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known name nearest to a word that is none of them, None where nothing is close.

    >>> nearest("acess", ["access", "states"]), nearest("colour", ["access"])
    ('access', None)
    """
    names = {name.casefold(): name for name in reversed(list(known))}
    folded = word.casefold()
    if folded in names:
        return names[folded]
    for key, name in names.items():
        if squeezed(key) == squeezed(folded):
            return name
    close = difflib.get_close_matches(folded[:200], names, n=1, cutoff=0.7)
    return names[close[0]] if close else None
