"""Independent joint draws of all cut-ins of a line from its exact chain, for comparison with a sampler's."""

from __future__ import annotations

import numpy as np

from setwright.identity.chain import Chain, in_order


def draw_cut_ins(chain: Chain, count: int, rng: np.random.Generator) -> np.ndarray:
    """(count, m) positions of the cut-ins, the last block first: its window's end, its start, then each change."""
    cells = chain.cells
    order = in_order(chain.widths)
    latest = np.full(count, cells)
    drawn: list[np.ndarray] = []
    for block in reversed(range(len(chain.blocks))):
        before, window, stroke = chain.before[block], chain.window[block], chain.stroke[block]
        joint = np.concatenate([before[:, None] + window, (before + stroke)[None, :]])
        joint = np.exp(joint - joint.max())
        end = _draw_end(joint.sum(axis=0), order, latest, rng)
        # Rows are starts, the last row the whole block at one position of the end's cell.
        cumulative = np.cumsum(joint, axis=0)
        cumulative /= np.maximum(cumulative[-1], np.finfo(float).tiny)
        # All columns behind each other, so that one search serves all draws.
        found = np.searchsorted((cumulative + np.arange(cells)).T.ravel(), end + rng.random(count), side="right")
        start = np.clip(found - end * (cells + 1), 0, cells)
        at_once = start >= cells
        start = np.where(at_once, end, start)
        drawn.insert(0, _draw_inside(chain, block, start, end, at_once, rng))
        latest = start
    return np.concatenate(drawn, axis=1)


def _draw_end(weight: np.ndarray, order: np.ndarray, latest: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """The end's cell: no later than `latest`, and in order with it where both fall into one cell."""
    up_to = np.append(0.0, np.cumsum(weight))
    own = np.append(weight * order, 0.0)[latest]
    share = rng.random(len(latest)) * (up_to[latest] + own)
    end: np.ndarray = np.minimum(np.searchsorted(up_to[1:], share, side="right"), latest)
    return end


def _draw_inside(
    chain: Chain, block: int, start: np.ndarray, end: np.ndarray, at_once: np.ndarray, rng: np.random.Generator
) -> np.ndarray:
    """(count, m) positions inside the windows: half of the end cells counts, as in the chain."""
    edges, half = chain.edges, (chain.widths + 1.0) / 2.0
    at_one = edges[end] + 1 + np.floor(rng.random(len(end)) * chain.widths[end])
    inside = []
    for levels in chain.blocks[block]:
        evidence = np.exp(levels - levels.max())
        whole = np.append(0.0, np.cumsum(chain.widths * evidence))
        first, last = half[start] * evidence[start], half[end] * evidence[end]
        middle = np.maximum(whole[end] - whole[np.minimum(start + 1, end)], 0.0)
        share = rng.random(len(start)) * (first + middle + last)
        cell = np.searchsorted(whole, share - first + whole[np.minimum(start + 1, end)], side="right") - 1
        cell = np.where(share < first, start, np.where(share >= first + middle, end, cell))
        cell = np.where(start == end, end, np.clip(cell, start, end))
        position = edges[cell] + 1 + np.floor(rng.random(len(cell)) * chain.widths[cell])
        inside.append(np.where(at_once, at_one, position))
    return np.stack(inside, axis=1)
