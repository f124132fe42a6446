"""Two or more parts lists side by side: which references differ, and what feature each difference could become.

One reference becomes at most one feature, because one part is one piece of evidence: a capacitor whose value and
voltage changed together was changed once, and is replaced as a whole.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from math import log

from setwright.files.part_kinds import PartKind
from setwright.files.part_lines import ListedPart
from setwright.files.partslists import PartsList
from setwright.files.suggest import squeezed
from setwright.identity.model import ABSENT
from setwright.notation import NotationError, format_modern, format_period, parse_part_value

DEFAULT_TOLERANCE = 0.2
_RATING_TOLERANCE = 0.05
"""Ratings are read off the part: 450 volts on a replacement must not pass for 400."""
_NARROWER = (0.1, 0.05, 0.02, 0.01)
_PRESENT = "present"
_NOT_UNDERSTOOD = "line"
_LITTLE_WORDS = frozenset(("a", "and", "the", "of", "for", "to", "in", "with", "on", "type"))
_FEW_REFERENCES = 0.6


@dataclass(frozen=True, slots=True)
class Proposal:
    """A feature that the lists propose.

    aspect : what of the part differs: value, tube, made, volts, watts, number, words.
    by_list : the state in each list, None where the list is silent about it.
    tolerance : relative, where it has to be narrower than the default. notes : what the reader should know.
    """

    reference: str
    aspect: str
    label: str
    kind: PartKind
    unit: str | None
    states: tuple[str, ...]
    by_list: tuple[str | None, ...]
    tolerance: float | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Difference:
    """One differing reference as a row of the table: what each list says, and what becomes of it."""

    reference: str
    shown: tuple[str, ...]
    outcome: str
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Comparison:
    """What the lists differ in.

    references : how many references the lists name together. same : how many are the same in all.
    notes : what else the reader should know, in whole sentences.
    """

    lists: tuple[PartsList, ...]
    changes_only: frozenset[int]
    proposals: tuple[Proposal, ...]
    differences: tuple[Difference, ...]
    references: int
    same: int
    notes: tuple[str, ...] = ()


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
    for text in (part.value_text, format_modern(value, unit)):
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
    return Said(_word_set(part.words), part.words) if part.words else None


def _word_set(text: str) -> frozenset[str]:
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


def compare_lists(lists: Sequence[PartsList], changes_only: Collection[int] = ()) -> Comparison:
    """Compare parts lists of successive printings, the earliest first.

    changes_only : indices of lists that name only what changed; a reference missing there is as in the list before.
    """
    references = list(dict.fromkeys(reference for parts_list in lists for reference in parts_list.parts))
    found = _Findings(lists, frozenset(changes_only))
    for reference in references:
        found.compare(reference)
    return Comparison(
        tuple(lists),
        frozenset(changes_only),
        tuple(found.proposals),
        tuple(found.differences),
        len(references),
        found.same,
        (*_few_references(lists, changes_only), *_renumbered(found.proposals, lists), *found.summary()),
    )


def parts_of(reference: str, lists: Sequence[PartsList], changes_only: Collection[int]) -> list[ListedPart | None]:
    """The part in each list, None where it is absent; a list of changes repeats the one before it."""
    parts: list[ListedPart | None] = []
    for index, parts_list in enumerate(lists):
        part = parts_list.part(reference)
        if part is None and index in changes_only and parts:
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
    if isinstance(one, frozenset) and isinstance(other, frozenset):
        return one <= other or other <= one
    return one == other


@dataclass
class _Findings:
    """Goes through the references and collects what differs."""

    lists: Sequence[PartsList]
    changes_only: frozenset[int]
    proposals: list[Proposal] = field(default_factory=list)
    differences: list[Difference] = field(default_factory=list)
    same: int = 0
    only: dict[str, list[str]] = field(default_factory=dict)

    def compare(self, reference: str) -> None:
        parts = parts_of(reference, self.lists, self.changes_only)
        present = [part for part in parts if part is not None]
        states = {aspect: states_of(aspect, parts) for aspect in ASPECTS}
        differing = [aspect for aspect in ASPECTS if len(set(states[aspect]) - {None, ABSENT}) > 1]
        may = [aspect for aspect in differing if _may_be_proposed(aspect, present[0].kind)]
        if not may and any(part.unread for part in present):
            self.only.setdefault(_NOT_UNDERSTOOD, []).append(reference)
            return
        if not may and None not in parts:
            self._not_proposed(reference, parts, states, differing)
            return
        aspect = max(may, key=lambda name: len(set(states[name]) - {None})) if may else _main_aspect(states)
        others = [name for name in differing if name != aspect]
        self._propose(reference, parts, aspect, states, others)

    def _not_proposed(
        self,
        reference: str,
        parts: Sequence[ListedPart | None],
        states: Mapping[str, list[str | None]],
        differing: list[str],
    ) -> None:
        tolerances = {part.value.tolerance for part in parts if part and part.value} - {None}
        reasons = [ASPECT_NAMES[aspect] for aspect in differing] + ["tolerance"] * (len(tolerances) > 1)
        if not reasons:
            self.same += 1
        for reason in reasons:
            self.only.setdefault(reason, []).append(reference)

    def _propose(
        self,
        reference: str,
        parts: Sequence[ListedPart | None],
        aspect: str,
        states: Mapping[str, list[str | None]],
        others: list[str],
    ) -> None:
        first = next(part for part in parts if part is not None and not part.unread)
        by_list = _plain_presence(aspect, states[aspect])
        values = _numbers(aspect, parts, by_list)
        unit = {"value": first.kind.unit, "volts": "V", "watts": "W"}.get(aspect)
        unit = unit if values is not None else None
        usual = _RATING_TOLERANCE if aspect in ("volts", "watts") else DEFAULT_TOLERANCE
        tolerance, note, possible = _tolerance(values or {}, usual)
        notes = [*([note] if note else []), *_also(others, states), *_check_words(aspect, by_list)]
        listed = tuple(dict.fromkeys(state for state in by_list if state is not None))
        if possible:
            label = _label(first, aspect, parts)
            self.proposals.append(
                Proposal(
                    reference, aspect, label, first.kind, unit, listed, tuple(by_list), tolerance, tuple(notes)
                )
            )
        outcome = f"feature {feature_id(reference)}" if possible else "nothing"
        shown = tuple(_shown(part) for part in parts)
        self.differences.append(Difference(reference, shown, outcome, tuple(notes)))

    def summary(self) -> list[str]:
        """A sentence for each kind of difference that no feature is made of."""
        return [
            f"Not compared, because a list's line about it was not understood: {', '.join(references)}."
            if reason == _NOT_UNDERSTOOD
            else f"Not proposed, because only the {reason} differs: {', '.join(references)}."
            for reason, references in self.only.items()
        ]


def feature_id(reference: str) -> str:
    """The id a proposed feature gets.

    >>> feature_id("C12")
    'c12'
    """
    return reference.lower()


def _may_be_proposed(aspect: str, kind: PartKind) -> bool:
    """Part numbers count where they are marked on the part; words where nothing else tells the part."""
    if aspect == "number":
        return kind.stamped_number
    if aspect == "words":
        return kind.unit is None and kind.name != "tube"
    return True


def _main_aspect(states: Mapping[str, list[str | None]]) -> str:
    """What tells a part that is there from none: its value or type where the lists give one."""
    for aspect in ("value", "tube"):
        if set(states[aspect]) - {None, ABSENT}:
            return aspect
    return "words"


def _plain_presence(aspect: str, states: list[str | None]) -> list[str | None]:
    """A part told by words alone is "present" or "absent"."""
    known = set(states) - {None, ABSENT}
    if aspect == "words" and len(known) <= 1:
        return [ABSENT if state == ABSENT else _PRESENT for state in states]
    return states


def _numbers(
    aspect: str, parts: Sequence[ListedPart | None], by_list: Sequence[str | None]
) -> dict[str, float] | None:
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


def _tolerance(values: Mapping[str, float], usual: float) -> tuple[float | None, str, bool]:
    """Tolerance to write, what to say about it, and whether the states can be told apart at all.

    usual : the tolerance wanted where the states are far enough apart; None is written for the format's own default.
    Two states must lie more than twice the tolerance apart: |ln(a/b)| > 2 ln(1 + tolerance).
    """
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


def _also(others: Iterable[str], states: Mapping[str, list[str | None]]) -> list[str]:
    """What else differs on the same part; wording counts for nothing there."""
    return [
        f"the {ASPECT_NAMES[aspect]} differs too: {' / '.join(state or 'not said' for state in states[aspect])}"
        for aspect in others
        if aspect not in ("words", "number")
    ]


def _check_words(aspect: str, by_list: Sequence[str | None]) -> list[str]:
    if aspect != "words" or set(by_list) <= {_PRESENT, ABSENT, None}:
        return []
    return ["the lists describe it in different words; check that the part itself differs"]


def _label(first: ListedPart, aspect: str, parts: Sequence[ListedPart | None]) -> str:
    words = next((part.words for part in parts if part and part.words), "")
    what = first.kind.name
    if aspect in ("volts", "watts", "number", "made"):
        what = f"{what}, {ASPECT_NAMES[aspect]}"
    if aspect == "words" and first.kind.name == "part":
        what = "part"
    if words and aspect != "words" and words.casefold() != first.made:
        return f"{first.reference} {what} ({words[:80]})" if first.kind.name not in words.casefold() else (
            f"{first.reference} {words[:80]}" + (f", {ASPECT_NAMES[aspect]}" if ", " in what else "")
        )
    return f"{first.reference} {what}"


def _shown(part: ListedPart | None) -> str:
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


def _few_references(lists: Sequence[PartsList], changes_only: Collection[int]) -> list[str]:
    most = max(len(parts_list.parts) for parts_list in lists)
    return [
        f'"{parts_list.label}" names {len(parts_list.parts)} references, another list {most}. If it lists only what '
        "changed, say so with --changes-only; otherwise everything it does not name counts as absent."
        for index, parts_list in enumerate(lists)
        if index not in changes_only and len(parts_list.parts) < _FEW_REFERENCES * most
    ]


def _renumbered(proposals: Sequence[Proposal], lists: Sequence[PartsList]) -> list[str]:
    """References that vanish while another with the same value and kind appears."""
    gone = [one for one in proposals if one.by_list[0] != ABSENT and one.by_list[-1] == ABSENT]
    come = [one for one in proposals if one.by_list[0] == ABSENT and one.by_list[-1] != ABSENT]
    notes = []
    for old in gone:
        before = lists[0].parts.get(old.reference)
        for new in come:
            after = lists[-1].parts.get(new.reference)
            if before and after and before.said[:4] == after.said[:4] and (before.value or before.tube):
                notes.append(
                    f"{old.reference} is gone where {new.reference} appears with the same value: if it was only given "
                    "a new reference, take both features out."
                )
    return notes
