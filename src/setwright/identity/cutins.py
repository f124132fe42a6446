"""Where each change was cut in, given the survivors and the bench set.

The bench set stands before a block, behind it, or inside its window. The first two only change what comes
before and after the block's windows; the third was summed place by place (`standing`).
"""

from __future__ import annotations

import numpy as np

from setwright.identity.chain import LINEAR_RANGE, Chain, in_order, log_sum, log_window_sums, window_sums
from setwright.identity.standing import Standing

NEGLIGIBLE = 40.0


def cut_in_masses(chain: Chain, standing: Standing) -> list[np.ndarray]:
    """Per block (m, C) probability of each change's cut-in cell, given the line; each row sums to 1."""
    before_with, after_with = _messages_with_set(chain, standing)
    masses = []
    for block, inside in enumerate(standing.cut_in):
        neighbours = np.logaddexp(
            before_with[block][:, None] + chain.after[block][None, :],
            chain.before[block][:, None] + after_with[block][None, :],
        )
        elsewhere, scale = _block_masses(chain, block, neighbours)
        scale -= chain.total
        top = max(scale, inside.log_scale)
        mass = elsewhere * np.exp(scale - top) + inside.value * np.exp(inside.log_scale - top)
        masses.append(mass / mass.sum(axis=1, keepdims=True))
    return masses


def cut_in_masses_without_set(chain: Chain) -> list[np.ndarray]:
    """Per block (m, C) probability of each change's cut-in cell from the chain's own evidence; each row sums to 1."""
    masses = []
    for block, (before, after) in enumerate(zip(chain.before, chain.after, strict=True)):
        mass, _ = _block_masses(chain, block, before[:, None] + after[None, :])
        masses.append(mass / mass.sum(axis=1, keepdims=True))
    return masses


def _messages_with_set(chain: Chain, standing: Standing) -> tuple[list[np.ndarray], list[np.ndarray]]:
    """Per block (C,) log weight of what precedes a window starting there, or follows one ending there, the
    bench set among it; relative to the chain's total."""
    cells, blocks = chain.cells, len(chain.blocks)
    log_order = np.log(in_order(chain.widths))
    # Weight of the bench set alone, by boundary and stage, without the chain around it.
    with np.errstate(invalid="ignore"):
        around = chain.ended.T + chain.begun.T - chain.total
        alone = log_sum(standing.at_stage, axis=2) - np.where(around > -np.inf, around, 0.0)
    before_with: list[np.ndarray] = []
    passed = np.full(cells, -np.inf)
    for j in range(blocks):
        here = np.logaddexp.accumulate(alone[:, j] + chain.ended[j])[:-1]
        before = np.logaddexp(passed, here)
        before_with.append(before)
        end = np.logaddexp(log_sum(before[:, None] + chain.window[j], axis=0), before + chain.stroke[j])
        end = np.logaddexp(end, standing.ends[j] + chain.total)
        passed = np.logaddexp(np.append(-np.inf, np.logaddexp.accumulate(end)[:-1]), end + log_order)
    after_with: list[np.ndarray] = []
    coming = np.full(cells, -np.inf)
    for j in reversed(range(blocks)):
        here = np.logaddexp.accumulate((alone[:, j + 1] + chain.begun[j + 1])[::-1])[::-1][1:]
        after = np.logaddexp(coming, here)
        after_with.insert(0, after)
        start = np.logaddexp(log_sum(chain.window[j] + after[None, :], axis=1), chain.stroke[j] + after)
        start = np.logaddexp(start, standing.starts[j] + chain.total)
        coming = np.logaddexp(np.append(np.logaddexp.accumulate(start[::-1])[::-1][1:], -np.inf), start + log_order)
    return before_with, after_with


def _block_masses(chain: Chain, block: int, neighbours: np.ndarray) -> tuple[np.ndarray, float]:
    """(m, C) weight of each change's cut-in cell, times exp(scale), with no bench set inside the block's window.

    neighbours : (C, C) log weight of everything outside a window from cell a to cell b.
    """
    evidence = chain.blocks[block]
    masses = np.zeros_like(evidence)
    log_window = neighbours + chain.window[block]
    log_stroke = np.diagonal(neighbours) + chain.stroke[block]
    scale = float(max(log_window.max(), log_stroke.max()))
    if scale == -np.inf:
        return masses, scale
    masses += np.exp(log_stroke - scale) + np.exp(np.diagonal(log_window) - scale)
    keep = np.triu(log_window > scale - NEGLIGIBLE, 1)
    starts, ends = np.flatnonzero(keep.any(axis=1)), np.flatnonzero(keep.any(axis=0))
    if len(starts) == 0:
        return masses, scale
    box = slice(starts[0], ends[-1] + 1)
    log_window = np.where(
        np.triu(np.ones_like(log_window[box, box], dtype=bool), 1), log_window[box, box] - scale, -np.inf
    )
    for mass, levels in zip(masses, evidence[:, box], strict=True):
        direct = float(levels.max() - levels[levels > -np.inf].min(initial=np.inf)) <= LINEAR_RANGE
        mass[box] += (_spread if direct else _spread_in_logarithms)(log_window, levels, chain.widths[box])
    return masses, scale


def _spread(log_window: np.ndarray, levels: np.ndarray, widths: np.ndarray) -> np.ndarray:
    """(C,) weight of a change's cut-in per cell: each window's weight shared over it as the evidence is."""
    half = (widths + 1.0) / 2.0
    window = np.exp(log_window)
    scaled = np.exp(levels - levels.max())
    sums = window_sums(scaled, widths)
    shares = np.divide(window, sums, out=np.zeros_like(window), where=sums > 0.0)
    by_start = shares.sum(axis=1)
    by_end = shares.sum(axis=0)
    from_cell = np.cumsum(shares[:, ::-1], axis=1)[:, ::-1]
    strictly_inside = np.zeros(len(widths))
    # from_cell[a, u + 1] holds the windows that start in a and end beyond u; those with a < u have u inside.
    strictly_inside[:-1] = np.triu(from_cell[:, 1:], 1).sum(axis=0)
    spread: np.ndarray = scaled * (widths * strictly_inside + half * (by_start + by_end))
    return spread


def _spread_in_logarithms(log_window: np.ndarray, levels: np.ndarray, widths: np.ndarray) -> np.ndarray:
    """`_spread` for evidence too wide for floating point.

    Where many survivors contradict each other a window may matter although it lies far below the best evidence
    of one of its changes, the others speaking for it.
    """
    sums = log_window_sums(levels, widths)
    possible = (log_window > -np.inf) & (sums > -np.inf)
    shares = np.subtract(log_window, sums, out=np.full_like(sums, -np.inf), where=possible)
    at_ends = np.logaddexp(log_sum(shares, axis=1), log_sum(shares, axis=0))
    from_cell = np.logaddexp.accumulate(shares[:, ::-1], axis=1)[:, ::-1]
    inside = np.full(len(widths), -np.inf)
    earlier = np.triu(np.ones((len(widths), len(widths) - 1), dtype=bool), 1)
    inside[:-1] = log_sum(np.where(earlier, from_cell[:, 1:], -np.inf), axis=0)
    log_spread = levels + np.logaddexp(np.log(widths) + inside, np.log((widths + 1.0) / 2.0) + at_ends)
    spread: np.ndarray = np.exp(log_spread)
    return spread
