"""Histories of features that no document mentions, against listing them all."""

import itertools

import numpy as np
import pytest

from setwright.identity.drawn.fine import fine_steps
from setwright.identity.drawn.free import CHANGES, MIXED, FreeEvidence, draw_free, patterns_of, share_points
from setwright.identity.evidence import gather, steps_from_items
from setwright.identity.places import SERIAL_UNIT, Axis

SHARES = (0.5, 0.25, 0.25)
COUNT = 9


def evidence_of(positions, like, edges, count=COUNT):
    """Evidence of sets at positions with likelihoods (n, states)."""
    axis = Axis("main", 1, count, SERIAL_UNIT, ((1, count),))
    states = like.shape[1]
    pairs = list(itertools.permutations(range(states), 2))
    ratios = [np.log(like[:, a] / like[:, b]) for a, b in pairs]
    steps = steps_from_items(positions, len(pairs), ratios, axis)
    step = np.zeros((states, states, len(edges) - 1))
    for (a, b), row, ratio in zip(pairs, gather(steps, (), edges).change, ratios, strict=True):
        step[a, b] = row - ratio.sum()
    mixed = np.log(like @ share_points(states).T).sum(axis=0)
    numbers = {pair: n for n, pair in enumerate(pairs)}
    return FreeEvidence(np.log(like).sum(axis=0), step, mixed, fine_steps(steps, edges), numbers)


def listed(positions, like, states, count=COUNT):
    """Every pattern, and every ordered choice of cut-ins, with its posterior weight."""
    weights = {}
    for pattern in patterns_of(tuple(range(states)), SHARES):
        if pattern.kind == MIXED:
            mean = np.exp(np.log(like @ share_points(states).T).sum(axis=0)).mean()
            weights[pattern, ()] = pattern.prior * mean
            continue
        stages = len(pattern.order) - 1
        choices = list(itertools.combinations_with_replacement(range(1, count + 1), stages))
        for cuts in choices:
            built = [pattern.order[sum(s >= cut for cut in cuts)] for s in positions]
            likelihood = np.prod([like[i, state] for i, state in enumerate(built)])
            weights[pattern, cuts] = pattern.prior / len(choices) * likelihood
    total = sum(weights.values())
    return {key: weight / total for key, weight in weights.items()}


@pytest.mark.parametrize("states", [2, 3, 4])
@pytest.mark.parametrize("edges", [np.arange(COUNT + 1), np.array([0, 1, 4, 5, COUNT])], ids=["fine", "coarse"])
def test_weighted_draws_are_the_posterior(states, edges):
    """Exactly so whatever the cells, because every draw knows how likely it was drawn."""
    rng = np.random.default_rng(states)
    positions = np.sort(rng.integers(1, COUNT + 1, size=6))
    like = rng.uniform(0.2, 1.0, size=(6, states))
    drawn = draw_free(evidence_of(positions, like, edges), tuple(range(states)), SHARES, edges, 40_000, rng)
    exact = listed(positions, like, states)
    patterns = patterns_of(tuple(range(states)), SHARES)
    built = np.array(
        [[_state(patterns[p], cuts, s) for s in positions] for p, cuts in zip(drawn.pattern, drawn.cut_in, strict=True)]
    )
    mixed = np.array([patterns[p].kind == MIXED for p in drawn.pattern])
    truth = np.log(
        np.where(
            mixed[:, None],
            (like[None] * drawn.shares[:, None, :]).sum(axis=2),
            like[np.arange(6), np.maximum(built, 0)],
        )
    ).sum(axis=1)
    weight = np.exp(truth - drawn.log_ratio)
    weight /= weight.sum()
    error = np.sqrt(np.square(weight).sum())
    for number, pattern in enumerate(patterns):
        probability = sum(p for (one, _), p in exact.items() if one == pattern)
        assert weight[drawn.pattern == number].sum() == pytest.approx(probability, abs=5 * error * 0.5)
        if pattern.kind == CHANGES and probability > 0.05:
            mean = sum(p * cuts[0] for (one, cuts), p in exact.items() if one == pattern) / probability
            rows = drawn.pattern == number
            ours = weight[rows] @ drawn.cut_in[rows, 0] / weight[rows].sum()
            assert ours == pytest.approx(mean, abs=0.2)


def _state(pattern, cuts, position):
    if pattern.kind == MIXED:
        return -1
    return pattern.order[sum(position >= cut for cut in cuts[: len(pattern.order) - 1])]


def test_prior_probabilities_of_patterns():
    patterns = patterns_of((0, 1, 2), SHARES)
    assert sum(pattern.prior for pattern in patterns) == pytest.approx(1.0)
    orders = [pattern for pattern in patterns if pattern.kind == CHANGES]
    assert len(orders) == 6
    assert sum(pattern.prior for pattern in orders) == pytest.approx(0.5)


def test_ways_of_mixing_are_even():
    """The mean of each share is 1/k and of its square 2/(k (k + 1)), as for shares uniform on the simplex."""
    for states in (2, 3, 4):
        points = share_points(states)
        assert points.sum(axis=1) == pytest.approx(1.0)
        assert points.mean(axis=0) == pytest.approx(1.0 / states, abs=0.005)
        assert np.square(points).mean(axis=0) == pytest.approx(2.0 / (states * (states + 1)), abs=0.005)


def test_ordered_cut_ins_in_one_cell_are_all_equally_likely():
    rng = np.random.default_rng(2)
    edges = np.array([0, 3])
    nothing = evidence_of(np.array([2]), np.ones((1, 3)), edges, count=3)
    drawn = draw_free(nothing, (0, 1, 2), (1.0, 0.0, 0.0), edges, 30_000, rng)
    pairs, counts = np.unique(drawn.cut_in, axis=0, return_counts=True)
    assert [tuple(pair) for pair in pairs] == list(itertools.combinations_with_replacement((1, 2, 3), 2))
    assert counts / 30_000 == pytest.approx(1 / 6, abs=0.01)
