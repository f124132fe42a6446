"""Chains over a few positions, for tests of what is drawn from them."""

import numpy as np

from setwright.identity.chain import build_chain
from setwright.identity.drawn.fine import fine_steps
from setwright.identity.evidence import gather, steps_from_items
from setwright.identity.places import SERIAL_UNIT, Axis


def chain_and_steps(sizes, count, edges, seed=3):
    """A chain over `count` positions with random evidence at a dozen of them."""
    rng = np.random.default_rng(seed)
    axis = Axis("main", 1, count, SERIAL_UNIT, ((1, count),))
    items = np.sort(rng.integers(1, count + 1, size=12))
    ratios = rng.normal(size=(sum(sizes), 12))
    steps = steps_from_items(items, sum(sizes), ratios, axis)
    return build_chain(gather(steps, sizes, edges), sizes, 0.5), steps


def placing(steps, edges, rng):
    fine = fine_steps(steps, edges)
    return lambda changes, cell: fine.place(fine.levels[changes].sum(axis=0), cell, rng)
