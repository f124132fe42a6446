"""Productions with everything that makes registers untidy, and how well the answers about sets of them hold.

Survivors are altered as wholes, 15 of 40 have lost their serial, old stock of 5 % of the run mixes states around every
cut-in, half of the blocks are made at one stroke, a cabinet or a tuner in twenty sets came from another, and of two
features that no document mentions one changes and the other is mixed throughout. `calibration` has the simpler case.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

import calibration
import numpy as np
from calibration import NOT_SEEN_SHARE, SURVIVORS, Outcome, for_each, outcome_of

from setwright.identity import Answer, Family, identify
from setwright.identity.model import Feature
from setwright.identity.simulate import (
    DrawnSets,
    Production,
    bench_set_of,
    draw_production,
    draw_sets,
    survivors_of,
    true_entry,
)

OVERLAP = 1_000
"""Serials around each cut-in, of 20,000: 5 % of the run."""

WITHOUT_SERIAL = 15 / SURVIVORS
MARRIED = 0.05
CABINET, TUNER = 8, 6
"""How many of the features with changes belong to the cabinet and to the tuner; the others are the chassis's."""

CHANGED, ALTERNATING = "maker-of-coil", "maker-of-lamp"
"""The two features without documents."""


def family() -> Family:
    """The calibration family with groups and old stock, and two features that no document mentions."""
    plain = calibration.family()
    groups = ("cabinet",) * CABINET + ("tuner",) * TUNER + ("chassis",) * (len(plain.features) - CABINET - TUNER)
    features = [
        replace(feature, group=group, overlap=OVERLAP if feature.role == "change" else 0)
        for feature, group in zip(plain.features, groups, strict=True)
    ]
    features += [Feature(f, f, ("one", "other"), permanence="riveted") for f in (CHANGED, ALTERNATING)]
    return replace(plain, features=tuple(features))


@dataclass(frozen=True, slots=True)
class Untidy:
    """How many sets are held out of each production.

    sets : as they come, one in twenty married. married : more of them, all married, which only the figures about
    marriages use, because as they come there are too few. with_serial : their serials are known. draws : histories
    asked for; fewer than usual, for the sake of time, which makes answers rougher but not less honest.
    """

    sets: int = 5
    married: int = 1
    with_serial: bool = True
    draws: int | None = 1_000


@dataclass(frozen=True, slots=True)
class UntidyOutcome:
    """What the answers about one production's sets said, and what was so.

    held : the sets as they come, as in the simpler calibration.
    elsewhere : (all sets, groups) probability of each group being from elsewhere; came : whether it is.
    apart : (all sets,) the halves of a married set are of different versions. as_they_come : how many sets are.
    changes : (sets,) probability that the changing feature changes. covered : (sets,) its cut-in lies in its range;
        nan where the answer has none, for want of probability, or has the states in the wrong order.
    mixed : (sets,) probability that the alternating feature is mixed. mistaken : (sets,) it is listed as a change.
    effective : (sets,) share of the draws that count.
    """

    held: Outcome
    elsewhere: np.ndarray
    came: np.ndarray
    apart: np.ndarray
    as_they_come: int
    changes: np.ndarray
    covered: np.ndarray
    mixed: np.ndarray
    mistaken: np.ndarray
    effective: np.ndarray


def run_production(plan: Untidy, seed: int) -> UntidyOutcome:
    """Draw one production, its survivors and the held-out sets; ask about each of these."""
    rng = np.random.default_rng([1949, seed])
    production = draw_production(family(), rng, free={CHANGED: "changes", ALTERNATING: "mixed"})
    known = draw_sets(production, SURVIVORS, rng, not_seen=NOT_SEEN_SHARE, married=MARRIED)
    survivors = survivors_of(known, rng, lost=WITHOUT_SERIAL)
    held_out = draw_sets(production, plan.sets, rng, not_seen=NOT_SEEN_SHARE, married=MARRIED)
    more = draw_sets(production, plan.married, rng, not_seen=NOT_SEEN_SHARE, married=1.0)
    answers, others = (
        [
            identify(
                production.family,
                bench_set_of(sets, row, with_serial=plan.with_serial),
                survivors,
                seed=seed,
                draws=plan.draws,
            )
            for row in range(len(sets))
        ]
        for sets in (held_out, more)
    )
    groups = [_groups(sets, of) for sets, of in ((held_out, answers), (more, others))]
    elsewhere, came, apart = (np.concatenate(part) for part in zip(*groups, strict=True))
    changes, covered = _changed(production, answers)
    mixed, mistaken = _alternating(answers)
    return UntidyOutcome(
        held=outcome_of(held_out, answers),
        elsewhere=elsewhere,
        came=came,
        apart=apart,
        as_they_come=plan.sets,
        changes=changes,
        covered=covered,
        mixed=mixed,
        mistaken=mistaken,
        effective=np.array([_effective(answer) for answer in answers]),
    )


def run(plan: Untidy, productions: range, workers: int = 1) -> list[UntidyOutcome]:
    """`run_production` for every number, in order."""
    return for_each(partial(run_production, plan), productions, workers)


