"""One screen for each access: what is still to be seen there, the most telling first, and what was seen already."""

from __future__ import annotations

from dataclasses import dataclass

from setwright.identity.answer import Answer
from setwright.identity.cautions import cautions_for
from setwright.identity.look_sheet import LEAVE_ALONE, WORTH_A_BOX, is_open, opening_order
from setwright.identity.looks import opening_minutes
from setwright.identity.model import ACCESSES, BenchSet, Family, Feature
from setwright.workbench.sets.bench.words import feature_label, seen_words
from setwright.workbench.sets.looks import access_heading, bits_in_words
from setwright.workbench.site.words import minutes_in_words

AT_ONCE = 6
"""So many looks stand open on a screen; the others are folded away below them."""

OPENED = {
    "outside": "It is closed again",
    "back off": "The back is off",
    "chassis out": "The chassis is out",
    "underside": "The underside is in reach",
    "powered": "It is open and switched on",
    "lead lifted": "A lead is lifted",
}
"""How far a set is open, as one says it at the bench."""


@dataclass(frozen=True, slots=True)
class Look:
    """One feature to be seen. unit : of a numeric one, in which its states are examples of what one may write."""

    feature: str
    label: str
    states: tuple[str, ...]
    unit: str | None
    worth: str


@dataclass(frozen=True, slots=True)
class SeenRow:
    """One feature that was seen. number : of its observation in the set's file, from 0."""

    feature: str
    label: str
    words: str
    note: str
    number: int


@dataclass(frozen=True, slots=True)
class Level:
    """One access, as the way to its screen says it. left : looks that are still to be made there."""

    access: str
    slug: str
    label: str
    left: int
    open_now: bool
    current: bool


@dataclass(frozen=True, slots=True)
class Screen:
    """What is to be done at one access. opening : how long it takes to open the set so far; "" where it is."""

    access: str
    slug: str
    heading: str
    open_now: bool
    opening: str
    opened: str
    cautions: tuple[str, ...]
    looks: tuple[Look, ...]
    more: tuple[Look, ...]
    seen: tuple[SeenRow, ...]
    levels: tuple[Level, ...]

    @property
    def invitation(self) -> str:
        """How the screen asks for its looks."""
        number = len(self.looks)
        if number == 1:
            return "Now this one"
        return f"Now these {NUMBERS[number - 1]}"


NUMBERS = ("one", "two", "three", "four", "five", "six")


def slug_of(access: str) -> str:
    """The access as it stands in an address: "back-off"."""
    return access.replace(" ", "-")


def access_of(slug: str) -> str | None:
    """The access of an address; None where there is none such, or no look is ever asked for there."""
    return next((access for access in ACCESSES if slug_of(access) == slug and access != LEAVE_ALONE), None)


def first_access(family: Family, bench_set: BenchSet, answer: Answer) -> str:
    """Where to begin: at what is open now and still tells something, else where opening is worth most for its time."""
    order = [access for access in opening_order(bench_set.open_to) if access != LEAVE_ALONE]
    worth = {look.feature: look.bits for look in answer.next}
    unseen = {access: _unseen(family, bench_set, access) for access in order}
    for access in order:
        if is_open(access, bench_set.open_to) and any(worth.get(f.id, 0.0) >= WORTH_A_BOX for f in unseen[access]):
            return access
    batches = [batch for batch in answer.batches if batch.access != LEAVE_ALONE]
    if batches:
        return max(batches, key=lambda batch: batch.bits_per_minute).access
    return next((access for access in order if unseen[access]), order[0])


def screen_of(family: Family, bench_set: BenchSet, answer: Answer, access: str, again: str | None = None) -> Screen:
    """The screen of one access. Nothing on it says what is expected to be seen: that would lead the eye.

    again : a feature that is asked although it was seen.
    """
    proposed = {feature for batch in answer.batches for feature in batch.features}
    worth = {look.feature: look.bits for look in answer.next}
    asked = sorted(
        _unseen(family, bench_set, access, again),
        key=lambda f: (f.id != again, f.id not in proposed, -worth.get(f.id, 0.0)),
    )
    looks = tuple(_look(feature, worth.get(feature.id)) for feature in asked)
    minutes = opening_minutes(access, bench_set.open_to, family.access_minutes)
    open_now = is_open(access, bench_set.open_to)
    return Screen(
        access=access,
        slug=slug_of(access),
        heading=OPENED[access] if open_now and access != "outside" else access_heading(access),
        open_now=open_now,
        opening="" if open_now or minutes < 0.5 else minutes_in_words(minutes),
        opened=OPENED[access],
        cautions=cautions_for(access, family.kind),
        looks=looks[:AT_ONCE],
        more=looks[AT_ONCE:],
        seen=_seen(family, bench_set, access),
        levels=_levels(family, bench_set, access),
    )


def _unseen(family: Family, bench_set: BenchSet, access: str, again: str | None = None) -> list[Feature]:
    """Features of this access that were not looked at, of the set's line where that is known."""
    latest, line = bench_set.latest, bench_set.line
    here = [f for f in family.features if f.access == access]
    return [f for f in here if f.id == again or (f.id not in latest and (line is None or f.in_line(line)))]


def _look(feature: Feature, bits: float | None) -> Look:
    """bits : None where the answer does not say what the look is worth."""
    worth = "" if bits is None else bits_in_words(bits)
    return Look(feature.id, feature_label(feature), feature.all_states, feature.unit, worth)


def _seen(family: Family, bench_set: BenchSet, access: str) -> tuple[SeenRow, ...]:
    last = {observation.feature: number for number, observation in enumerate(bench_set.observations)}
    rows = []
    for name, observation in bench_set.latest.items():
        feature = family.feature(name)
        if feature.access == access:
            words = seen_words(observation)
            rows.append(SeenRow(name, feature_label(feature), words, observation.note, last[name]))
    return tuple(rows)


def _levels(family: Family, bench_set: BenchSet, current: str) -> tuple[Level, ...]:
    """The accesses at which the family has features, in the order in which a set is opened."""
    used = {feature.access for feature in family.features} | {current}
    return tuple(
        Level(
            access=access,
            slug=slug_of(access),
            label=access[0].upper() + access[1:],
            left=len(_unseen(family, bench_set, access)),
            open_now=is_open(access, bench_set.open_to),
            current=access == current,
        )
        for access in ACCESSES
        if access in used and access != LEAVE_ALONE
    )
