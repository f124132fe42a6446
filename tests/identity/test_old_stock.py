"""Old stock on a long axis: the verdict near a cut-in against a sum over all windows.

Enumeration holds the model to a few positions; here are 20,000 and an overlap of 1,000, so that events, cells and
cut-ins lie apart from each other. One block of changes, sets altered item by item, every serial known.
"""

from __future__ import annotations

import numpy as np
import pytest

from setwright.identity import Assumptions, identify
from setwright.identity.likelihood import log_likelihood_by_code
from setwright.identity.model import Family, Feature, Version
from setwright.identity.simulate import bench_set_of, draw_production, draw_sets, survivors_of

LAST, OVERLAP, STEP = 20_000, 1_000, 20
GRID = np.arange(1 + STEP // 2, LAST + 1, STEP)
"""Cut-ins summed over: one in twenty."""

ITEM_BY_ITEM = Assumptions(condition_odds=(1.0, 1.0, 1.0), married=0.0)
FEATURES = tuple(
    Feature(
        f"f{i}", f"Feature {i}", ("old", "new"), overlap=OVERLAP, permanence=("stamped", "soldered", "plugged")[i % 3]
    )
    for i in range(9)
)


def family() -> Family:
    versions = tuple(Version(v, v, states={f.id: s for f in FEATURES}) for v, s in (("early", "old"), ("late", "new")))
    return Family("t", "Test", FEATURES, versions, last_serial=LAST)


def evidence(feature: Feature, position: np.ndarray, codes: np.ndarray) -> np.ndarray:
    """(grid,) likelihood of one feature of all sets by its cut-in, up to a factor."""
    table = np.exp(log_likelihood_by_code(feature, ITEM_BY_ITEM))
    log_likelihood = np.zeros(len(GRID))
    for at, code in zip(position[codes >= 0], codes[codes >= 0], strict=True):
        old, new = table[code]
        sharp = np.where(at >= GRID, new, old)
        log_likelihood += np.log(np.where(np.abs(at - GRID) < OVERLAP, (old + new) / 2.0, sharp))
    likelihood: np.ndarray = np.exp(log_likelihood - log_likelihood.max())
    return likelihood


def by_all_windows(likelihood: np.ndarray, position: int) -> np.ndarray:
    """Probabilities of a set at a position being early, between, late."""
    count, kappa = len(GRID), ITEM_BY_ITEM.one_stroke
    upto = np.concatenate([np.zeros((len(likelihood), 1)), np.cumsum(likelihood, axis=1)], axis=1)
    behind = int((position >= GRID).sum())
    stroke = kappa * likelihood.prod(axis=0)
    early, between, late = stroke[behind:].sum(), 0.0, stroke[:behind].sum()
    for start in range(count - 1):
        end = np.arange(start + 1, count)
        width, share = end + 1 - start, (1.0 - kappa) / (count - 1)
        border = np.clip(behind, start, end + 1)
        made = share * ((upto[:, border] - upto[:, [start]]) / width).prod(axis=0)
        open_ = share * ((upto[:, end + 1] - upto[:, border]) / width).prod(axis=0)
        whole = share * ((upto[:, end + 1] - upto[:, [start]]) / width).prod(axis=0)
        early, late = early + open_.sum(), late + made.sum()
        between += (whole - open_ - made).sum()
    total: np.ndarray = np.array([early, between, late]) / (early + between + late)
    return total


@pytest.mark.parametrize("seed", [3, 10, 11])
def test_the_verdict_near_a_cut_in_goes_by_the_cut_in_itself(seed: int) -> None:
    """Unsure between early and between; the same; surely late though still among old stock."""
    rng = np.random.default_rng(seed)
    production = draw_production(family(), rng, simultaneous=None)
    known = draw_sets(production, 40, rng, assumptions=ITEM_BY_ITEM)
    position = int(np.median(list(production.cut_ins.values())) + rng.integers(-1500, 1500))
    drawn = draw_sets(production, 1, rng, assumptions=ITEM_BY_ITEM, line="main", position=np.array([position]))
    answer = identify(production.family, bench_set_of(drawn, 0), survivors_of(known), assumptions=ITEM_BY_ITEM)
    found = {entry.version: entry.probability for entry in answer.verdict}
    everywhere = np.append(known.position, position)
    likelihood = np.stack([evidence(f, everywhere, np.append(known.seen[f.id], drawn.seen[f.id])) for f in FEATURES])
    expected = by_all_windows(likelihood, position)
    assert answer.method.effective_draws is not None
    assert np.array([found["early"], found[None], found["late"]]) == pytest.approx(
        expected, abs=0.005 + 4 * 0.5 / answer.method.effective_draws**0.5
    )
