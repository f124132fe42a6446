"""Drawing histories and summing over them give one answer on long runs too, where neither has one position a cell."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from calibration import family

from setwright.identity import identify
from setwright.identity.simulate import bench_set_of, draw_production, draw_sets, survivors_of

DRAWS = 4000
APART = 0.02
"""Four Monte Carlo errors at most: with cells alone the two have been 0.003 apart."""


def figures(answer):
    found = {("verdict", entry.line, entry.label): entry.probability for entry in answer.verdict}
    return found | {("applied", change.id): change.applied_probability for change in answer.changes}


@pytest.mark.parametrize(
    ("seed", "serials", "survivors", "with_serial"),
    [(1, 5_000, 5, True), (3, 60_000, 40, True), (5, 300_000, 0, True), (6, 60_000, 5, False)],
)
def test_drawn_answers_equal_summed_ones(seed, serials, survivors, with_serial):
    rng = np.random.default_rng([77, seed])
    production = draw_production(replace(family(), last_serial=serials), rng)
    register = survivors_of(draw_sets(production, survivors, rng, not_seen=0.3))
    bench = bench_set_of(draw_sets(production, 1, rng, not_seen=0.5), 0, with_serial=with_serial)
    summed = identify(production.family, bench, register, exact=True, cells=512 if with_serial else 192)
    drawn = identify(production.family, bench, register, exact=True, draws=DRAWS, force="weighted")
    assert (summed.method.kind, drawn.method.kind) == ("exact", "weighted")
    one, other = figures(summed), figures(drawn)
    assert one.keys() == other.keys()
    assert max(abs(one[key] - other[key]) for key in one) <= APART
