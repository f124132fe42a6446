"""What each observation weighs, and which of them look altered or misread."""

from __future__ import annotations

from dataclasses import dataclass

from setwright.identity.answer import Answer, ObservationAnswer
from setwright.identity.model import BenchSet, Family
from setwright.workbench.sets.comparison import LIKELY
from setwright.workbench.site.words import SURE_WORDS, odds_factor, percent, weight_in_words

FULL_BAR_DECIBANS = 20.0
"""A bar of evidence ends here: beyond it the words say "decisively"."""

WORTH_SAYING = 0.05
"""Chances of alteration or misreading below this are not worth a line."""


@dataclass(frozen=True, slots=True)
class EvidenceRow:
    """One observation. `bar` is the filled part of its half of the scale, in per cent."""

    feature: str
    label: str
    seen: str
    decibans: float
    words: str
    odds: str
    bar: float
    against: bool
    doubts: tuple[str, ...]
    suspect: bool


@dataclass(frozen=True, slots=True)
class Evidence:
    """All observations, the weightiest first, and those that were looked at in vain."""

    rows: tuple[EvidenceRow, ...]
    silent: tuple[str, ...]


def evidence_of(family: Family, bench_set: BenchSet, answer: Answer) -> Evidence:
    """The weight of every observation for the leading verdict."""
    ordered = sorted(answer.observations, key=lambda item: -abs(item.decibans))
    rows = tuple(_row(family, bench_set, item) for item in ordered)
    weighed = {item.feature for item in answer.observations}
    silent = tuple(
        _silence(family, observation.feature, observation.cannot_tell, observation.serviced)
        for observation in bench_set.latest.values()
        if observation.feature not in weighed
    )
    return Evidence(rows=rows, silent=silent)


def _row(family: Family, bench_set: BenchSet, item: ObservationAnswer) -> EvidenceRow:
    observation = bench_set.latest.get(item.feature)
    sure = "" if observation is None else SURE_WORDS.get(observation.sure, "")
    doubts = []
    if item.altered_probability >= WORTH_SAYING:
        doubts.append(f"altered: {percent(item.altered_probability)}")
    if item.misread_probability >= WORTH_SAYING:
        doubts.append(f"misread: {percent(item.misread_probability)}")
    return EvidenceRow(
        feature=item.feature,
        label=family.feature(item.feature).label,
        seen=f"{item.state} ({sure})" if sure else item.state,
        decibans=item.decibans,
        words=weight_in_words(item.decibans),
        odds=odds_factor(item.decibans),
        bar=round(100 * min(abs(item.decibans) / FULL_BAR_DECIBANS, 1.0), 1),
        against=item.decibans < 0,
        doubts=tuple(doubts),
        suspect=item.altered_probability + item.misread_probability >= LIKELY,
    )


def _silence(family: Family, feature: str, cannot_tell: bool, serviced: bool) -> str:
    label = family.feature(feature).label
    if cannot_tell:
        return f"{label}: looked at, cannot tell"
    if serviced:
        return f"{label}: looks serviced"
    return f"{label}: measured, drifted from every listed value"
