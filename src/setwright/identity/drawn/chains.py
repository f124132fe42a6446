"""Independent draws of whole histories from a line's exact chain."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from setwright.identity.chain import Chain, in_order

FLOOR = 700.0
"""Evidence further below its best counts as exp(-700), so that a window wholly inside such a stretch has some."""


@dataclass(frozen=True, slots=True)
class ChainDraws:
    """Histories of one run.

    cut_in : (n, m) positions of the changes of known block, block by block; cell : (n, m) the cells they lie in.
    start, end : (n, blocks) cells of every block's window. at_once : (n, blocks) the one position where the block
        was made at one stroke, -1 where it was not.
    """

    cut_in: np.ndarray
    cell: np.ndarray
    start: np.ndarray
    end: np.ndarray
    at_once: np.ndarray

    def __len__(self) -> int:
        return len(self.cut_in)


def even_shares(count: int, rng: np.random.Generator) -> np.ndarray:
    """(count,) numbers from 0 to 1, one from each of `count` equal parts, in random order."""
    shares: np.ndarray = (rng.permutation(count) + rng.random(count)) / count
    return shares


def draw_histories(chain: Chain, count: int, rng: np.random.Generator) -> ChainDraws:
    """Draw `count` histories: the last block's window first, its end, then its start, then each change inside."""
    cells = chain.cells
    order = in_order(chain.widths)
    latest = np.full(count, cells)
    cut_in: list[np.ndarray] = []
    cell: list[np.ndarray] = []
    starts: list[np.ndarray] = []
    ends: list[np.ndarray] = []
    strokes: list[np.ndarray] = []
    for block in reversed(range(len(chain.blocks))):
        before, window, stroke = chain.before[block], chain.window[block], chain.stroke[block]
        joint = np.concatenate([before[:, None] + window, (before + stroke)[None, :]])
        joint = np.exp(joint - joint.max())
        end = _draw_end(joint.sum(axis=0), order, latest, rng)
        # Rows are starts, the last row the whole block at one position of the end's cell.
        cumulative = np.cumsum(joint, axis=0)
        cumulative /= np.maximum(cumulative[-1], np.finfo(float).tiny)
        # All columns behind each other, so that one search serves all draws.
        flat = (cumulative + np.arange(cells)).T.ravel()
        found = np.searchsorted(flat, end + even_shares(count, rng), side="right")
        start = np.clip(found - end * (cells + 1), 0, cells)
        stroke_made = start >= cells
        start = np.where(stroke_made, end, start)
        at_once = chain.edges[end] + 1 + np.floor(rng.random(count) * chain.widths[end]).astype(np.int64)
        at_once = np.where(stroke_made, at_once, -1)
        for levels in reversed(chain.blocks[block]):
            inside = draw_inside(chain, levels, start, end, at_once, rng)
            cut_in.insert(0, inside[0])
            cell.insert(0, inside[1])
        starts.insert(0, start)
        ends.insert(0, end)
        strokes.insert(0, at_once)
        latest = start
    nothing = np.empty((count, 0), dtype=np.int64)
    return ChainDraws(*(np.stack(part, axis=1) if part else nothing for part in (cut_in, cell, starts, ends, strokes)))


def _draw_end(weight: np.ndarray, order: np.ndarray, latest: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """The end's cell: no later than `latest`, and in order with it where both fall into one cell."""
    up_to = np.append(0.0, np.cumsum(weight))
    own = np.append(weight * order, 0.0)[latest]
    share = even_shares(len(latest), rng) * (up_to[latest] + own)
    end: np.ndarray = np.minimum(np.searchsorted(up_to[1:], share, side="right"), latest)
    return np.minimum(end, len(weight) - 1)


def draw_inside(
    chain: Chain,
    levels: np.ndarray,
    start: np.ndarray,
    end: np.ndarray,
    at_once: np.ndarray,
    rng: np.random.Generator,
) -> tuple[np.ndarray, np.ndarray]:
    """Positions and cells of one change inside windows: half of the end cells counts, as in the chain.

    levels : (C,) log of the change's evidence by cell.
    """
    # Running sums from every start that occurs: windows may lie where the evidence is far below its best elsewhere.
    which, row = np.unique(start, return_inverse=True)
    half = (chain.widths + 1.0) / 2.0
    evidence = np.exp(np.maximum(levels - levels[which[0] : int(end.max()) + 1].max(), -FLOOR))
    running = np.where(np.arange(chain.cells) > which[:, None], chain.widths * evidence, 0.0)
    running[np.arange(len(which)), which] = half[which] * evidence[which]
    running = np.cumsum(running, axis=1)
    before_end = running[row, np.maximum(end - 1, 0)]
    share = even_shares(len(start), rng) * (before_end + half[end] * evidence[end])
    cell = np.minimum((running[row] <= share[:, None]).sum(axis=1), end)
    cell = np.where(start == end, end, np.maximum(cell, start))
    position = chain.edges[cell] + 1 + np.floor(rng.random(len(cell)) * chain.widths[cell]).astype(np.int64)
    once = at_once >= 0
    return np.where(once, at_once, position), np.where(once, end, cell)
