"""What a family's survivors teach other families: how often parts of each permanence were altered."""

from __future__ import annotations

from setwright.identity.answer import RateEvidence
from setwright.identity.identify import MOST_WEIGHED, identify
from setwright.identity.model import BenchSet, Family, ImpossibleHistory, Survivors
from setwright.identity.progress import Progress

DRAWS = 400
"""Joint histories behind the evidence of a family nothing of which is on the bench: rates need fewer than a verdict."""


class NothingLearnt(Exception):
    """A family's survivors say nothing of the rates; its text is a sentence that says why."""


def rates_of(family: Family, survivors: Survivors, seed: int = 0, progress: Progress | None = None) -> RateEvidence:
    """What the survivors of one family say of the rates of alteration, for `identify`'s `other_families`.

    The same seed gives the same evidence. progress : see `identify`; an exception it raises ends the computation.

    Raises NothingLearnt where there are no survivors that could be looked into, more than 20,000 of them, or where
    the family's documents contradict each other.
    """
    if len(survivors) > MOST_WEIGHED:
        raise NothingLearnt(too_many(family.name, len(survivors)))
    if len(survivors) == 0:
        raise NothingLearnt(_nothing(family.name, "it has no survivors."))
    bench = BenchSet("rates", family.id)
    try:
        evidence = identify(family, bench, survivors, seed=seed, draws=DRAWS, progress=progress).rate_evidence
    except ImpossibleHistory as error:
        raise NothingLearnt(_nothing(family.name, str(error))) from error
    if evidence is None:
        raise NothingLearnt(_nothing(family.name, "none of its survivors fits a place of the run."))
    return evidence


def too_many(name: str, count: int) -> str:
    """The sentence that says why a register of more than 20,000 survivors teaches nothing. name : of the family."""
    return _nothing(name, f"it has {count:,} survivors, and condition is looked into for up to {MOST_WEIGHED:,}.")


def _nothing(name: str, reason: str) -> str:
    return f"{name} teaches nothing about rates of alteration: {reason}"
