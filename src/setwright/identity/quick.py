"""The quick answer: what can be summed exactly in a moment, for the time until the full answer is there.

The family is taken as a plain one: no old stock, no cut-ins shared between lines, no group that may have come from
another set, no feature that no document mentions. Survivors count item by item. So nothing has to be drawn, and two
quick answers differ by the evidence alone. Only a version that is silent on a change leaves something to be drawn.
"""

from __future__ import annotations

from dataclasses import replace

from setwright.identity.answer import Answer
from setwright.identity.groundwork import Groundwork, groundwork_of
from setwright.identity.identify import identify_flat
from setwright.identity.model import MAIN_GROUP, BenchSet, Family, Survivors, no_survivors

CELLS = 64
DRAWS = 200
"""Cells of an axis, and joint histories where some have to be drawn all the same."""

WARNING = (
    "This is the quick answer: survivors count item by item, and old stock, cut-ins shared between lines, groups from "
    "other sets and features that no document mentions are not looked into."
)


def quick_identify(family: Family, bench_set: BenchSet, survivors: Survivors | None = None, *, seed: int = 0) -> Answer:
    """Which version the set is, what was altered, what to look at next: roughly, and soon.

    Features that no document mentions are left out of it; a set with a group from another set is told too low a
    probability; what would explain a misfit is not looked for. Raises what `identify` raises. A warning says that it
    is the quick answer.
    """
    return quick_answer(quick_groundwork(family, survivors, bench_set.serial, bench_set.line), bench_set, seed=seed)


def quick_groundwork(
    family: Family, survivors: Survivors | None = None, serial: str | None = None, line: str | None = None
) -> Groundwork:
    """What all quick answers to sets of this serial and line rest on, however much is seen of them meanwhile.

    Raises what `identify` raises.
    """
    plain = plain_family(family)
    known = {feature.id for feature in plain.features}
    others = survivors or no_survivors()
    others = replace(others, seen={name: codes for name, codes in others.seen.items() if name in known})
    return groundwork_of(plain, others, serial, line).with_sums(CELLS)


def quick_answer(groundwork: Groundwork, bench_set: BenchSet, *, seed: int = 0) -> Answer:
    """The quick answer on groundwork made before, which has to be that of the set's serial and line."""
    known = {feature.id for feature in groundwork.family.features}
    seen = tuple(observation for observation in bench_set.observations if observation.feature in known)
    answer = identify_flat(groundwork, replace(bench_set, observations=seen), seed=seed, cells=CELLS, draws=DRAWS)
    return replace(answer, warnings=(WARNING, *answer.warnings))


def plain_family(family: Family) -> Family:
    """The family without what asks for drawing: its documented features, all of one group, none with old stock."""
    documented = {feature for version in family.versions for feature in version.states}
    kept = (f for f in family.features if f.role == "variant" or f.id in documented)
    return replace(
        family,
        features=tuple(replace(feature, overlap=0, group=MAIN_GROUP) for feature in kept),
        lines=tuple(replace(line, shares_cutins_with=None) for line in family.lines),
    )
