"""Stock lags are learnt, and kinds of parts learn from each other."""

from __future__ import annotations

import numpy as np

from setwright.chronology.lags import lag_grid, learn_lags, usual_lags


def log_likelihood_of(lags):
    grid, _ = lag_grid()
    return np.log(grid[:, lags]).sum(axis=1)


def test_the_usual_lags_are_a_distribution():
    lags = usual_lags()
    assert lags.of("speaker").sum() > 0.99
    low, median, high = lags.range_of("speaker", 0.9)
    assert low <= median <= high


def test_a_kind_learns_its_own_lag_and_lends_it_to_the_others():
    said = {"speaker": log_likelihood_of([8, 9, 10, 9, 8, 11, 9, 10, 9, 9])}
    lags = learn_lags(said, {"speaker": 10})
    assert 8 <= lags.range_of("speaker", 0.5)[1] <= 10
    known = lags.of("control")[7:12].sum()
    assert usual_lags().of("control")[7:12].sum() < known < lags.of("speaker")[7:12].sum()


def test_old_stock_makes_a_long_tail():
    steady, old = ({"tuner": log_likelihood_of(lags)} for lags in ([4] * 10, [4] * 6 + [80, 90, 95, 100]))
    tails = [learn_lags(said, {"tuner": 10}).of("tuner")[60:].sum() for said in (steady, old)]
    assert tails[1] > 10 * tails[0]
