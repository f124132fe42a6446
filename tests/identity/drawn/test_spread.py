"""Ranges of cut-ins weigh histories as if every block were as likely spread out as made at one stroke."""

import math

import numpy as np
import pytest
from calibration import family
from enumeration import KAPPA, ordered_windows
from small_chains import chain_and_steps, placing

from setwright.identity import identify
from setwright.identity.assumptions import Assumptions
from setwright.identity.drawn.chains import draw_histories
from setwright.identity.drawn.spread import log_even
from setwright.identity.simulate import bench_set_of, draw_production, draw_sets, survivors_of

DRAWS = 20_000


def windows(blocks, positions):
    """Every ordered tuple of windows with its prior weight and the number of blocks that are spread out."""
    for pairs, prior in ordered_windows(blocks, 1, positions):
        yield pairs, prior, sum(start < end for start, end in pairs)


@pytest.mark.parametrize(("blocks", "positions"), [(1, 2), (1, 9), (2, 7), (3, 6), (3, 2), (4, 5)])
def test_every_block_is_as_likely_spread_out_as_not(blocks, positions):
    """Every choice of spread blocks weighs the same; choices that do not fit weigh nothing."""
    factor = np.exp(log_even(blocks, positions, KAPPA))
    by_count = np.zeros(blocks + 1)
    for _, prior, spread in windows(blocks, positions):
        by_count[spread] += prior * factor[spread]
    choices = np.array([math.comb(blocks, k) if k <= positions - 1 else 0 for k in range(blocks + 1)])
    assert by_count / by_count.sum() == pytest.approx(choices / choices.sum(), rel=1e-9)


@pytest.mark.parametrize(("positions", "one_stroke"), [(1, KAPPA), (9, 1.0), (9, 0.0)])
def test_where_the_prior_leaves_no_choice_nothing_is_weighed(positions, one_stroke):
    assert log_even(2, positions, one_stroke).tolist() == [0.0, 0.0, 0.0]


@pytest.mark.filterwarnings("error::RuntimeWarning")
def test_a_prior_of_one_stroke_only_is_drawn_from_as_well():
    rng = np.random.default_rng(1)
    production = draw_production(family(), rng, simultaneous=1.0)
    survivors = survivors_of(draw_sets(production, 12, rng), rng, lost=0.3)
    bench = bench_set_of(draw_sets(production, 1, rng), 0, with_serial=True)
    answer = identify(production.family, bench, survivors, draws=200, assumptions=Assumptions(one_stroke=1.0))
    assert answer.verdict[0].version is not None
    # No block is spread out, so all its changes have one range.
    ranges = {}
    for change in answer.changes:
        ranges.setdefault((change.line, change.block), set()).add(change.cut_in)
    assert all(len(found) == 1 for found in ranges.values())


def test_no_overflow_on_long_runs():
    assert np.isfinite(log_even(20, 2_000_000, KAPPA)).all()


def test_weighted_draws_follow_the_sum_over_all_windows():
    """Two blocks of two and one change over nine positions, with evidence: cut-ins by listing every window."""
    sizes, positions = (2, 1), 9
    edges = np.arange(positions + 1)
    chain, steps = chain_and_steps(sizes, positions, edges)
    rng = np.random.default_rng(8)
    drawn = draw_histories(chain, DRAWS, rng, placing(steps, edges, rng))
    factor = np.exp(log_even(len(sizes), positions, KAPPA))
    weight = factor[(drawn.at_once < 0).sum(axis=1)]
    levels = np.exp(np.concatenate(chain.blocks))
    owner = np.repeat(np.arange(len(sizes)), sizes)
    exact = np.zeros((sum(sizes), positions))
    for pairs, prior, spread in windows(len(sizes), positions):
        inside = [slice(pairs[b][0] - 1, pairs[b][1]) for b in owner]
        means = [levels[e, inside[e]].mean() for e in range(len(owner))]
        for e, here in enumerate(inside):
            share = levels[e, here] / levels[e, here].sum()
            exact[e, here] += prior * factor[spread] * math.prod(means) * share
    exact /= exact.sum(axis=1, keepdims=True)
    effective = weight.sum() ** 2 / np.square(weight).sum()
    for column in range(sum(sizes)):
        share = np.bincount(drawn.cut_in[:, column] - 1, weights=weight, minlength=positions) / weight.sum()
        assert np.abs(share - exact[column]).max() < 4 * np.sqrt(0.25 / effective)
