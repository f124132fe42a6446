"""What each observation weighs, and which of them look altered or misread."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from setwright.identity.answer import Answer, ObservationAnswer
from setwright.identity.model import BenchSet, Family, Observation
from setwright.workbench.literature.citing import Cited
from setwright.workbench.sets.comparison import LIKELY
from setwright.workbench.site.words import KEEP, SURE_WORDS, odds_factor, percent, weight_in_words

FULL_BAR_DECIBANS = 20.0
"""A bar of evidence ends here: beyond it the words say "decisively"."""

WEIGHS_SOMETHING = 1.0
"""Decibans below which an observation says next to nothing."""

WORTH_SAYING = 0.05
"""Chances of alteration or misreading below this are not worth a line."""


@dataclass(frozen=True, slots=True)
class EvidenceRow:
    """One observation. `bar` is the filled part of its half of the scale, in per cent. source : None for none yet."""

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
    source: Cited | None = None


@dataclass(frozen=True, slots=True)
class Evidence:
    """All observations, the weightiest first.

    rows : those that weigh something or look altered or misread. light : the others.
    silent : what was looked at in vain.
    """

    rows: tuple[EvidenceRow, ...]
    light: tuple[EvidenceRow, ...]
    silent: tuple[str, ...]


def evidence_of(
    family: Family, bench_set: BenchSet, answer: Answer, cited: Mapping[str, Cited] | None = None
) -> Evidence:
    """The weight of every observation for the leading verdict. cited : what its sources stand for."""
    latest = bench_set.latest
    telling = [item for item in answer.observations if not _says_nothing(latest.get(item.feature))]
    cited = cited or {}
    rows = [_row(family, bench_set, item, cited) for item in sorted(telling, key=lambda item: -abs(item.decibans))]
    return Evidence(
        rows=tuple(row for row in rows if row.suspect or abs(row.decibans) >= WEIGHS_SOMETHING),
        light=tuple(row for row in rows if not row.suspect and abs(row.decibans) < WEIGHS_SOMETHING),
        silent=tuple(_silence(family, observation) for observation in latest.values() if _says_nothing(observation)),
    )


def _says_nothing(observation: Observation | None) -> bool:
    """Whether an observation is kept out of identity."""
    return observation is not None and (observation.cannot_tell or observation.serviced or observation.drift)


def _row(family: Family, bench_set: BenchSet, item: ObservationAnswer, cited: Mapping[str, Cited]) -> EvidenceRow:
    observation = bench_set.latest.get(item.feature)
    sure = "" if observation is None else SURE_WORDS.get(observation.sure, "")
    doubts = []
    if item.altered_probability >= WORTH_SAYING:
        doubts.append(f"altered{KEEP}{percent(item.altered_probability)}")
    if item.misread_probability >= WORTH_SAYING:
        doubts.append(f"misread{KEEP}{percent(item.misread_probability)}")
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
        source=None if observation is None else cited.get(observation.source),
    )


def _silence(family: Family, observation: Observation) -> str:
    label = family.feature(observation.feature).label
    if observation.cannot_tell:
        return f"{label} (cannot tell)"
    shown = observation.written or observation.state or ""
    if observation.serviced:
        return f"{label} ({shown}, looks serviced)"
    return f"{label} ({shown}, drifted from every listed value)"
