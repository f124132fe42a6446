"""Independent draws of whole histories from a line's exact chain."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from setwright.identity.chain import Chain, in_order, log_sum

WIDE = 600.0
"""Evidence that spans more than exp(600) is summed window by window: each is drawn by what is best inside it."""


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


Placing = Callable[[np.ndarray, np.ndarray], np.ndarray]
"""Positions inside cells, from the numbers of the changes made there at one stroke, or of one change, and the cells."""


def draw_histories(chain: Chain, count: int, rng: np.random.Generator, place: Placing) -> ChainDraws:
    """Draw `count` histories: the last block's window first, its end, then its start, then each change inside."""
    cells = chain.cells
    log_order = np.log(in_order(chain.widths))
    latest = np.full(count, cells)
    cut_in: list[np.ndarray] = []
    cell: list[np.ndarray] = []
    starts: list[np.ndarray] = []
    ends: list[np.ndarray] = []
    strokes: list[np.ndarray] = []
    last = sum(len(block) for block in chain.blocks)
    for block in reversed(range(len(chain.blocks))):
        before, window, stroke = chain.before[block], chain.window[block], chain.stroke[block]
        joint = np.concatenate([before[:, None] + window, (before + stroke)[None, :]])
        end = _draw_end(log_sum(joint, axis=0), log_order, latest, rng)
        # Rows are starts, the last row the whole block at one position of the end's cell.
        top = joint.max(axis=0)
        cumulative = np.cumsum(np.exp(joint - np.where(top > -np.inf, top, 0.0)), axis=0)
        cumulative /= np.maximum(cumulative[-1], np.finfo(float).tiny)
        # All columns behind each other, so that one search serves all draws.
        flat = (cumulative + np.arange(cells)).T.ravel()
        found = np.searchsorted(flat, end + even_shares(count, rng), side="right")
        start = np.clip(found - end * (cells + 1), 0, cells)
        stroke_made = start >= cells
        start = np.where(stroke_made, end, start)
        size = len(chain.blocks[block])
        first = last - size
        at_once = np.where(stroke_made, place(np.arange(first, last), end), -1)
        for number in reversed(range(size)):
            levels = chain.blocks[block][number]
            position, inside = draw_inside(chain, levels, start, end, at_once, rng, first + number, place)
            cut_in.insert(0, position)
            cell.insert(0, inside)
        starts.insert(0, start)
        ends.insert(0, end)
        strokes.insert(0, at_once)
        latest, last = start, first
    nothing = np.empty((count, 0), dtype=np.int64)
    return ChainDraws(*(np.stack(part, axis=1) if part else nothing for part in (cut_in, cell, starts, ends, strokes)))


def _draw_end(
    log_weight: np.ndarray, log_order: np.ndarray, latest: np.ndarray, rng: np.random.Generator
) -> np.ndarray:
    """The end's cell: no later than `latest`, and in order with it where both fall into one cell."""
    up_to = np.append(-np.inf, np.logaddexp.accumulate(log_weight))
    own = np.append(log_weight + log_order, -np.inf)[latest]
    share = np.log(1.0 - even_shares(len(latest), rng)) + np.logaddexp(up_to[latest], own)
    end: np.ndarray = np.minimum(np.searchsorted(up_to[1:], share, side="left"), latest)
    return np.minimum(end, len(log_weight) - 1)


def draw_inside(
    chain: Chain,
    levels: np.ndarray,
    start: np.ndarray,
    end: np.ndarray,
    at_once: np.ndarray,
    rng: np.random.Generator,
    number: int,
    place: Placing,
) -> tuple[np.ndarray, np.ndarray]:
    """Positions and cells of one change inside windows: half of the end cells counts, as in the chain.

    levels : (C,) log of the change's evidence by cell. number : of the change, for `place`.
    """
    # Running sums from every start that occurs, or from every window where evidence spans more than numbers hold.
    here = levels[int(start.min()) : int(end.max()) + 1]
    wide = float(here.max() - here[here > -np.inf].min(initial=np.inf)) > WIDE
    which, row = np.unique(start * chain.cells + (end if wide else int(end.max())), return_inverse=True)
    first, last = which // chain.cells, which % chain.cells
    cells = np.arange(chain.cells)
    inside = (cells >= first[:, None]) & (cells <= last[:, None])
    top = np.where(inside, levels, -np.inf).max(axis=1)
    half = (chain.widths + 1.0) / 2.0
    evidence = np.exp(np.where(inside, levels - np.where(top > -np.inf, top, 0.0)[:, None], -np.inf))
    running = chain.widths * evidence
    every = np.arange(len(which))
    running[every, first] = half[first] * evidence[every, first]
    running = np.cumsum(running, axis=1)
    before_end = running[row, np.maximum(end - 1, 0)]
    share = even_shares(len(start), rng) * (before_end + half[end] * evidence[row, end])
    cell = np.minimum((running[row] <= share[:, None]).sum(axis=1), end)
    cell = np.where(start == end, end, np.maximum(cell, start))
    position = place(np.array([number]), cell)
    once = at_once >= 0
    return np.where(once, at_once, position), np.where(once, end, cell)
