"""The look sheet: every look that is left, in the order in which the set is opened, to print and take along."""

from __future__ import annotations

from dataclasses import dataclass

from setwright.identity.answer import Answer
from setwright.identity.cautions import DEFER, cautions_for
from setwright.identity.looks import OPENING_MINUTES, opening_minutes
from setwright.identity.model import ACCESSES, BenchSet, Family, Feature

ALWAYS_BOXES = ("something else", "cannot tell", "looks serviced")
"""Boxes beside those of a feature's own states: what is not listed, not decidable, or plainly not as built."""

WORTH_A_BOX = 0.005
"""Bits below which a look tells next to nothing: named on the sheet, without boxes of its own."""

WORTH_OPENING = 0.05
"""Bits below which nobody should open a set further: its looks together are then only named too."""

LEAVE_ALONE = "lead lifted"


@dataclass(frozen=True, slots=True)
class SheetLook:
    """One feature to look at.

    states : one box each. unit : of a numeric feature, so that a value not listed can be written down.
    bits : what the look is expected to tell by itself. proposed : whether it belongs to the best batch of its access.
    """

    feature: str
    label: str
    states: tuple[str, ...]
    unit: str | None
    bits: float
    minutes: float
    proposed: bool


@dataclass(frozen=True, slots=True)
class SheetStep:
    """The looks of one access, those that tell most first.

    open_now : the set is open so far already. opening : minutes to get here from the step before it on the sheet.
    slight : looks that would tell next to nothing.
    """

    access: str
    open_now: bool
    opening: float
    looks: tuple[SheetLook, ...]
    slight: tuple[SheetLook, ...]
    cautions: tuple[str, ...]

    @property
    def minutes(self) -> float:
        """Opening and all looks that have boxes."""
        return self.opening + sum(look.minutes for look in self.looks)


@dataclass(frozen=True, slots=True)
class LookSheet:
    """The whole sheet. `left_alone` names features that only a lifted lead would show: that destroys evidence."""

    steps: tuple[SheetStep, ...]
    left_alone: tuple[str, ...]
    closing: str

    @property
    def count(self) -> int:
        """How many features have boxes."""
        return sum(len(step.looks) for step in self.steps)


def is_open(access: str, open_to: str) -> bool:
    """Whether a set that is open to `open_to` can be seen from `access` without opening or switching on anything.

    >>> is_open("outside", "back off"), is_open("underside", "back off"), is_open("powered", "underside")
    (True, False, False)
    """
    if access == LEAVE_ALONE:
        return open_to == LEAVE_ALONE
    return opening_minutes(access, open_to, dict.fromkeys(OPENING_MINUTES, 1.0)) == 0.0


def opening_order(open_to: str) -> tuple[str, ...]:
    """All accesses: first what is open now, then the rest in the order in which a set is opened.

    >>> opening_order("powered")[:4]
    ('outside', 'back off', 'powered', 'chassis out')
    """
    return tuple(sorted(ACCESSES, key=lambda access: (not is_open(access, open_to), ACCESSES.index(access))))


def look_sheet(family: Family, bench_set: BenchSet, answer: Answer) -> LookSheet:
    """The sheet for this set: features that were not decided yet, by access, most bits first within each."""
    worth = {look.feature: look.bits for look in answer.next}
    proposed = {feature for batch in answer.batches for feature in batch.features}
    steps: list[SheetStep] = []
    open_to = bench_set.open_to
    for access in opening_order(bench_set.open_to):
        looks = sorted(
            (_look(family.feature(name), bits, name in proposed) for name, bits in worth.items()),
            key=lambda look: -look.bits,
        )
        here = [look for look in looks if family.feature(look.feature).access == access]
        if not here or access == LEAVE_ALONE:
            continue
        worth_it = is_open(access, bench_set.open_to) or sum(look.bits for look in here) >= WORTH_OPENING
        boxed = [look for look in here if worth_it and look.bits >= WORTH_A_BOX]
        steps.append(
            SheetStep(
                access=access,
                open_now=is_open(access, bench_set.open_to),
                opening=opening_minutes(access, open_to, family.access_minutes),
                looks=tuple(boxed),
                slight=tuple(look for look in here if look not in boxed),
                cautions=cautions_for(access, family.kind),
            )
        )
        if boxed and not is_open(access, open_to):
            open_to = access
    latest = bench_set.latest
    left = (f.label for f in family.features if f.access == LEAVE_ALONE and f.id not in latest)
    return LookSheet(steps=tuple(steps), left_alone=tuple(left), closing=DEFER)


def _look(feature: Feature, bits: float, proposed: bool) -> SheetLook:
    return SheetLook(
        feature=feature.id,
        label=f"{feature.label} ({feature.part})" if feature.part else feature.label,
        states=feature.all_states,
        unit=feature.unit,
        bits=bits,
        minutes=feature.minutes,
        proposed=proposed,
    )
