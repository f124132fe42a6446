"""The cell rule: twice the cells move no probability by more than 0.005."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from calibration import family

from setwright.identity import identify
from setwright.identity.simulate import bench_set_of, draw_production, draw_sets, survivors_of

MOST_MOVED = 0.005


def probabilities(answer):
    figures = {("verdict", entry.label): entry.probability for entry in answer.verdict}
    figures |= {("applied", change.id): change.applied_probability for change in answer.changes}
    figures |= {("condition", condition): p for condition, p in answer.condition.items()}
    for o in answer.observations:
        figures["altered", o.feature], figures["misread", o.feature] = o.altered_probability, o.misread_probability
    for prediction in answer.predicted:
        figures |= {("built", prediction.feature, state): p for state, p in prediction.states.items()}
    return figures


def moved(seed, with_serial):
    """The largest difference that doubling the cells makes for one random production and set."""
    rng = np.random.default_rng([512, seed])
    serials = int(rng.choice([700, 5_000, 60_000, 300_000]))
    production = draw_production(replace(family(), last_serial=serials), rng)
    survivors = survivors_of(draw_sets(production, int(rng.choice([0, 5, 40])), rng, not_seen=0.3))
    held_out = draw_sets(production, 1, rng, not_seen=float(rng.choice([0.1, 0.5, 0.8])))
    bench = bench_set_of(held_out, 0, with_serial=with_serial)
    usual = identify(production.family, bench, survivors)
    double = identify(production.family, bench, survivors, cells=2 * usual.method.cells)
    first, second = probabilities(usual), probabilities(double)
    return max(abs(first[key] - second[key]) for key in first)


@pytest.mark.parametrize("with_serial", [True, False])
@pytest.mark.parametrize("seed", range(6))
def test_doubling_the_cells_moves_nothing(seed, with_serial):
    assert moved(seed, with_serial) <= MOST_MOVED


@pytest.mark.slow
@pytest.mark.parametrize("with_serial", [True, False])
@pytest.mark.parametrize("part", range(4))
def test_doubling_the_cells_moves_nothing_in_many_cases(part, with_serial):
    assert max(moved(seed, with_serial) for seed in range(100 + 10 * part, 110 + 10 * part)) <= MOST_MOVED
