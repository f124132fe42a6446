"""From weighed histories to findings: the set's lines, its factory states, groups from elsewhere, free features."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from setwright.identity.answer import FreeAnswer, GroupAnswer, Interval, Pattern
from setwright.identity.assumptions import Assumptions
from setwright.identity.drawn.bench import Cases, CaseStates, bench_cases, case_states
from setwright.identity.drawn.engine import Register, Weighed
from setwright.identity.drawn.free import MIXED
from setwright.identity.drawn.lines import DrawnLine, drawn_lines
from setwright.identity.drawn.marginal import draw_columns
from setwright.identity.factors import SeenFeature
from setwright.identity.histories import Histories, condition_given
from setwright.identity.places import FRACTION_UNIT, Place

LISTED = 2048
"""Factory states drawn for what depends on all of them jointly."""

LEAST_PATTERN = 0.001


@dataclass(frozen=True, slots=True)
class DrawnFindings:
    """Everything found about the bench set from drawn histories."""

    lines: tuple[DrawnLine, ...]
    histories: Histories
    cases: Cases
    groups: tuple[GroupAnswer, ...]
    free: tuple[FreeAnswer, ...]


def find(
    register: Register,
    weighed: Weighed,
    seen: Sequence[SeenFeature],
    places: Sequence[Place],
    assumptions: Assumptions,
    rng: np.random.Generator,
) -> DrawnFindings:
    """Sum the histories up for the bench set."""
    cases = bench_cases(register, weighed, rng)
    states = case_states(register, weighed, cases)
    return DrawnFindings(
        lines=drawn_lines(register, weighed, cases, states, seen, places),
        histories=_histories(register, cases, states, seen, assumptions, rng),
        cases=cases,
        groups=_groups(register, weighed, cases, assumptions.level),
        free=_free(register, weighed),
    )


def _histories(
    register: Register,
    cases: Cases,
    states: CaseStates,
    seen: Sequence[SeenFeature],
    assumptions: Assumptions,
    rng: np.random.Generator,
) -> Histories:
    """Factory states drawn from the cases, alike ones together."""
    flat = cases.mass.ravel()
    shares = (np.arange(LISTED) + rng.random()) / LISTED * flat.sum()
    chosen = np.minimum(np.searchsorted(np.cumsum(flat), shares, side="right"), len(flat) - 1)
    case, arrangement, condition = np.unravel_index(chosen, cases.mass.shape)
    group_of = {f: g for g, group in enumerate(register.groups) for f in group.features}
    rows = np.empty((LISTED, len(seen)), dtype=np.int16)
    for number, s in enumerate(seen):
        mix = states.own[number][case]
        away = states.away[number]
        if away is not None:
            gone = arrangement == 1 + group_of[number]
            mix[gone] = away[case[gone]]
        with np.errstate(divide="ignore"):
            rows[:, number] = draw_columns(np.log(mix * s.likelihood[condition]), rng)
    unique, count = np.unique(rows, axis=0, return_counts=True)
    return Histories(unique, count / LISTED, condition_given(unique, list(seen), assumptions), complete=False)


def _groups(register: Register, weighed: Weighed, cases: Cases, level: float) -> tuple[GroupAnswer, ...]:
    answers = []
    for g, group in enumerate(register.groups if cases.mass.shape[1] > 1 else ()):
        chance = cases.mass[:, 1 + g].sum(axis=1)
        weight = np.bincount(cases.draw, weights=chance, minlength=weighed.draws.count)
        line_of, position = cases.elsewhere.line[g], cases.elsewhere.position[g]
        by_line = np.bincount(line_of, weights=weight, minlength=len(register.views))
        view = register.views[int(by_line.argmax())]
        here = line_of == view.number
        place = weighted_interval(position[here], weight[here], level)
        if view.axis.unit == FRACTION_UNIT:
            last = view.axis.last
            place = Interval(place.low / last, place.median / last, place.high / last, level)
        answers.append(GroupAnswer(group.name, float(chance.sum()), place, view.history.line))
    return tuple(answers)


def weighted_interval(position: np.ndarray, weight: np.ndarray, level: float) -> Interval:
    """Central range and median of weighted positions."""
    order = np.argsort(position, kind="stable")
    cumulative = np.cumsum(weight[order])
    tail = (1.0 - level) / 2.0
    low, median, high = (
        float(position[order][min(int(np.searchsorted(cumulative, p * cumulative[-1])), len(order) - 1)])
        for p in (tail, 0.5, 1.0 - tail)
    )
    return Interval(low, median, high, level)


def _free(register: Register, weighed: Weighed) -> tuple[FreeAnswer, ...]:
    """What became of the features that no document mentions, line by line."""
    answers = []
    for view in register.views:
        for feature, key in view.free.items():
            states = next(f for f in register.features if f.id == feature).all_states
            drawn, patterns = weighed.draws.free[key], weighed.draws.patterns[key]
            chance = np.bincount(drawn.pattern, weights=weighed.weight, minlength=len(patterns))
            listed = [
                Pattern(pattern.kind, tuple(states[s] for s in pattern.order), float(p))
                for pattern, p in zip(patterns, chance, strict=True)
                if p >= LEAST_PATTERN
            ]
            mixed = weighed.weight * np.array([pattern.kind == MIXED for pattern in patterns])[drawn.pattern]
            shares = mixed @ drawn.shares / mixed.sum() if mixed.sum() > 0.0 else np.zeros(len(states))
            answers.append(
                FreeAnswer(
                    feature,
                    view.history.line,
                    tuple(sorted(listed, key=lambda pattern: -pattern.probability)),
                    {state: float(share) for state, share in zip(states, shares, strict=True) if share > 0.0},
                )
            )
    return tuple(answers)
