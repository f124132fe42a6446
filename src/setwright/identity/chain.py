"""The cut-ins of one line as a chain of windows, summed exactly.

Block j of changes has a window [S_j, T_j] with T_{j-1} <= S_j <= T_j. A window of length d = T - S has
prior weight q(d): q(0) = kappa (the block made at one stroke), q(d) = (1 - kappa) / (N - 1) otherwise;
inside it the block's cut-ins are independent and uniform. With L_e the evidence for change e,

    f_j(T) = sum over S of [sum over T' <= S of f_{j-1}(T')] q(T - S) prod_e mean_{u in [S, T]} exp L_e(u)

and g_j(S) likewise from the other end. All terms are non-negative and kept as logarithms, so nothing
cancels and nothing underflows. With one position a cell this is exact. In wider cells a window's ends
lie anywhere in their cells: on average (w + 1) / 2 of the w positions there belong to the window, and
of two ends falling into one cell (w + 1) / (2 w) of the pairs are in order.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from setwright.identity.evidence import CellEvidence

LINEAR_RANGE = 600.0
"""Products of evidence are formed directly while they stay within exp(+-600); beyond, as logarithms."""


@dataclass(frozen=True, slots=True)
class Chain:
    """Messages of one line's chain, as logarithms.

    edges, widths : the cells. blocks : per block (m, C) cell evidence of its changes.
    window : per block (C, C) weight of a window from cell a to cell b: positions, prior and mean evidence;
        on the diagonal windows of more than one position only.
    stroke : per block (C,) weight of the whole block at one position of the cell.
    shape : per block (C, C) like `window` without the evidence: prior weight over (size of window) ** m.
    before : per block (C,) weight of everything earlier, for a window that starts in the cell.
    after : per block (C,) weight of everything later, for a window that ends in the cell.
    ended : (blocks + 1, C + 1) weight of the first j blocks having all ended in the first k cells.
    begun : (blocks + 1, C + 1) weight of the blocks from j on (counted from 0) all lying behind the first k cells.
    total : weight of all histories.
    """

    edges: np.ndarray
    widths: np.ndarray
    blocks: tuple[np.ndarray, ...]
    window: tuple[np.ndarray, ...]
    stroke: tuple[np.ndarray, ...]
    shape: tuple[np.ndarray, ...]
    before: tuple[np.ndarray, ...]
    after: tuple[np.ndarray, ...]
    ended: np.ndarray
    begun: np.ndarray
    total: float

    @property
    def cells(self) -> int:
        """Number of cells."""
        return len(self.widths)


@dataclass(frozen=True, slots=True)
class Leaning:
    """Evidence of a change that may belong to several blocks, as a weight on the windows of each.

    levels : (C,) log of its evidence. exponent : block -> power to which its mean over the block's window counts.
    """

    levels: np.ndarray
    exponent: Mapping[int, float]


def build_chain(
    cells: CellEvidence, block_sizes: tuple[int, ...], one_stroke: float, leanings: Sequence[Leaning] = ()
) -> Chain:
    """Run the recursion forward and backward over the cells; `one_stroke` is kappa."""
    widths = cells.widths
    count = widths.sum()
    log_stroke = np.log(one_stroke) if count > 1 else 0.0
    log_spread = np.log1p(-one_stroke) - np.log(count - 1) if count > 1 and one_stroke < 1 else -np.inf
    pairs = _log_pairs(widths)
    size = _window_sizes(widths)
    blocks, window, stroke, shape = [], [], [], []
    first = 0
    for block, m in enumerate(block_sizes):
        evidence = cells.change[first : first + m]
        first += m
        prior = pairs + log_spread
        blocks.append(evidence)
        window.append(prior + _log_mean_products(evidence, widths, size))
        stroke.append(log_stroke + np.log(widths) + cells.stroke[block])
        for leaning in leanings:
            power = leaning.exponent.get(block, 0.0)
            if power:
                window[-1] = window[-1] + power * _log_mean_products(leaning.levels[None], widths, size)
                stroke[-1] = stroke[-1] + power * leaning.levels
        shape.append(prior - m * np.log(size))
    before, ended = _forward(window, stroke, widths)
    after, begun = _backward(window, stroke, widths)
    return Chain(
        edges=cells.edges,
        widths=widths,
        blocks=tuple(blocks),
        window=tuple(window),
        stroke=tuple(stroke),
        shape=tuple(shape),
        before=tuple(before),
        after=tuple(after),
        ended=ended,
        begun=begun,
        total=float(ended[-1, -1]),
    )


def log_window_means(levels: np.ndarray, widths: np.ndarray) -> np.ndarray:
    """(C, C) log of the mean of one change's evidence over the windows from cell a to cell b >= a."""
    return _log_mean_products(levels[None], widths, _window_sizes(widths))


def in_order(widths: np.ndarray) -> np.ndarray:
    """(C,) share of pairs of positions of one cell that are in order, equal ones counted."""
    return (widths + 1.0) / (2.0 * widths)


