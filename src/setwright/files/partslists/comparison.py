"""Two or more parts lists side by side: which references differ, and what feature each difference could become.

One reference becomes at most one feature, because one part is one piece of evidence: a capacitor whose value and
voltage changed together was changed once, and is replaced as a whole.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from setwright.files.partslists.aspects import ASPECT_NAMES, ASPECTS, parts_of, same_sections, states_of
from setwright.files.partslists.kinds import PartKind
from setwright.files.partslists.lines import ListedPart
from setwright.files.partslists.reading import PartsList
from setwright.files.partslists.states import also, check_words, label_of, numbers, plain_words, shown, tolerance_for
from setwright.files.suggest import squeezed
from setwright.identity.model import ABSENT

_NOT_UNDERSTOOD = "line"
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


def compare_lists(lists: Sequence[PartsList], changes_only: Collection[int] = ()) -> Comparison:
    """Compare parts lists of successive printings, the earliest first.

    changes_only : indices of lists that name only what changed; a reference missing there is as in the list before.
    """
    lists = same_sections(lists)
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


@dataclass
class _Findings:
    """Goes through the references and collects what differs."""

    lists: Sequence[PartsList]
    changes_only: frozenset[int]
    proposals: list[Proposal] = field(default_factory=list)
    differences: list[Difference] = field(default_factory=list)
    same: int = 0
    only: dict[str, list[str]] = field(default_factory=dict)
    cans: dict[tuple[str, tuple[int, ...]], str] = field(default_factory=dict)

    def compare(self, reference: str) -> None:
        """Compare one reference in all lists, and put it where it belongs."""
        parts = parts_of(reference, self.lists, self.changes_only)
        present = [part for part in parts if part is not None]
        states = {aspect: states_of(aspect, parts) for aspect in ASPECTS}
        differing = [aspect for aspect in ASPECTS if len(set(states[aspect]) - {None, ABSENT}) > 1]
        may = [aspect for aspect in differing if _may_be_proposed(aspect, present)]
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
        by_list = plain_words(aspect, states[aspect])
        values = numbers(aspect, parts, by_list)
        unit = {"value": first.kind.unit, "volts": "V", "watts": "W"}.get(aspect)
        unit = unit if values is not None else None
        tolerance, note, possible = tolerance_for(values or {}, aspect)
        notes = [*([note] if note else []), *also(others, states), *check_words(aspect, by_list)]
        listed = tuple(dict.fromkeys(state for state in by_list if state is not None))
        can = self._same_can(reference, by_list) if possible else None
        notes += [f"a section of the same part as {can}, which is one piece of evidence"] if can else []
        proposed = possible and not can
        if proposed:
            label = label_of(first, aspect, parts)
            self.proposals.append(
                Proposal(reference, aspect, label, first.kind, unit, listed, tuple(by_list), tolerance, tuple(notes))
            )
        outcome = f"feature {feature_id(reference)}" if proposed else "nothing"
        cells = tuple(shown(part) for part in parts)
        self.differences.append(Difference(reference, cells, outcome, tuple(notes)))

    def _same_can(self, reference: str, by_list: Sequence[str | None]) -> str | None:
        """The section already proposed of the same can, where both change together."""
        if not reference[-1].isalpha():
            return None
        known = self.cans.setdefault((reference[:-1], _pattern(by_list)), reference)
        return known if known != reference else None

    def summary(self) -> list[str]:
        """A sentence for each kind of difference that no feature is made of."""
        return [
            f"Not compared, because a list's line about it was not understood: {', '.join(references)}."
            if reason == _NOT_UNDERSTOOD
            else f"Not proposed, because only the {reason} differs: {', '.join(references)}."
            for reason, references in self.only.items()
        ]


def _pattern(states: Sequence[str | None]) -> tuple[int, ...]:
    """Which lists agree: the number of each state in the order of first sight."""
    seen = list(dict.fromkeys(states))
    return tuple(seen.index(state) for state in states)


def feature_id(reference: str) -> str:
    """The id a proposed feature gets.

    >>> feature_id("C12")
    'c12'
    """
    return reference.lower()


def _may_be_proposed(aspect: str, present: Sequence[ListedPart]) -> bool:
    """Part numbers count where they are marked on the part; words where nothing else tells it, its number included."""
    kind = present[0].kind
    if aspect == "number":
        return kind.stamped_number
    if aspect == "words":
        numbers = {squeezed(part.number) if part.number else None for part in present}
        same_number = len(numbers) == 1 and None not in numbers
        return kind.unit is None and kind.name != "tube" and not same_number
    return True


def _main_aspect(states: Mapping[str, list[str | None]]) -> str:
    """What tells a part that is there from none: its value or type where the lists give one."""
    for aspect in ("value", "tube"):
        if set(states[aspect]) - {None, ABSENT}:
            return aspect
    return "words"


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
    gone = {one.reference: lists[0].parts.get(one.reference) for one in proposals if one.by_list[-1] == ABSENT}
    come = {one.reference: lists[-1].parts.get(one.reference) for one in proposals if one.by_list[0] == ABSENT}
    by_content = {part.said[:4]: reference for reference, part in come.items() if part}
    return [
        f"{old} is gone where {new} appears with the same value: if it was only given a new reference, "
        "take both features out."
        for old, part in gone.items()
        if part and (part.value or part.tube) and (new := by_content.get(part.said[:4]))
    ]
