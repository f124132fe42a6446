"""Windows of the blocks of changes, drawn at random."""

from __future__ import annotations

from math import comb

import numpy as np

from setwright.identity.places import Axis

MOST_TRIES = 20_000
"""So often something is drawn anew until it keeps what must be kept."""


def draw_windows(
    blocks: int, axis: Axis, rng: np.random.Generator, simultaneous: float | None = 0.5, one_stroke: float = 0.5
) -> list[tuple[int, int]]:
    """First and last position of every block's window, in order; equal for a block made at one stroke.

    one_stroke : the prior's kappa, used where `simultaneous` is None.
    """
    if blocks == 0:
        return []
    spread = _draw_spread(blocks, axis.count, rng, simultaneous, one_stroke)
    # Ends in weak order (between blocks) become distinct places once block j is moved up by j.
    ends = blocks + int(spread.sum())
    places = np.sort(rng.choice(axis.count + blocks - 1, size=ends, replace=False))
    windows = []
    used = 0
    for block, wide in enumerate(spread):
        start = int(places[used]) - block + axis.first
        used += int(wide)
        windows.append((start, int(places[used]) - block + axis.first))
        used += 1
    return windows


def _draw_spread(
    blocks: int, positions: int, rng: np.random.Generator, simultaneous: float | None, one_stroke: float
) -> np.ndarray:
    """(blocks,) which blocks are spread out; of `positions` places at most positions - 1 can be."""
    most = min(blocks, positions - 1)
    if simultaneous is not None:
        for _ in range(MOST_TRIES):
            spread = rng.random(blocks) >= simultaneous
            if spread.sum() <= most:
                return spread
        raise ValueError(f"{blocks} blocks cannot be spread out over {positions} positions; at most {most} can")
    # All orders with k spread blocks: comb(positions + blocks - 1, blocks + k) each for comb(blocks, k) choices.
    step = (1.0 - one_stroke) / max(positions - 1, 1)
    weights = np.array(
        [
            float(comb(blocks, k) * comb(positions + blocks - 1, blocks + k)) * one_stroke ** (blocks - k) * step**k
            for k in range(most + 1)
        ]
    )
    count = int(rng.choice(most + 1, p=weights / weights.sum()))
    spread = np.zeros(blocks, dtype=bool)
    spread[rng.choice(blocks, size=count, replace=False)] = True
    return spread
