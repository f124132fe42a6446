"""Where to look next: batches by access, each with what opening costs and the cautions of that step."""

from __future__ import annotations

from dataclasses import dataclass

from setwright.identity.answer import Answer, Batch, Look
from setwright.identity.cautions import cautions_for
from setwright.identity.look_sheet import WORTH_OPENING, is_open, opening_order
from setwright.identity.model import ACCESSES, Family
from setwright.workbench.site.words import ACCESS_WORDS, minutes_in_words


@dataclass(frozen=True, slots=True)
class LookRow:
    """One feature to look at."""

    label: str
    states: str
    bits: str


@dataclass(frozen=True, slots=True)
class BatchSection:
    """What is looked at together once the set is open so far. A single look repeats no figure of the batch."""

    access: str
    open_now: bool
    heading: str
    time: str
    worth: str
    looks: tuple[LookRow, ...]
    cautions: tuple[str, ...]
    bits_per_minute: float


@dataclass(frozen=True, slots=True)
class OtherLooks:
    """Single looks of one access that no batch proposes."""

    heading: str
    looks: tuple[LookRow, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NextLooks:
    """The batches, what is open now first, then in the order of opening.

    idle : batches that would tell next to nothing. others : single looks.
    """

    batches: tuple[BatchSection, ...]
    idle: tuple[BatchSection, ...]
    others: tuple[OtherLooks, ...]


def next_looks(family: Family, answer: Answer, open_to: str) -> NextLooks:
    """What to look at next. open_to : how far the set is open now."""
    by_feature = {look.feature: look for look in answer.next}
    batches = sorted(answer.batches, key=lambda batch: opening_order(open_to).index(batch.access))
    sections = [(_section(family, batch, by_feature, open_to), batch.bits) for batch in batches]
    worth = tuple(section for section, bits in sections if bits >= WORTH_OPENING)
    idle = tuple(section for section, bits in sections if bits < WORTH_OPENING)
    proposed = {feature for batch in answer.batches for feature in batch.features}
    others = [look for look in answer.next if look.feature not in proposed and look.bits > 0]
    return NextLooks(batches=worth, idle=idle, others=_others(family, others, by_feature))


def _others(family: Family, looks: list[Look], by_feature: dict[str, Look]) -> tuple[OtherLooks, ...]:
    """Single looks by access, the easiest access first, each with the cautions of its step."""
    return tuple(
        OtherLooks(
            heading=access_heading(access),
            looks=tuple(_row(family, look.feature, by_feature) for look in looks if look.access == access),
            cautions=cautions_for(access, family.kind),
        )
        for access in ACCESSES
        if any(look.access == access for look in looks)
    )


def access_heading(access: str) -> str:
    """The access as a heading: "With the back off"."""
    words = ACCESS_WORDS[access]
    return words[0].upper() + words[1:]


def _section(family: Family, batch: Batch, by_feature: dict[str, Look], open_to: str) -> BatchSection:
    return BatchSection(
        access=batch.access,
        open_now=is_open(batch.access, open_to),
        heading=access_heading(batch.access),
        time=_time(batch.minutes, sum(family.feature(feature).minutes for feature in batch.features)),
        worth=bits_in_words(batch.bits),
        looks=tuple(_row(family, feature, by_feature if len(batch.features) > 1 else {}) for feature in batch.features),
        cautions=batch.cautions,
        bits_per_minute=batch.bits_per_minute,
    )


def _time(minutes: float, looking: float) -> str:
    """How long a batch takes, and how much of that goes into opening the set so far."""
    opening = minutes - looking
    if opening < 0.5:
        return minutes_in_words(minutes)
    return f"{minutes_in_words(minutes)}, {minutes_in_words(opening)} of it for opening"


def _row(family: Family, feature: str, by_feature: dict[str, Look]) -> LookRow:
    found = family.feature(feature)
    look = by_feature.get(feature)
    return LookRow(
        label=found.label,
        states=" or ".join(found.all_states),
        bits="" if look is None else bits_in_words(look.bits),
    )


MUCH_BITS, SOME_BITS = 0.5, 0.15
"""From so many bits on a look tells much, or something (common practice, no source)."""


def worth_in_words(bits: float) -> str:
    """Expected information in plain words, for paper.

    >>> worth_in_words(0.8), worth_in_words(0.2), worth_in_words(0.04)
    ('tells much', 'tells something', 'tells little')
    """
    return "tells much" if bits >= MUCH_BITS else "tells something" if bits >= SOME_BITS else "tells little"


def bits_in_words(bits: float) -> str:
    """Expected information as one says it.

    >>> bits_in_words(1.0), bits_in_words(0.04), bits_in_words(2.5)
    ('1.0 bit', 'under 0.1 bit', '2.5 bits')
    """
    if bits < 0.05:
        return "under 0.1 bit"
    return f"{bits:.1f} {'bit' if bits <= 1.04 else 'bits'}"
