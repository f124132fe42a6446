"""The set's possible factory states as a weighted list, for what depends on all of them jointly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from setwright.identity.assumptions import Assumptions
from setwright.identity.factors import CONDITION_COUNT, SeenFeature, factory_shares
from setwright.identity.posterior import LinePosterior

MOST_LISTED = 1024
"""Up to this many factory states are listed in full; beyond, features without a change are sampled."""

MOST_WEIGHT = 1.0 / 256
"""Where features are sampled, no listed history weighs more: it is repeated instead."""

IMPOSSIBLE_SHARE = 1e-300


@dataclass(frozen=True, slots=True)
class Histories:
    """Factory states the set may have left with.

    states : (n, features) index into each feature's all_states, in the order of the seen features.
    weight : (n,) probabilities, summing to 1. condition : (n, 3) probability of each condition given the row.
    complete : whether every possible factory state is listed; otherwise the list is partly a sample.
    """

    states: np.ndarray
    weight: np.ndarray
    condition: np.ndarray
    complete: bool


def list_histories(
    lines: tuple[LinePosterior, ...], seen: list[SeenFeature], assumptions: Assumptions, rng: np.random.Generator
) -> Histories:
    """List the factory states with their weights: documented stages exactly, gaps as listed or drawn."""
    rows, weights, complete = [], [], True
    for line in lines:
        listed, masses, whole = _line_rows(line, seen)
        complete &= whole
        for condition in range(CONDITION_COUNT):
            here = masses[:, condition] > 0.0
            if here.any():
                expanded, shared, whole = _with_free_choice(
                    listed[here], masses[here, condition], line, seen, condition, rng
                )
                complete &= whole
                rows.append(expanded)
                weights.append(shared)
    states, index = np.unique(np.concatenate(rows), axis=0, return_inverse=True)
    weight = np.bincount(index.ravel(), weights=np.concatenate(weights), minlength=len(states))
    return Histories(states, weight / weight.sum(), condition_given(states, seen, assumptions), complete)


def _line_rows(line: LinePosterior, seen: list[SeenFeature]) -> tuple[np.ndarray, np.ndarray, bool]:
    """Rows of states in one line, (n, features), -1 where a feature has no change; their mass by condition (n, 3)."""
    column = {s.feature.id: i for i, s in enumerate(seen)}
    index = {s.feature.id: {state: i for i, state in enumerate(s.feature.all_states)} for s in seen}
    changing = {change.feature for change in line.history.changes}
    base = []
    for stage in line.history.stages:
        row = np.full(len(seen), -1, dtype=np.int16)
        for feature in changing:
            row[column[feature]] = index[feature][stage.states[feature]]
        base.append(row)
    rows = [np.stack(base)]
    masses = [np.exp(line.standing.at_stage - line.log_scale).sum(axis=0)]
    complete = True
    for draw in line.standing.draws:
        complete &= draw.complete
        made = np.repeat(base[draw.block][None], len(draw.made), axis=0)
        for e, change in enumerate(line.history.blocks[draw.block]):
            made[draw.made[:, e], column[change.feature]] = index[change.feature][change.to_state]
        mass = np.zeros((len(made), CONDITION_COUNT))
        mass[:, draw.condition] = np.exp(draw.log_weight - line.log_scale)
        rows.append(made)
        masses.append(mass)
    return np.concatenate(rows), np.concatenate(masses), complete


def _with_free_choice(
    rows: np.ndarray,
    mass: np.ndarray,
    line: LinePosterior,
    seen: list[SeenFeature],
    condition: int,
    rng: np.random.Generator,
) -> tuple[np.ndarray, np.ndarray, bool]:
    """Fill in the features without a change: every combination of their states, or a sample of them."""
    unfilled = np.flatnonzero(rows[0] < 0)
    shares = {}
    for column in unfilled:
        share = seen[column].likelihood[condition] * factory_shares(seen[column].feature, line.history)
        shares[column] = share / share.sum()
    rows, index = np.unique(rows, axis=0, return_inverse=True)
    mass = np.bincount(index.ravel(), weights=mass, minlength=len(rows))
    combinations = len(rows) * int(np.prod([(s > IMPOSSIBLE_SHARE).sum() for s in shares.values()], initial=1.0))
    if combinations <= MOST_LISTED:
        for column, share in shares.items():
            possible = np.flatnonzero(share > IMPOSSIBLE_SHARE)
            rows = np.repeat(rows, len(possible), axis=0)
            mass = (mass[:, None] * share[possible]).ravel()
            rows[:, column] = np.tile(possible, len(rows) // len(possible))
        return rows, mass, True
    copies = np.maximum(np.ceil(mass / mass.sum() / MOST_WEIGHT).astype(int), 1)
    rows, mass = np.repeat(rows, copies, axis=0), np.repeat(mass / copies, copies)
    for column, share in shares.items():
        even = rng.permutation((np.arange(len(rows)) + rng.random()) / len(rows))
        rows[:, column] = np.searchsorted(np.cumsum(share)[:-1], even, side="right")
    return rows, mass, len(shares) == 0


def condition_given(states: np.ndarray, seen: Sequence[SeenFeature], assumptions: Assumptions) -> np.ndarray:
    """(n, 3) probability of each condition given what was seen and each row of factory states."""
    with np.errstate(divide="ignore"):
        logs = np.repeat(np.log(np.array(assumptions.condition_prior))[None], len(states), axis=0)
        for column, s in enumerate(seen):
            if s.informative:
                logs += np.log(s.likelihood.T)[states[:, column]]
            elif s.observation is not None and s.observation.serviced:
                logs += np.log(s.rates)
    logs -= logs.max(axis=1, keepdims=True)
    odds = np.exp(logs)
    probabilities: np.ndarray = odds / odds.sum(axis=1, keepdims=True)
    return probabilities
