"""Productions drawn at random, sets held out of them, and how well the answers about those sets hold.

Everything is kept production by production, because the sets of one production share its cut-ins and its survivors:
their errors are not independent, and every standard error here counts productions, not sets.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from multiprocessing import get_context
from typing import TypeVar

import numpy as np

from setwright.identity import Answer, Assumptions, Family, identify
from setwright.identity.model import Feature, Version
from setwright.identity.simulate import (
    DrawnSets,
    bench_set_of,
    draw_production,
    draw_sets,
    survivors_of,
    true_entry,
)

SURVIVORS = 40
NOT_SEEN_SHARE = 0.3

PERMANENCES = {"stamped": 8, "riveted": 4, "soldered": 8, "plugged": 7, "consumable": 3}
"""How many of the 30 features are of each: with the usual rates a mean alteration of 9 %."""

BLOCKS = (9, 6, 8, 6)
"""Changes between each two of the five versions: 29 changes of 28 features, one of which changes twice."""

SAME_RATES = Assumptions(condition_odds=(1.0, 1.0, 1.0))
"""Sets whose items are altered independently, each at its marginal rate, whatever the set's condition."""


def family() -> Family:
    """30 features, 5 versions: 27 two-state features, one of three states that changes twice, two variants."""
    order = np.random.default_rng(1948)
    kinds = order.permutation(np.repeat(list(PERMANENCES), list(PERMANENCES.values())))
    owners = order.permutation(np.repeat(np.arange(4), [BLOCKS[0] - 1, BLOCKS[1], BLOCKS[2] - 1, BLOCKS[3]]))
    features = [
        Feature(f"f{i:02}", f"Feature {i}", ("early", "late"), permanence=str(kind))
        for i, kind in enumerate(kinds[:27])
    ]
    features.append(Feature("twice", "Twice changed", ("first", "second", "third"), permanence=str(kinds[27])))
    features += [
        Feature(f"v{i}", f"Variant {i}", ("one", "other"), permanence=str(kinds[28 + i]), role="variant")
        for i in range(2)
    ]
    versions = []
    for number in range(5):
        states = {f"f{i:02}": "late" if owner < number else "early" for i, owner in enumerate(owners)}
        states["twice"] = ("first", "second", "second", "third", "third")[number]
        versions.append(Version(f"version-{number + 1}", f"Version {number + 1}", states=states))
    return Family("calibration", "Calibration", tuple(features), tuple(versions), last_serial=20_000)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the answers of one production said, and what was so. All lists run over its held-out sets.

    covered : (sets, changes) the true cut-in lies in its range.
    stated, true : (sets, entries) probability of every verdict entry, and which it was.
    leading, right : (sets,) probability of the leading entry, and whether it was the one.
    applied, had : (sets, changes) probability that the set has the change, and whether it has.
    plain : (sets, changes) what one would say who takes what is seen for what was built; 1/2 where that says nothing.
    """

    covered: np.ndarray
    stated: np.ndarray
    true: np.ndarray
    leading: np.ndarray
    right: np.ndarray
    applied: np.ndarray
    had: np.ndarray
    plain: np.ndarray


@dataclass(frozen=True, slots=True)
class Plan:
    """How a calibration draws its productions.

    simultaneous : share of blocks made at one stroke; None draws from the prior that identity computes with.
    conditions : survivors are untouched, repaired or rebuilt as wholes; otherwise altered item by item.
    with_serial : the held-out sets' serials are known.
    """

    sets: int = 20
    simultaneous: float | None = 0.5
    conditions: bool = True
    with_serial: bool = True


def run_production(plan: Plan, seed: int) -> Outcome:
    """Draw one production, its survivors and the held-out sets; ask about each of these."""
    rng = np.random.default_rng([1948, seed])
    production = draw_production(family(), rng, simultaneous=plan.simultaneous)
    known = draw_sets(
        production,
        SURVIVORS,
        rng,
        not_seen=NOT_SEEN_SHARE,
        assumptions=Assumptions() if plan.conditions else SAME_RATES,
    )
    survivors = survivors_of(known)
    held_out = draw_sets(production, plan.sets, rng, not_seen=NOT_SEEN_SHARE)
    answers = [
        identify(production.family, bench_set_of(held_out, row, with_serial=plan.with_serial), survivors, exact=True)
        for row in range(plan.sets)
    ]
    return outcome_of(held_out, answers)


def run(plan: Plan, productions: range, workers: int = 1) -> list[Outcome]:
    """`run_production` for every number, in order."""
    return for_each(partial(run_production, plan), productions, workers)


T = TypeVar("T")


def for_each(do: Callable[[int], T], productions: range, workers: int = 1) -> list[T]:
    """What comes of every production, in order; over processes of their own where there are several workers."""
    if workers == 1:
        return [do(seed) for seed in productions]
    with get_context("spawn").Pool(workers) as pool:
        return pool.map(do, productions, chunksize=2)


def outcome_of(held_out: DrawnSets, answers: Sequence[Answer]) -> Outcome:
    """The answers about sets held out of one production of a family with the one line "main"."""
    production = held_out.production
    changes = production.line_history("main").changes
    cut_ins = np.array([production.cut_ins[change.id] for change in changes])
    had = held_out.position[:, None] >= cut_ins
    covered, applied, stated, true, leading, right = [], [], [], [], [], []
    for row, answer in enumerate(answers):
        by_id = {change.id: change for change in answer.changes}
        mine = [by_id[change.id] for change in changes]
        covered.append([c.cut_in.low <= t <= c.cut_in.high for c, t in zip(mine, cut_ins, strict=True)])
        applied.append([change.applied_probability for change in mine])
        entries = {entry.version or entry.between: entry.probability for entry in answer.verdict}
        truth = true_entry(production, "main", int(held_out.position[row]))
        keys = sorted(entries, key=str)
        stated.append([entries[key] for key in keys])
        true.append([key == truth for key in keys])
        first = answer.verdict[0]
        leading.append(first.probability)
        right.append((first.version or first.between) == truth)
    return Outcome(
        covered=np.array(covered),
        stated=np.array(stated),
        true=np.array(true),
        leading=np.array(leading),
        right=np.array(right),
        applied=np.array(applied),
        had=had,
        plain=_taken_as_seen(held_out),
    )


def _taken_as_seen(held_out: DrawnSets) -> np.ndarray:
    """(sets, changes) 1 where the state seen is one that follows the change, 0 where one before it, else 1/2."""
    columns = []
    for change in held_out.production.line_history("main").changes:
        states = held_out.production.family.feature(change.feature).all_states
        after = states.index(change.to_state)
        state = held_out.seen[change.feature] // 3
        column = np.where(state >= after, 1.0, 0.0)
        column[(held_out.seen[change.feature] < 0) | (state == len(states))] = 0.5
        columns.append(column)
    return np.stack(columns, axis=1)


@dataclass(frozen=True, slots=True)
class Bin:
    """One bin of stated probabilities: how many, their mean, the share that was so, and its standard error."""

    low: float
    count: int
    stated: float
    observed: float
    error: float


def by_decile(outcomes: Sequence[Outcome], stated: str, true: str) -> list[Bin]:
    """Stated probabilities in ten equal bins against what was so.

    The error is that of the mean difference, observed less stated, with productions as clusters: the root of
    the sum over productions of the square of each one's summed difference, divided by the bin's count.
    """
    bins = []
    for low in np.arange(10) / 10:
        count, sums, probabilities, hits = 0, [], 0.0, 0.0
        for outcome in outcomes:
            p, t = getattr(outcome, stated).ravel(), getattr(outcome, true).ravel()
            here = (p >= low) & ((p < low + 0.1) if low < 0.85 else (p <= 1.0 + 1e-9))
            count += int(here.sum())
            probabilities += float(p[here].sum())
            hits += float(t[here].sum())
            sums.append(float((t[here] - p[here]).sum()))
        if count:
            error = float(np.sqrt(np.square(sums).sum())) / count
            bins.append(Bin(float(low), count, probabilities / count, hits / count, error))
    return bins


def coverage(outcomes: Sequence[Outcome]) -> tuple[float, float]:
    """Share of true cut-ins inside their ranges, and its standard error with productions as clusters."""
    shares = np.array([outcome.covered.mean() for outcome in outcomes])
    return float(shares.mean()), float(shares.std(ddof=1) / np.sqrt(len(shares)))


def brier(outcomes: Sequence[Outcome]) -> tuple[float, float]:
    """Mean square error of the applied probabilities, and of taking what is seen for what was built."""
    ours = np.mean([np.square(outcome.applied - outcome.had).mean() for outcome in outcomes])
    plain = np.mean([np.square(outcome.plain - outcome.had).mean() for outcome in outcomes])
    return float(ours), float(plain)


def report(outcomes: Sequence[Outcome]) -> str:
    """Every figure in words, for whoever runs it."""
    share, error = coverage(outcomes)
    ours, plain = brier(outcomes)
    lines = [
        f"productions {len(outcomes)}, held-out sets {sum(len(o.leading) for o in outcomes)}",
        f"90 % cut-in ranges cover {share:.4f} (standard error {error:.4f})",
        f"Brier score of applied changes {ours:.5f}, taken as seen {plain:.5f}: {plain / ours:.2f} times better",
    ]
    for name, stated, true in (
        ("verdict", "stated", "true"),
        ("leading", "leading", "right"),
        ("applied", "applied", "had"),
    ):
        lines.append(f"{name}: from, count, stated, observed, standard error")
        lines += [
            f"  {b.low:.1f} {b.count:7d} {b.stated:.4f} {b.observed:.4f} {b.error:.4f}"
            + ("  <-- off" if abs(b.observed - b.stated) > max(0.05, 2.5 * b.error) else "")
            for b in by_decile(outcomes, stated, true)
        ]
    return "\n".join(lines)
