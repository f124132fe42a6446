"""What a parts list says of a part, aspect by aspect, in a form in which equal meanings are equal."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from setwright.files.partslists.lines import ListedPart, split_sections
from setwright.files.partslists.reading import PartsList
from setwright.files.suggest import squeezed
from setwright.identity.model import ABSENT
from setwright.notation import NotationError, format_modern, format_period, parse_part_value

_LITTLE_WORDS = frozenset(("a", "and", "the", "of", "for", "to", "in", "with", "on", "type"))


@dataclass(frozen=True, slots=True)
class Said:
    """What one list says of one aspect: `key` is equal where the meaning is, `shown` as the list has it."""

    key: object
    shown: str


Aspect = Callable[[ListedPart], Said | None]


def _value(part: ListedPart) -> Said | None:
    if part.sections:
        return Said(part.sections, part.value_text)
    return Said(part.value.value, value_state(part)) if part.value else None


def value_state(part: ListedPart) -> str:
    """The value as the list writes it, where it reads back as the same value in any file; else the period way."""
    assert part.value is not None
    value, unit = part.value.value, part.value.unit
    for text in (part.value_text.rstrip(" ."), format_modern(value, unit)):
        if _reads_back(text, value, unit):
            return text
    return format_period(value, unit)


def _reads_back(text: str, value: float, unit: str) -> bool:
    if not re.search(r"[A-Za-zΩ]", text):
        return False
    try:
        readings = [parse_part_value(text, unit, m_means_thousand=flag).value for flag in (False, True)]
    except NotationError:
        return False
    return readings == [value, value]


def _tube(part: ListedPart) -> Said | None:
    return Said(squeezed(part.tube), part.tube) if part.tube else None


def _made(part: ListedPart) -> Said | None:
    return Said(part.made, part.made) if part.made else None


def _rating(unit: str) -> Aspect:
    def rating(part: ListedPart) -> Said | None:
        value = part.value
        if value is None:
            return None
        rated = value.rated_volts if unit == "V" else value.rated_watts
        return None if rated is None else Said(rated, format_modern(rated, unit))

    return rating


def _number(part: ListedPart) -> Said | None:
    return Said(squeezed(part.number), part.number) if part.number else None


def _words(part: ListedPart) -> Said | None:
    return Said(Wording.of(part.words), part.words) if part.words else None


@dataclass(frozen=True, slots=True)
class Wording:
    """A description as its telling words, and those of them that are abbreviated with a full stop."""

    words: frozenset[str]
    short: frozenset[str]

    @classmethod
    def of(cls, text: str) -> Wording:
        """The wording of a description; "I.F." is "IF"."""
        text = re.sub(r"\b(?:[a-z]\.){2,}", lambda match: match.group().replace(".", ""), text.casefold())
        return cls(word_set(text), word_set(" ".join(re.findall(r"\w+(?=\.)", text))))

    def within(self, other: Wording) -> bool:
        """Whether the other says all of this one's words, perhaps written out or abbreviated."""
        return all(
            word in other.words
            or (word in self.short and any(full.startswith(word) for full in other.words))
            or any(word.startswith(short) for short in other.short)
            for word in self.words
        )


def word_set(text: str) -> frozenset[str]:
    """The words of a description that tell something, without case and plural."""
    words = re.findall(r"\w+", text.casefold())
    return frozenset(word.removesuffix("s") for word in words if word not in _LITTLE_WORDS)


ASPECTS: Mapping[str, Aspect] = {
    "value": _value,
    "tube": _tube,
    "made": _made,
    "volts": _rating("V"),
    "watts": _rating("W"),
    "number": _number,
    "words": _words,
}
"""What can differ, the most telling first."""

ASPECT_NAMES = {
    "value": "value",
    "tube": "tube type",
    "made": "construction",
    "volts": "rated voltage",
    "watts": "wattage",
    "number": "part number",
    "words": "wording",
}


def same_sections(lists: Sequence[PartsList]) -> list[PartsList]:
    """One list says "C9 40-20 mfd", another C9A and C9B: the first is written in sections too."""
    lettered: dict[str, list[str]] = {}
    for parts_list in lists:
        for reference in parts_list.parts:
            if reference[-1].isalpha() and reference not in lettered.setdefault(reference[:-1], []):
                lettered[reference[:-1]].append(reference)
    return [_in_sections(parts_list, lettered) for parts_list in lists]


def _in_sections(parts_list: PartsList, lettered: Mapping[str, list[str]]) -> PartsList:
    parts: dict[str, ListedPart] = {}
    for reference, part in parts_list.parts.items():
        sections = lettered.get(reference, [])
        if not sections or any(section in parts_list.parts for section in sections):
            parts[reference] = part
        else:
            parts.update({one.reference: one for one in split_sections(part, sections) or [part]})
    return replace(parts_list, parts=parts)


def parts_of(reference: str, lists: Sequence[PartsList], changes_only: Collection[int]) -> list[ListedPart | None]:
    """The part in each list, None where it is absent; a list of changes repeats the one before it."""
    parts: list[ListedPart | None] = []
    for index, parts_list in enumerate(lists):
        part = parts_list.part(reference)
        if part is None and index in changes_only and parts and reference not in parts_list.omitted:
            part = parts[-1]
        parts.append(part)
    return parts


def states_of(aspect: str, parts: Sequence[ListedPart | None]) -> list[str | None]:
    """The state of each list: the first writing of each meaning, "absent", or None where the list is silent."""
    said = [ASPECTS[aspect](part) if part else None for part in parts]
    firsts: list[Said] = []
    states: list[str | None] = []
    for part, one in zip(parts, said, strict=True):
        if part is None:
            states.append(ABSENT)
            continue
        if one is None:
            states.append(None)
            continue
        same = next((first for first in firsts if _same(first.key, one.key)), None)
        if same is None:
            firsts.append(one)
        states.append((same or one).shown)
    return states


def _same(one: object, other: object) -> bool:
    """Equal keys; of two wordings, one that holds all words of the other says the same, only shorter."""
    if isinstance(one, Wording) and isinstance(other, Wording):
        return one.within(other) or other.within(one)
    return one == other
