"""Cut-ins from items of any kind: whatever has a place in a row and a likelihood before and after each change.

The chain of windows knows nothing of radios. An item's log-likelihood may be that of a survivor's feature, a
count, a measurement, a date: this is the door for all of them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from setwright.identity.assumptions import Assumptions
from setwright.identity.chain import build_chain
from setwright.identity.cutins import cut_in_masses_without_set
from setwright.identity.evidence import MOST_CELLS, gather, place_edges, steps_from_items
from setwright.identity.places import SERIAL_UNIT, Axis


@dataclass(frozen=True, slots=True)
class ItemCutIns:
    """Where each change was cut in.

    edges : (C + 1,) last position of each cell, before them the last position before the first cell.
    mass : (m, C) probability of each change's cut-in cell; rows sum to 1.
    log_evidence : log of the items' likelihood, averaged over the prior of the cut-ins, relative to that of all
        items lying behind every change (each of them in its "to" states).
    """

    edges: np.ndarray
    mass: np.ndarray
    log_evidence: float


def cut_ins_from_items(
    positions: np.ndarray,
    log_ratios: np.ndarray,
    first: int,
    last: int,
    *,
    block_sizes: tuple[int, ...] | None = None,
    one_stroke: float | None = None,
) -> ItemCutIns:
    """Cut-ins on the positions `first` … `last` from items that stand there.

    positions : (n,) ascending whole positions of the items, any number of them at one position.
    log_ratios : (m, n) log P(item | before change) - log P(item | after it), the changes in the order of blocks.
        An item at position s lies behind a change cut in at tau if s >= tau.
    block_sizes : changes of each block; all of one block are made before any of the next. Default: one block.
    one_stroke : prior probability that a block is made at one position; 1 makes all ordered cut-ins equally likely.

    Exact up to 512 positions, beyond that in as many cells (see `chain`). Raises ValueError where positions are
    not ascending or leave the range, where shapes differ, or where a ratio is not a number.

    >>> log_ratios = np.array([[2.0, 2.0, -2.0, -2.0]])
    >>> found = cut_ins_from_items(np.array([1, 2, 3, 4]), log_ratios, 1, 4, one_stroke=1.0)
    >>> int(found.mass.argmax()) + 1, round(float(found.mass.max()), 3)
    (3, 0.776)
    """
    positions, log_ratios = np.asarray(positions, dtype=np.int64), np.asarray(log_ratios, dtype=float)
    sizes = (len(log_ratios),) if block_sizes is None else block_sizes
    _check(positions, log_ratios, first, last, sizes)
    axis = Axis("", first, last, SERIAL_UNIT, ((first, last),))
    kappa = Assumptions().one_stroke if one_stroke is None else one_stroke
    steps = steps_from_items(positions, len(log_ratios), log_ratios, axis)
    edges = place_edges(steps, sizes, axis, MOST_CELLS, np.empty(0, dtype=np.int64))
    chain = build_chain(gather(steps, sizes, edges), sizes, kappa)
    nothing = steps_from_items(positions[:0], len(log_ratios), np.zeros((len(log_ratios), 0)), axis)
    prior = build_chain(gather(nothing, sizes, edges), sizes, kappa)
    return ItemCutIns(edges, np.concatenate(cut_in_masses_without_set(chain)), chain.total - prior.total)


def _check(positions: np.ndarray, log_ratios: np.ndarray, first: int, last: int, sizes: tuple[int, ...]) -> None:
    if log_ratios.ndim != 2 or positions.ndim != 1 or log_ratios.shape[1] != len(positions):
        raise ValueError(
            f"log_ratios must have one row a change and one column an item; {log_ratios.shape} was given for "
            f"{len(positions)} items."
        )
    if sum(sizes) != len(log_ratios) or min(sizes, default=1) < 1:
        raise ValueError(f"block_sizes {sizes} must each be at least 1 and add up to {len(log_ratios)} changes.")
    if np.any(np.diff(positions) < 0):
        raise ValueError("positions must be ascending.")
    if len(positions) and (positions[0] < first or positions[-1] > last):
        raise ValueError(f"positions must lie from {first} to {last}; {positions[0]} to {positions[-1]} were given.")
    if np.isnan(log_ratios).any():
        raise ValueError("log_ratios must be numbers; some are not.")
