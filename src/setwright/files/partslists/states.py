"""How a difference becomes the states of a feature: which words or numbers, with what tolerance, under what label."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import combinations
from math import log

from setwright.files.partslists.aspects import ASPECT_NAMES, ASPECTS, word_set
from setwright.files.partslists.lines import ListedPart
from setwright.identity.model import ABSENT
from setwright.notation import format_modern, format_period

DEFAULT_TOLERANCE = 0.2
_RATING_TOLERANCE = 0.05
"""Ratings are read off the part: 450 volts on a replacement must not pass for 400."""
_LONGEST_WORDS = 80
_NARROWER = (0.1, 0.05, 0.02, 0.01)
PRESENT = "present"
"""The state of a part of which the lists say no more than that it is there."""


def plain_words(aspect: str, states: list[str | None]) -> list[str | None]:
    """A part told by words alone is "present" or "absent"; where the words differ, the differing ones are the state."""
    if aspect != "words":
        return states
    known = [state for state in dict.fromkeys(states) if state not in (None, ABSENT)]
    if len(known) <= 1:
        return [ABSENT if state == ABSENT else PRESENT for state in states]
    common = frozenset.intersection(*(word_set(state) for state in known if state))
    short = {state: _own_words(state, common) for state in known if state}
    if not all(short.values()) or len(set(short.values())) < len(short):
        return states
    return [short.get(state, state) if state else state for state in states]


def _own_words(text: str, common: frozenset[str]) -> str:
    """The words of a description that not all descriptions share.

    >>> _own_words("Label, tube location, white", frozenset({"label", "tube", "location"}))
    'white'
    """
    words = [word.strip(",;:()") for word in text.split()]
    return " ".join(word for word in words if word and not word_set(word) <= common)


def numbers(aspect: str, parts: Sequence[ListedPart | None], by_list: Sequence[str | None]) -> dict[str, float] | None:
    """The SI value of each state, None where some state is no single number."""
    if aspect not in ("value", "volts", "watts"):
        return None
    values: dict[str, float] = {}
    for part, state in zip(parts, by_list, strict=True):
        if part is None or state is None:
            continue
        said = ASPECTS[aspect](part)
        if said is None or not isinstance(said.key, float):
            return None
        values.setdefault(state, said.key)
    return values


def tolerance_for(values: Mapping[str, float], aspect: str) -> tuple[float | None, str, bool]:
    """Tolerance to write, what to say about it, and whether the states can be told apart at all.

    The tolerance is None where the format's own default will do.
    Two states must lie more than twice the tolerance apart: |ln(a/b)| > 2 ln(1 + tolerance).
    """
    usual = _RATING_TOLERANCE if aspect in ("volts", "watts") else DEFAULT_TOLERANCE
    written = None if usual == DEFAULT_TOLERANCE else usual
    pairs = [(abs(log(values[a] / values[b])), a, b) for a, b in combinations(values, 2)]
    if not pairs:
        return written, "", True
    nearest, one, other = min(pairs)
    if nearest > 2 * log(1 + usual) + 1e-9:
        return written, "", True
    for tolerance in _NARROWER:
        if tolerance < usual and nearest > 2 * log(1 + tolerance) + 1e-9:
            note = (
                f"{one} and {other} lie close together, as old and preferred values do: only the marking tells them "
                f"apart, a measured value does not (tolerance {tolerance:g})"
            )
            return tolerance, note, True
    return None, f"{one} and {other} are too close to tell apart on a part", False


def also(others: Iterable[str], states: Mapping[str, list[str | None]]) -> list[str]:
    """What else differs on the same part; wording counts for nothing there."""
    return [
        f"the {ASPECT_NAMES[aspect]} differs too: {' / '.join(state or 'not said' for state in states[aspect])}"
        for aspect in others
        if aspect not in ("words", "number")
    ]


def check_words(aspect: str, by_list: Sequence[str | None]) -> list[str]:
    """A reminder where nothing but wording makes the difference."""
    if aspect != "words" or set(by_list) <= {PRESENT, ABSENT, None}:
        return []
    return ["the lists describe it in different words; check that the part itself differs"]


def label_of(first: ListedPart, aspect: str, parts: Sequence[ListedPart | None]) -> str:
    """What the feature is called: reference, kind of part, what of it differs, and what the lists call it."""
    descriptions = [part.words for part in parts if part and part.words]
    words = descriptions[0] if descriptions else ""
    if aspect == "words" and len(set(descriptions)) > 1:
        common = frozenset.intersection(*(word_set(text) for text in descriptions))
        words = " ".join(word for word in words.split() if word_set(word) <= common)
    words = words.strip(" ,;:")[:_LONGEST_WORDS]
    kind = first.kind.name
    what = f", {ASPECT_NAMES[aspect]}" if aspect in ("volts", "watts", "number", "made") else ""
    if kind in words.casefold():
        return f"{first.reference} {words}{what}"
    return f"{first.reference} {kind}{what} ({words})" if words else f"{first.reference} {kind}{what}"


def shown(part: ListedPart | None) -> str:
    """What a list says, in one cell of the table."""
    if part is None:
        return ABSENT
    if part.unread:
        return f"line {part.line} not understood"
    ratings: list[str] = []
    if part.value is not None:
        volts, watts = part.value.rated_volts, part.value.rated_watts
        ratings = [format_modern(volts, "V")] if volts else []
        ratings += [format_period(watts, "W")] if watts else []
    words = [part.value_text, *ratings, part.tube, part.words, part.number]
    return " ".join(word for word in words if word)
