"""All windows of one block that hold the bench set: some changes made before its place, some after.

For a window from cell a to cell b around boundary k, change e was made with weight new_e(a), the evidence
from a to k, and not yet made with weight old_e(b), the evidence from k to b; given the window the changes
are independent, so the weight of a window is its prior times the product of new_e(a) + old_e(b).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from setwright.identity.chain import LINEAR_RANGE, Chain, log_sum
from setwright.identity.factors import CONDITION_COUNT, LineFactors

SIGNIFICANT = 40.0
"""Where evidence is too wide for floating point, windows below exp(-40) of the best are dropped."""

MOST_LISTED = 4_000_000
"""Numbers kept while listing every combination of a block's changes."""


@dataclass(frozen=True, slots=True)
class InsideDraw:
    """Histories from inside one block's window: made (n, m) which changes, each weighing exp(log_weight).

    `complete` says that they are all combinations, each once, and no sample.
    """

    block: int
    condition: int
    made: np.ndarray
    log_weight: np.ndarray
    complete: bool


@dataclass(frozen=True, slots=True)
class Windows:
    """The windows of `block` around `place`, from cells `rows` to cells `columns`.

    log_weight : (rows, columns) everything but the block's own evidence. outside : (3,) factors of the set
    that do not depend on the window. log_new : (3, m, rows) and log_old : (3, m, columns) evidence times what
    was seen. around : (3, rows, columns) whole weight of each window, times exp(log_scale).
    direct : whether that could be formed without logarithms; then new and old are exp of log_new and log_old
    less top, (m,), their scale.
    """

    chain: Chain
    factors: LineFactors
    block: int
    place: int
    rows: slice
    columns: slice
    log_weight: np.ndarray
    outside: np.ndarray
    log_new: np.ndarray
    log_old: np.ndarray
    top: np.ndarray
    new: np.ndarray
    old: np.ndarray
    around: np.ndarray
    log_scale: float
    direct: bool

    def log_none_made(self) -> np.ndarray:
        """(3,) log weight of the set having none of the block's changes."""
        by_end = log_sum(self.log_weight, axis=0)
        return log_sum(self.log_old.sum(axis=1) + by_end, axis=1) + self.outside

    def log_all_made(self) -> np.ndarray:
        """(3,) log weight of the set having all of the block's changes."""
        by_start = log_sum(self.log_weight, axis=1)
        return log_sum(self.log_new.sum(axis=1) + by_start, axis=1) + self.outside

    def changes(self) -> tuple[np.ndarray, np.ndarray]:
        """Weights, times exp(log_scale), of each change made, (3, m), and of its cut-in cell, (m, C)."""
        if not self.direct:
            return self._changes_in_logarithms()
        either = self.new[:, :, :, None] + self.old[:, :, None, :]
        others = np.divide(self.around[:, None], either, out=np.zeros_like(either), where=either > 0.0)
        by_start, by_end = others.sum(axis=3), others.sum(axis=2)
        return (self.new * by_start).sum(axis=2), self._cut_in(by_start, by_end)

    def _cut_in(self, by_start: np.ndarray, by_end: np.ndarray) -> np.ndarray:
        """(m, C) each change's weight over its cut-in cells: whole cells inside a window, half ones at its ends.

        by_start, by_end : (3, m, rows) and (3, m, columns) weight of windows without the change's own factor.
        """
        widths = self.chain.widths
        half = (widths + 1.0) / 2.0
        evidence = self.chain.blocks[self.block] - self.top[:, None]
        earlier, later = slice(self.rows.start, self.place), slice(self.place, self.columns.stop)
        mass = np.zeros_like(evidence)
        starting = np.zeros((*by_start.shape[:2], earlier.stop - earlier.start))
        starting[:, :, : by_start.shape[2]] = by_start
        spread = widths[earlier] * _sum_before(starting) + half[earlier] * starting
        made = np.exp(evidence[:, earlier] + self.factors.new[self.block][:, :, None])
        mass[:, earlier] = (made * spread).sum(axis=0)
        ending = np.zeros((*by_end.shape[:2], later.stop - later.start))
        ending[:, :, ending.shape[2] - by_end.shape[2] :] = by_end
        spread = widths[later] * _sum_before(ending[:, :, ::-1])[:, :, ::-1] + half[later] * ending
        not_made = np.exp(evidence[:, later] + self.factors.old[self.block][:, :, None])
        mass[:, later] = (not_made * spread).sum(axis=0)
        return mass

    def _changes_in_logarithms(self) -> tuple[np.ndarray, np.ndarray]:
        """`changes` where factors are too wide for floating point.

        Survivors that contradict each other can make windows matter in which one change's factor is nothing
        beside what it is in others, so no one scale serves all of them.
        """
        either = np.logaddexp(self.log_new[:, :, :, None], self.log_old[:, :, None, :])
        with np.errstate(divide="ignore"):
            around = np.broadcast_to(np.log(self.around)[:, None], either.shape)
        others = np.subtract(around, either, out=np.full_like(either, -np.inf), where=around > -np.inf)
        by_start, by_end = log_sum(others, axis=3), log_sum(others, axis=2)
        made = np.exp(log_sum(self.log_new + by_start, axis=2))
        widths, evidence = self.chain.widths, self.chain.blocks[self.block]
        earlier, later = slice(self.rows.start, self.place), slice(self.place, self.columns.stop)
        starting = np.full((*by_start.shape[:2], earlier.stop - earlier.start), -np.inf)
        starting[:, :, : by_start.shape[2]] = by_start
        ending = np.full((*by_end.shape[:2], later.stop - later.start), -np.inf)
        ending[:, :, ending.shape[2] - by_end.shape[2] :] = by_end
        mass = np.zeros_like(evidence)
        spread = _log_spread(starting, widths[earlier]) + self.factors.new[self.block][:, :, None]
        mass[:, earlier] = np.exp(log_sum(evidence[:, earlier] + spread, axis=0))
        spread = _log_spread(ending[:, :, ::-1], widths[later][::-1])[:, :, ::-1]
        spread = spread + self.factors.old[self.block][:, :, None]
        mass[:, later] = np.exp(log_sum(evidence[:, later] + spread, axis=0))
        return made, mass


