"""What the survivors of one line say about each cut-in, and the cells in which it is kept.

A feature's states follow each other, so its log-likelihood telescopes: the evidence for a change is a
function of its own cut-in alone,

    L(tau) = sum over survivors with s < tau of [log P(seen | from) - log P(seen | to)],

a step function with a step behind each survivor.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from setwright.identity.assumptions import Assumptions
from setwright.identity.history import LineHistory
from setwright.identity.likelihood import log_likelihood_by_code
from setwright.identity.model import Family, ImpossibleHistory, Survivors
from setwright.identity.places import FRACTION_UNIT, Axis

MOST_CELLS = 512
"""An axis of up to this many positions may have one position a cell: then nothing is averaged."""

UNIFORM_SHARE = 0.3
"""Share of the cells spread evenly over the axis, whatever the evidence says."""

MOST_SURVIVOR_EDGES = 128
"""Up to this many survivors each gets an edge of its own, so that a step never falls inside a cell."""


@dataclass(frozen=True, slots=True)
class Steps:
    """Step functions on an axis: ends (n,) is the last position of each step, levels (m, n) their values."""

    first: int
    ends: np.ndarray
    levels: np.ndarray

    @property
    def widths(self) -> np.ndarray:
        """How many positions each step covers, (n,)."""
        return np.diff(self.ends, prepend=self.first - 1)

    def split_ends(self, edges: np.ndarray) -> np.ndarray:
        """The ends with every edge on the axis among them."""
        edges = np.unique(edges[(edges >= self.first) & (edges <= self.ends[-1])])
        at = np.searchsorted(self.ends, edges)
        new = self.ends[at] != edges
        return np.insert(self.ends, at[new], edges[new])


def steps_from_items(positions: np.ndarray, changes: int, log_ratios: Iterable[np.ndarray], axis: Axis) -> Steps:
    """Evidence for cut-ins from items of any kind.

    positions : (n,) ascending positions of the items. log_ratios : for each of the `changes` (n,) of
    log P(item | from) - log P(item | to). The value of a cut-in is the sum over the items before it.
    """
    new_position = np.diff(positions, prepend=axis.first - 1) > 0
    ends = positions[new_position]
    before = np.flatnonzero(new_position)
    if len(ends) == 0 or ends[-1] < axis.last:
        ends, before = np.append(ends, axis.last), np.append(before, len(positions))
    levels = np.empty((changes, len(ends)))
    sums = np.zeros(len(positions) + 1)
    for row, log_ratio in zip(levels, log_ratios, strict=True):
        np.cumsum(log_ratio, out=sums[1:])
        row[:] = sums[before]
    return Steps(axis.first, ends, levels)


def steps_of_line(
    family: Family, history: LineHistory, axis: Axis, survivors: Survivors, assumptions: Assumptions
) -> Steps:
    """The evidence of all survivors of the line for all of its changes, documented bounds included."""
    rows = np.flatnonzero((survivors.line == family.line_ids.index(history.line)) & (survivors.position >= 0))
    rows = rows[(survivors.position[rows] >= axis.first) & (survivors.position[rows] <= axis.last)]
    rows = rows[np.argsort(survivors.position[rows], kind="stable")]

    def log_ratios() -> Iterator[np.ndarray]:
        for change in history.changes:
            seen = survivors.seen.get(change.feature)
            if seen is None:
                yield np.zeros(len(rows))
                continue
            feature = family.feature(change.feature)
            by_code = log_likelihood_by_code(feature, assumptions)
            states = feature.all_states
            ratio = by_code[:, states.index(change.from_state)] - by_code[:, states.index(change.to_state)]
            # Not seen and looks serviced are negative codes: they read the zeros appended at the end.
            yield np.append(ratio, [0.0, 0.0])[seen[rows]]

    steps = steps_from_items(survivors.position[rows], len(history.changes), log_ratios(), axis)
    return steps if axis.unit == FRACTION_UNIT else within_bounds(steps, history.changes)


class Bounded(Protocol):
    """A change with the earliest and latest cut-in that the documents allow."""

    @property
    def id(self) -> str: ...  # noqa: D102
    @property
    def earliest(self) -> int | None: ...  # noqa: D102
    @property
    def latest(self) -> int | None: ...  # noqa: D102


def within_bounds(steps: Steps, changes: Sequence[Bounded]) -> Steps:
    """Steps, one row for each of the changes, with no probability left outside the documented bounds.

    Raises ImpossibleHistory where a bound leaves a change no serial of the axis.
    """
    cuts = [c.earliest - 1 for c in changes if c.earliest is not None] + [
        c.latest for c in changes if c.latest is not None
    ]
    if not cuts:
        return steps
    ends = steps.split_ends(np.array(cuts, dtype=np.int64))
    levels = steps.levels[:, np.searchsorted(steps.ends, ends)]
    for row, change in zip(levels, changes, strict=True):
        if change.earliest is not None:
            row[ends < change.earliest] = -np.inf
        if change.latest is not None:
            row[ends > change.latest] = -np.inf
        if row.max() == -np.inf:
            raise ImpossibleHistory(
                f"Change {change.id}: the documented bounds leave it no serial between {steps.first} and "
                f"{steps.ends[-1]}, the first and last of the line. Correct the bound or the last serial."
            )
    return Steps(steps.first, ends, levels)


@dataclass(frozen=True, slots=True)
class CellEvidence:
    """The evidence gathered into cells.

    edges : (C + 1,) last position before the first cell, then the last position of each cell.
    change : (m, C) log of the mean of exp L over the positions of a cell, per change.
    stroke : (blocks, C) the same for all changes of a block made at one position.
    """

    edges: np.ndarray
    change: np.ndarray
    stroke: np.ndarray

    @property
    def widths(self) -> np.ndarray:
        """Positions in each cell, (C,), as floats."""
        return np.diff(self.edges).astype(float)


def gather(steps: Steps, block_sizes: tuple[int, ...], edges: np.ndarray) -> CellEvidence:
    """Average the evidence of steps over the cells between `edges`; `block_sizes` splits the changes."""
    ends = steps.split_ends(edges[1:])
    step = np.searchsorted(steps.ends, ends)
    width = np.diff(ends, prepend=steps.first - 1).astype(float)
    starts = np.searchsorted(ends, edges[:-1], side="right")
    counts = np.diff(starts, append=len(ends))
    log_cell = np.log(np.diff(edges).astype(float))

    def mean(levels: np.ndarray) -> np.ndarray:
        # Row by row: a copy of all levels of a register of a million would cost more than the sums.
        if len(ends) == len(edges) - 1:
            return levels[step]
        fine = levels[step]
        top = np.maximum.reduceat(fine, starts)
        shift = np.repeat(np.where(top > -np.inf, top, 0.0), counts)
        sums = np.add.reduceat(np.exp(fine - shift) * width, starts)
        with np.errstate(divide="ignore"):  # a cell outside a change's documented bounds holds nothing of it
            means: np.ndarray = np.log(sums) + top - log_cell
        return means

    change = np.empty((len(steps.levels), len(edges) - 1))
    for row, levels in zip(change, steps.levels, strict=True):
        row[:] = mean(levels)
    stroke = np.empty((len(block_sizes), len(edges) - 1))
    first = 0
    for row, size in zip(stroke, block_sizes, strict=True):
        row[:] = mean(steps.levels[first : first + size].sum(axis=0))
        first += size
    return CellEvidence(edges, change, stroke)


def place_edges(
    steps: Steps,
    block_sizes: tuple[int, ...],
    axis: Axis,
    most_cells: int,
    wanted: np.ndarray,
    found: tuple[np.ndarray, np.ndarray] | None = None,
) -> np.ndarray:
    """Edges of at most `most_cells` cells: one position a cell if they fit, else dense where evidence puts mass.

    wanted : positions behind which an edge must stand (the bench set's own, documented bounds); more than fit
    become cells all the same. found : edges and mass by cell of a rougher answer, which says where the joint
    posterior lies; it counts as much as its mass, beside 1 for the one-dimensional evidence.
    """
    if axis.count <= most_cells:
        return np.arange(axis.first - 1, axis.last + 1)
    if len(steps.ends) <= min(MOST_SURVIVOR_EDGES, most_cells // 2):
        wanted = np.append(wanted, steps.ends)
    fixed = np.unique(wanted[(wanted >= axis.first) & (wanted < axis.last)]).astype(np.int64)
    budget = max(most_cells - 1 - len(fixed), 0)
    even_count = int(budget * UNIFORM_SHARE)
    peaks = _quantiles(steps, block_sizes, budget - even_count, found)
    # Peaks often fall on one position together; what that saves is spread evenly, as far as it fits.
    spare = budget - even_count - len(np.setdiff1d(peaks, fixed))
    for extra in (spare, spare // 2, 0):
        even = np.linspace(axis.first - 1, axis.last, even_count + extra + 2)[1:-1].astype(np.int64)
        inner = np.unique(np.concatenate([fixed, peaks, even]))
        inner = inner[(inner >= axis.first) & (inner < axis.last)]
        if len(inner) < most_cells:
            break
    return np.concatenate([[axis.first - 1], inner, [axis.last]])


def _quantiles(
    steps: Steps, block_sizes: tuple[int, ...], count: int, found: tuple[np.ndarray, np.ndarray] | None
) -> np.ndarray:
    """Positions that split the one-dimensional evidence of all changes and blocks into equal parts, or that and
    the mass found together."""
    widths = steps.widths
    density = np.zeros(len(steps.ends))
    first = 0
    for size in block_sizes:
        block = steps.levels[first : first + size]
        for levels in [*block, block.sum(axis=0)] if size > 1 else block:
            if levels.max() > -np.inf:  # bounds may rule out that a whole block came at one stroke
                mass = widths * np.exp(levels - levels.max())
                density += mass / mass.sum()
        first += size
    if not first:
        density = widths.astype(float)
    cumulative = np.append(0.0, np.cumsum(density / density.sum()))
    ends = np.append(steps.first - 1, steps.ends)
    if found is not None:
        edges, mass = found
        both = np.union1d(ends, edges)
        cumulative = np.interp(both, ends, cumulative) + np.interp(both, edges, np.append(0.0, np.cumsum(mass)))
        ends = both
    parts = (np.arange(count) + 0.5) / max(count, 1) * cumulative[-1]
    return np.round(np.interp(parts, cumulative, ends)).astype(np.int64)