def _groups(sets: DrawnSets, answers: Sequence[Answer]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    names = sets.marriages.groups
    elsewhere = [[{g.group: g.elsewhere_probability for g in a.groups}[name] for name in names] for a in answers]
    came = np.stack([sets.marriages.from_elsewhere(name) for name in names], axis=1)
    places = zip(sets.position, sets.marriages.position, strict=True)
    apart = [len({true_entry(sets.production, "main", int(place)) for place in pair}) == 2 for pair in places]
    return np.array(elsewhere).reshape(len(answers), len(names)), came, np.array(apart, dtype=bool)


def _changed(production: Production, answers: Sequence[Answer]) -> tuple[np.ndarray, np.ndarray]:
    free = production.free["main", CHANGED]
    covered = []
    for answer in answers:
        listed = [c for c in answer.changes if c.feature == CHANGED and (c.from_state, c.to_state) == free.order]
        inside = [float(c.cut_in.low <= free.cut_ins[0] <= c.cut_in.high) for c in listed]
        covered.append(inside[0] if inside else np.nan)
    return _probability(answers, CHANGED, "changes"), np.array(covered)


def _alternating(answers: Sequence[Answer]) -> tuple[np.ndarray, np.ndarray]:
    mistaken = [any(c.feature == ALTERNATING for c in answer.changes) for answer in answers]
    return _probability(answers, ALTERNATING, "mixed"), np.array(mistaken)


def _probability(answers: Sequence[Answer], feature: str, kind: str) -> np.ndarray:
    """(answers,) probability that the feature ran through production in this way."""
    found = [next(free for free in answer.free if free.feature == feature) for answer in answers]
    return np.array([sum(p.probability for p in free.patterns if p.kind == kind) for free in found])


def _effective(answer: Answer) -> float:
    method = answer.method
    assert method.draws is not None
    assert method.effective_draws is not None
    return method.effective_draws / method.draws


@dataclass(frozen=True, slots=True)
class Marriages:
    """How well marriages are found: areas under the ROC curve, over groups, of marriages of different versions and
    of all; how many those are; the share of sets of one piece in which a group is called from elsewhere."""

    area: float
    apart: int
    area_of_all: float
    all: int
    false: float
    whole: int


def marriages(outcomes: Sequence[UntidyOutcome]) -> Marriages:
    """The figures about groups from elsewhere."""
    stated = np.concatenate([o.elsewhere.ravel() for o in outcomes])
    came = np.concatenate([o.came.ravel() for o in outcomes])
    apart = np.concatenate([(o.came & o.apart[:, None]).ravel() for o in outcomes])
    # Sets that were drawn married have groups that stayed; only sets as they come say how often those are wronged.
    calm = np.concatenate(
        [(o.elsewhere > 0.5).any(axis=1)[: o.as_they_come][~o.came.any(axis=1)[: o.as_they_come]] for o in outcomes]
    )
    return Marriages(
        area_under_roc(stated[apart], stated[~came]), int(apart.sum()),
        area_under_roc(stated[came], stated[~came]), int(came.sum()),
        float(calm.mean()), len(calm),
    )  # fmt: skip


def area_under_roc(positive: np.ndarray, negative: np.ndarray) -> float:
    """Probability that a positive is stated higher than a negative, ties counting half."""
    order = np.sort(negative)
    below = np.searchsorted(order, positive, side="left") + np.searchsorted(order, positive, side="right")
    return float(below.mean() / (2 * len(negative)))


def held(outcomes: Sequence[UntidyOutcome]) -> list[Outcome]:
    """The sets as they come, for the figures of the simpler calibration."""
    return [outcome.held for outcome in outcomes]


def free_coverage(outcomes: Sequence[UntidyOutcome]) -> tuple[float, float, float]:
    """Share of ranges of the free change that hold its cut-in, its standard error with productions as clusters, and
    the share of answers that list the change at all."""
    listed = [outcome.covered[~np.isnan(outcome.covered)] for outcome in outcomes]
    count = sum(len(one) for one in listed)
    share = sum(float(one.sum()) for one in listed) / count
    error = float(np.sqrt(sum(float((one - share).sum()) ** 2 for one in listed))) / count
    return share, error, count / sum(len(outcome.covered) for outcome in outcomes)


def report(outcomes: Sequence[UntidyOutcome]) -> str:
    """Every figure in words."""
    share, error, listed = free_coverage(outcomes)
    found = marriages(outcomes)
    changes, mixed, mistaken, effective = (
        np.concatenate([getattr(outcome, name) for outcome in outcomes])
        for name in ("changes", "mixed", "mistaken", "effective")
    )
    return "\n".join(
        [
            calibration.report(held(outcomes)),
            f"free change: listed in {listed:.3f} of the answers, its range covers {share:.4f} "
            f"(standard error {error:.4f})",
            f"  probability that it changes, mean {changes.mean():.3f}; that the alternating one is mixed, mean "
            f"{mixed.mean():.3f}; alternating one listed as a change {mistaken.mean():.4f}",
            f"marriages: area under the ROC curve {found.area:.4f} ({found.apart} of different versions), "
            f"{found.area_of_all:.4f} ({found.all} in all)",
            f"  false ones {found.false:.4f} of {found.whole} sets of one piece",
            f"effective share of the draws: median {np.median(effective):.3f}, least {effective.min():.3f}, "
            f"under a tenth {np.mean(effective < 0.1):.3f}",
        ]
    )