def windows_around(
    chain: Chain, factors: LineFactors, block: int, place: int, log_place: float, box: tuple[int, int, int, int]
) -> Windows | None:
    """The windows of a block around a place whose start and end cells lie in `box`; None if there are none.

    log_place : log prior weight of the place. Weights are relative to the chain's own total.
    """
    rows, columns = slice(box[0], min(box[1] + 1, place)), slice(max(box[2], place), box[3] + 1)
    if rows.start >= rows.stop or columns.start >= columns.stop:
        return None
    evidence = chain.blocks[block]
    made = _evidence_before(evidence, chain.widths, rows, place)
    not_made = _evidence_after(evidence, chain.widths, columns, place)
    log_new = made[None] + factors.new[block][:, :, None]
    log_old = not_made[None] + factors.old[block][:, :, None]
    log_weight = (
        chain.before[block][rows, None]
        + chain.shape[block][rows, columns]
        + chain.after[block][None, columns]
        + (log_place - chain.total)
    )
    outside = factors.constant + factors.rest[block]
    top = np.maximum(log_new.max(axis=(0, 2)), log_old.max(axis=(0, 2)))
    best = float(log_weight.max())
    if not (np.isfinite(top).all() and best > -np.inf):
        return None
    new, old = np.empty(0), np.empty(0)
    direct = _span(log_new, log_old, top) + _finite_span(log_weight) <= LINEAR_RANGE
    if direct:
        highest = float(outside.max())
        around = np.exp(log_weight - best) * np.exp(outside - highest)[:, None, None]
        new, old = np.exp(log_new - top[:, None]), np.exp(log_old - top[:, None])
        for e in range(len(top)):
            around *= new[:, e, :, None] + old[:, e, None, :]
        scale = best + highest + float(top.sum())
    else:
        around, scale = _in_logarithms(log_weight, outside, log_new, log_old)
        if scale == -np.inf:
            return None
    return Windows(
        chain=chain,
        factors=factors,
        block=block,
        place=place,
        rows=rows,
        columns=columns,
        log_weight=log_weight,
        outside=outside,
        log_new=log_new,
        log_old=log_old,
        top=top,
        new=new,
        old=old,
        around=around,
        log_scale=scale,
        direct=direct,
    )


def _in_logarithms(
    log_weight: np.ndarray, outside: np.ndarray, log_new: np.ndarray, log_old: np.ndarray
) -> tuple[np.ndarray, float]:
    """Weight and log_scale of windows whose factors span more than floating point holds; the significant ones only."""
    log_around = log_weight[None] + outside[:, None, None]
    for e in range(log_new.shape[1]):
        log_around = log_around + np.logaddexp(log_new[:, e, :, None], log_old[:, e, None, :])
    scale = float(log_around.max())
    around = np.where(log_around > scale - SIGNIFICANT, np.exp(log_around - max(scale, -np.finfo(float).max)), 0.0)
    return around, scale


