"""The chain against enumeration, against linear interpolation, and against itself with more positions looked at."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from enumeration_of_weeks import week
from hypothesis import given, settings
from hypothesis import strategies as st
from sklearn.isotonic import IsotonicRegression

from setwright.chronology.chain import make_chain
from setwright.chronology.pace import Paces

COUNT = 6


def paces_for(mean_pace: float, clumps=(1.3, 4.0), octaves=1) -> Paces:
    return Paces.around(mean_pace, clumps, octaves)


def random_case(seed: int, nodes: int):
    rng = np.random.default_rng(seed)
    position = np.sort(rng.choice(np.arange(1, 60), nodes, replace=False))
    return position, rng.random((nodes, COUNT)) + 0.02


@pytest.mark.parametrize("seed", range(3))
def test_weeks_are_those_of_enumeration(seed):
    position, likelihood = random_case(seed, 3)
    paces = paces_for(COUNT / 60)
    chain = make_chain(paces, position, likelihood)
    for node in range(3):
        np.testing.assert_allclose(chain.week(node), week(paces, position, likelihood, node), rtol=1e-9, atol=1e-13)


@pytest.mark.parametrize("seed", range(2))
def test_weeks_are_those_of_enumeration_where_the_pace_changes(seed):
    position, likelihood = random_case(seed, 4)
    epochs = (int(position[1]), int(position[2]))
    paces = paces_for(COUNT / 60)
    chain = make_chain(paces, position, likelihood, epochs)
    for node in range(4):
        wanted = week(paces, position, likelihood, node, epochs)
        np.testing.assert_allclose(chain.week(node), wanted, rtol=1e-9, atol=1e-13)


def test_positions_between_are_those_of_enumeration():
    position, likelihood = np.array([10, 40]), np.random.default_rng(5).random((2, COUNT)) + 0.02
    paces = paces_for(COUNT / 60)
    wanted = week(paces, np.array([10, 25, 40]), np.insert(likelihood, 1, 1.0, axis=0), 1)
    np.testing.assert_allclose(make_chain(paces, position, likelihood).week_at(25), wanted, rtol=1e-9)


def test_beyond_the_ends_weeks_go_on_in_order():
    likelihood = np.full((2, 60), 1e-6)
    likelihood[0, 20] = likelihood[1, 30] = 1.0
    chain = make_chain(Paces.around(0.1), [100, 200], likelihood)
    behind = [np.cumsum(chain.week_at(place)) for place in (20, 100, 150, 200, 280)]
    for earlier, later in pairwise(behind):
        assert (later <= earlier + 1e-12).all()
    assert behind[0][21] > 0.999
    assert behind[4][28] < 0.001


@settings(max_examples=10)
@given(seed=st.integers(0, 10_000), extra=st.lists(st.integers(11, 399), min_size=1, max_size=4, unique=True))
def test_a_position_that_says_nothing_changes_nothing(seed, extra):
    rng = np.random.default_rng(seed)
    position, likelihood = np.array([10, 120, 260, 400]), rng.random((4, 40)) + 1e-3
    epochs = (60, 200, 300)
    paces = paces_for(0.1, (1.2, 3.0, 20.0), 3)
    chain = make_chain(paces, position, likelihood, epochs)
    new = sorted(set(extra) - set(position.tolist()))
    nodes = np.sort(np.concatenate([position, np.array(new, dtype=int)]))
    rows = np.ones((len(nodes), 40))
    rows[np.searchsorted(nodes, position)] = likelihood
    finer = make_chain(paces, nodes, rows, epochs)
    for place in (10, 77, 120, 260, 333, 400):
        np.testing.assert_allclose(finer.week_at(place), chain.week_at(place), rtol=1e-9, atol=1e-13)
    np.testing.assert_allclose(finer.weight, chain.weight, rtol=1e-9)


@settings(max_examples=8)
@given(data=st.data())
def test_between_exact_dates_the_mean_is_isotonic_regression(data):
    """One epoch, exact dates in order: scikit-learn's isotonic regression interpolates linearly between them."""
    position = np.array(sorted(data.draw(st.lists(st.integers(1, 5000), min_size=3, max_size=6, unique=True))))
    weeks = sorted(data.draw(st.lists(st.integers(5, 110), min_size=len(position), max_size=len(position))))
    likelihood = np.zeros((len(position), 120))
    likelihood[np.arange(len(position)), weeks] = 1.0
    chain = make_chain(Paces.around(0.05), position, likelihood)
    asked = np.unique(np.linspace(position[0], position[-1], 9).round().astype(int))
    wanted = IsotonicRegression().fit(position, weeks).predict(asked)
    means = [chain.week_at(int(place)) @ np.arange(120) for place in asked]
    np.testing.assert_allclose(means, wanted, atol=1e-9)


def test_without_positions_every_week_is_alike():
    chain = make_chain(Paces.around(0.1), [], np.zeros((0, 8)))
    np.testing.assert_allclose(chain.week_at(17), np.full(8, 1 / 8))


def test_contradicting_dates_leave_a_posterior():
    likelihood = np.full((3, 50), 1e-4)
    likelihood[[0, 1, 2], [40, 5, 45]] = 1.0
    chain = make_chain(Paces.around(0.05), [100, 200, 300], likelihood)
    week_of_odd = chain.cavity(1)
    assert week_of_odd[40:46].sum() > 0.9
    assert np.isfinite(chain.week(1)).all()