def _log_pairs(widths: np.ndarray) -> np.ndarray:
    """(C, C) log of the number of windows of more than one position from cell a to cell b >= a."""
    pairs = np.triu(np.outer(widths, widths), 1)
    np.fill_diagonal(pairs, widths * (widths - 1.0) / 2.0)
    with np.errstate(divide="ignore"):
        return np.log(pairs)


def _window_sizes(widths: np.ndarray) -> np.ndarray:
    """(C, C) mean number of positions in a window from cell a to cell b; 1 below the diagonal, and on it.

    On the diagonal evidence is averaged over the cell, so the size cancels.
    """
    half = (widths + 1.0) / 2.0
    inside = np.append(0.0, np.cumsum(widths))
    between = inside[None, :-1] - inside[1:, None]
    sizes: np.ndarray = np.where(between >= 0.0, half[:, None] + between + half[None, :], 1.0)
    return sizes


def _log_mean_products(evidence: np.ndarray, widths: np.ndarray, size: np.ndarray) -> np.ndarray:
    """(C, C) log of the product over changes of the mean evidence in the window from cell a to cell b."""
    cells = len(widths)
    product = np.zeros((cells, cells))
    direct = np.ones((cells, cells))
    used = 0.0
    for levels in evidence:
        top = levels.max()
        finite = levels[levels > -np.inf]
        span = float(top - finite.min()) if len(finite) else 0.0
        product += top
        if span > LINEAR_RANGE:
            product += log_window_sums(levels - top, widths) - np.log(size)
            continue
        if used + span > LINEAR_RANGE:
            product += _log(direct)
            direct, used = np.ones((cells, cells)), 0.0
        direct *= window_sums(np.exp(levels - top), widths) / size
        used += span
    return product + _log(direct)


def window_sums(evidence: np.ndarray, widths: np.ndarray) -> np.ndarray:
    """(C, C) sum of the evidence over windows: half cells at the ends; the plain cell on the diagonal."""
    half = (widths + 1.0) / 2.0
    cells = len(widths)
    running = np.triu(np.broadcast_to(widths * evidence, (cells, cells)), 1)
    np.fill_diagonal(running, half * evidence)
    np.cumsum(running, axis=1, out=running)
    sums = np.zeros_like(running)
    sums[:, 1:] = running[:, :-1] + (half * evidence)[1:]
    np.fill_diagonal(sums, evidence)
    return sums


def log_window_sums(levels: np.ndarray, widths: np.ndarray) -> np.ndarray:
    """`window_sums` kept as logarithms, for evidence too wide for floating point."""
    log_half = np.log((widths + 1.0) / 2.0)
    cells = len(widths)
    running = np.where(np.triu(np.ones((cells, cells), dtype=bool), 1), np.log(widths) + levels, -np.inf)
    np.fill_diagonal(running, log_half + levels)
    running = np.logaddexp.accumulate(running, axis=1)
    sums = np.full_like(running, -np.inf)
    sums[:, 1:] = np.logaddexp(running[:, :-1], (log_half + levels)[1:])
    np.fill_diagonal(sums, levels)
    return sums


def _forward(
    window: list[np.ndarray], stroke: list[np.ndarray], widths: np.ndarray
) -> tuple[list[np.ndarray], np.ndarray]:
    """Weights of what comes before each block's start, and of the first j blocks ended in the first k cells."""
    cells = len(widths)
    log_order = np.log(in_order(widths))
    before = []
    ended = np.full((len(window) + 1, cells + 1), -np.inf)
    ended[0] = 0.0
    start = np.zeros(cells)
    for j in range(len(window)):
        before.append(start)
        end = np.logaddexp(log_sum(start[:, None] + window[j], axis=0), start + stroke[j])
        ended[j + 1, 1:] = np.logaddexp.accumulate(end)
        start = np.logaddexp(ended[j + 1, :-1], end + log_order)
    return before, ended


def _backward(
    window: list[np.ndarray], stroke: list[np.ndarray], widths: np.ndarray
) -> tuple[list[np.ndarray], np.ndarray]:
    """Weights of what comes after each block's end, and of the blocks from j on lying behind the first k cells."""
    cells = len(widths)
    log_order = np.log(in_order(widths))
    after: list[np.ndarray] = []
    begun = np.full((len(window) + 1, cells + 1), -np.inf)
    begun[-1] = 0.0
    end = np.zeros(cells)
    for j in reversed(range(len(window))):
        after.insert(0, end)
        start = np.logaddexp(log_sum(window[j] + end[None, :], axis=1), stroke[j] + end)
        begun[j, :-1] = np.logaddexp.accumulate(start[::-1])[::-1]
        end = np.logaddexp(begun[j, 1:], start + log_order)
    return after, begun


def log_sum(values: np.ndarray, axis: int) -> np.ndarray:
    """log of the sum of exp along one axis; -inf where every term is."""
    top = values.max(axis=axis, keepdims=True)
    shift = np.where(top > -np.inf, top, 0.0)
    return _log(np.exp(values - shift).sum(axis=axis)) + np.squeeze(shift, axis=axis)


def _log(values: np.ndarray) -> np.ndarray:
    with np.errstate(divide="ignore"):
        logs: np.ndarray = np.log(values)
    return logs