def _log_spread(starting: np.ndarray, widths: np.ndarray) -> np.ndarray:
    """Logarithms of the weight that each cell takes of windows starting in it, half of it, or before it, all of it."""
    before = np.full_like(starting, -np.inf)
    before[..., 1:] = np.logaddexp.accumulate(starting[..., :-1], axis=-1)
    spread: np.ndarray = np.logaddexp(np.log(widths) + before, np.log((widths + 1.0) / 2.0) + starting)
    return spread


def _evidence_before(evidence: np.ndarray, widths: np.ndarray, rows: slice, place: int) -> np.ndarray:
    """(m, rows) log of the evidence from the start cell to the place: half of the first cell, all others."""
    cells = slice(rows.start, place)
    whole = np.log(widths[cells]) + evidence[:, cells]
    first = np.log((widths[cells] + 1.0) / 2.0) + evidence[:, cells]
    behind = np.full_like(whole, -np.inf)
    behind[:, :-1] = np.logaddexp.accumulate(whole[:, ::-1], axis=1)[:, ::-1][:, 1:]
    return np.logaddexp(behind, first)[:, : rows.stop - rows.start]


def _evidence_after(evidence: np.ndarray, widths: np.ndarray, columns: slice, place: int) -> np.ndarray:
    """(m, columns) log of the evidence from the place to the end cell: half of the last cell, all others."""
    cells = slice(place, columns.stop)
    whole = np.log(widths[cells]) + evidence[:, cells]
    last = np.log((widths[cells] + 1.0) / 2.0) + evidence[:, cells]
    ahead = np.full_like(whole, -np.inf)
    ahead[:, 1:] = np.logaddexp.accumulate(whole, axis=1)[:, :-1]
    return np.logaddexp(ahead, last)[:, columns.start - place :]


def draw_inside(window: Windows, rng: np.random.Generator, count: int) -> list[InsideDraw]:
    """Draw `count` histories for each condition: a window, then each change made or not."""
    draws = []
    columns = window.around.shape[2]
    for condition in range(CONDITION_COUNT):
        cumulative = np.cumsum(window.around[condition])
        if cumulative[-1] <= 0.0:
            continue
        # One draw from each of `count` equal shares of the weight, so that no part is missed by chance.
        share = (np.arange(count) + rng.random(count)) / count * cumulative[-1]
        chosen = np.minimum(np.searchsorted(cumulative, share, side="right"), len(cumulative) - 1)
        new = window.log_new[condition][:, chosen // columns].T
        old = window.log_old[condition][:, chosen % columns].T
        made = np.log(1.0 - rng.random(new.shape)) + np.logaddexp(new, old) < new
        log_weight = np.full(count, np.log(cumulative[-1] / count) + window.log_scale)
        draws.append(InsideDraw(window.block, condition, made, log_weight, complete=False))
    return draws


def list_inside(window: Windows, rng: np.random.Generator, count: int) -> list[InsideDraw]:
    """Every combination of the block's changes with its weight; drawn instead where that would be too many."""
    changes = window.log_new.shape[1]
    spread = window.around.size // CONDITION_COUNT * 2**changes
    if spread > MOST_LISTED or not window.direct:
        return draw_inside(window, rng, count)
    combinations = np.array(np.meshgrid(*[[False, True]] * changes, indexing="ij")).reshape(changes, -1).T
    weight = np.exp(window.log_weight - window.log_weight.max())
    draws = []
    for condition in range(CONDITION_COUNT):
        products = weight[None]
        for e in range(changes):
            not_made = products * window.old[condition, e][None, None, :]
            products = np.stack([not_made, products * window.new[condition, e][None, :, None]], axis=1)
            products = products.reshape(-1, *weight.shape)
        with np.errstate(divide="ignore"):
            logs = np.log(products.sum(axis=(1, 2)))
        logs += window.log_weight.max() + window.outside[condition] + window.top.sum()
        draws.append(InsideDraw(window.block, condition, combinations, logs, complete=True))
    return draws


def _sum_before(values: np.ndarray) -> np.ndarray:
    """Sums of everything left of each column."""
    sums = np.zeros_like(values)
    np.cumsum(values[..., :-1], axis=-1, out=sums[..., 1:])
    return sums


def _span(log_new: np.ndarray, log_old: np.ndarray, top: np.ndarray) -> float:
    """How far the product over changes of new + old can fall below its scale."""
    lowest = np.maximum(_finite_min(log_new), _finite_min(log_old))
    return float((top - lowest).sum())


def _finite_min(logs: np.ndarray) -> np.ndarray:
    lowest: np.ndarray = np.where(logs > -np.inf, logs, np.inf).min(axis=(0, 2))
    return np.where(lowest < np.inf, lowest, -np.inf)


def _finite_span(logs: np.ndarray) -> float:
    finite = logs[logs > -np.inf]
    return float(finite.max() - finite.min())
