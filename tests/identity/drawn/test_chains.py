"""Independent draws from the chain follow its exact sums."""

import numpy as np
import pytest
from small_chains import chain_and_steps, placing

from setwright.identity.chain import build_chain
from setwright.identity.cutins import cut_in_masses_without_set
from setwright.identity.drawn.chains import draw_histories, even_shares
from setwright.identity.evidence import gather, steps_from_items
from setwright.identity.places import SERIAL_UNIT, Axis

DRAWS = 20_000


@pytest.mark.parametrize("sizes", [(1,), (2, 3), (3, 1, 2)])
def test_cut_ins_are_drawn_as_often_as_they_are_probable(sizes):
    edges = np.arange(0, 41)
    chain, steps = chain_and_steps(sizes, 40, edges)
    rng = np.random.default_rng(5)
    drawn = draw_histories(chain, DRAWS, rng, placing(steps, edges, rng))
    exact = np.concatenate(cut_in_masses_without_set(chain))
    for column, mass in enumerate(exact):
        share = np.bincount(drawn.cut_in[:, column] - 1, minlength=40) / DRAWS
        assert np.abs(share - mass).max() < 5 * np.sqrt(0.25 / DRAWS)


def test_blocks_stand_in_order_and_changes_inside_their_windows():
    edges = np.arange(0, 41)
    chain, steps = chain_and_steps((2, 2, 1), 40, edges)
    rng = np.random.default_rng(6)
    drawn = draw_histories(chain, 2000, rng, placing(steps, edges, rng))
    assert (drawn.start <= drawn.end).all()
    assert (drawn.end[:, :-1] <= drawn.start[:, 1:]).all()
    owners = np.repeat([0, 1, 2], [2, 2, 1])
    assert (drawn.cell >= drawn.start[:, owners]).all()
    assert (drawn.cell <= drawn.end[:, owners]).all()
    once = drawn.at_once[:, owners]
    assert ((once < 0) | (drawn.cut_in == once)).all()


def test_inside_wide_cells_cut_ins_follow_the_evidence():
    """One change, one cell: what is drawn is the evidence itself."""
    edges = np.array([0, 40])
    chain, steps = chain_and_steps((1,), 40, edges)
    rng = np.random.default_rng(7)
    drawn = draw_histories(chain, DRAWS, rng, placing(steps, edges, rng))
    level = np.exp(steps.levels[0][np.searchsorted(steps.ends, np.arange(1, 41))])
    share = np.bincount(drawn.cut_in[:, 0] - 1, minlength=40) / DRAWS
    assert np.abs(share - level / level.sum()).max() < 5 * np.sqrt(0.25 / DRAWS)


def test_evidence_beyond_floating_point_is_still_drawn_from():
    """Changes that contradict the documented order by thousands of decibans."""
    count, sizes = 60, (1, 1)
    axis = Axis("main", 1, count, SERIAL_UNIT, ((1, count),))
    items = np.arange(1, count + 1)
    late, early = np.where(items < 40, 60.0, -60.0), np.where(items < 20, 60.0, -60.0)
    steps = steps_from_items(items, 2, [late, early], axis)
    edges = np.arange(0, count + 1)
    chain = build_chain(gather(steps, sizes, edges), sizes, 0.5)
    rng = np.random.default_rng(8)
    drawn = draw_histories(chain, 500, rng, placing(steps, edges, rng))
    assert (drawn.cut_in[:, 0] <= drawn.cut_in[:, 1]).all()
    exact = np.concatenate(cut_in_masses_without_set(chain))
    for column, mass in enumerate(exact):
        assert mass[drawn.cut_in[:, column] - 1].min() > 1e-6


def test_even_shares_take_one_from_every_part():
    shares = even_shares(100, np.random.default_rng(1))
    assert sorted(np.floor(shares * 100).astype(int)) == list(range(100))
