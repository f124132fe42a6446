"""Features that no document of a line mentions: their history is learnt from the sets.

Beforehand such a feature changes with probability 1/2 (every order of its states equally likely, its cut-ins
ordered and uniform over the run), keeps one state throughout with 1/4, or is mixed throughout with 1/4, the shares
uniform (two suppliers at a time).
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import comb

import numpy as np

from setwright.identity.chain import log_sum
from setwright.identity.drawn.chains import even_shares
from setwright.identity.drawn.fine import FineSteps

SHARE_POINTS = 512
"""Points that stand for all ways of mixing; evenly spread, so that sums over them are close to the integral."""

DEFENSIVE = 0.1
"""Share of the draws that follows the prior's patterns, so that none is missed where the evidence is only estimated."""

CHANGES, THROUGHOUT, MIXED = "changes", "throughout", "mixed"


@dataclass(frozen=True, slots=True)
class FreeEvidence:
    """What the sets say about one free feature, by cell of the run's axis.

    start : (states,) log-likelihood of all sets if they were all built in one state.
    step : (states, states, C) change of it if from a cell on they were built in the second state, not the first.
    mixed : (points,) log-likelihood at each point of `share_points`. fine : exact step functions of the sets of known
    place, by the number in `pairs` of a pair of states; up to a constant in each cell they make the steps.
    """

    start: np.ndarray
    step: np.ndarray
    mixed: np.ndarray
    fine: FineSteps
    pairs: Mapping[tuple[int, int], int]


@dataclass(frozen=True, slots=True)
class FreeDraws:
    """n histories of one free feature.

    pattern : (n,) index into `patterns_of`. cut_in : (n, states - 1) ordered positions, NEVER beyond the pattern's.
    shares : (n, states), for mixed histories; zeros otherwise. log_ratio : (n,) log of how much likelier each was
    drawn than the prior has it, up to a constant.
    """

    pattern: np.ndarray
    cut_in: np.ndarray
    shares: np.ndarray
    log_ratio: np.ndarray

    def rows(self, rows: np.ndarray) -> FreeDraws:
        """Some of the histories."""
        return FreeDraws(self.pattern[rows], self.cut_in[rows], self.shares[rows], self.log_ratio[rows])


@dataclass(frozen=True, slots=True)
class FreePattern:
    """One kind of history: its states in order (one where it does not change, none where they are mixed)."""

    kind: str
    order: tuple[int, ...]
    prior: float


@lru_cache(maxsize=256)
def patterns_of(states: tuple[int, ...], shares: tuple[float, float, float]) -> tuple[FreePattern, ...]:
    """Every pattern of a feature whose possible states are these, with its prior probability."""
    if len(states) == 1:
        return (FreePattern(THROUGHOUT, states, 1.0),)
    orders = list(itertools.permutations(states))
    return (
        *(FreePattern(CHANGES, order, shares[0] / len(orders)) for order in orders),
        *(FreePattern(THROUGHOUT, (state,), shares[1] / len(states)) for state in states),
        FreePattern(MIXED, (), shares[2]),
    )


@lru_cache(maxsize=16)
def share_points(states: int) -> np.ndarray:
    """(points, states) ways of mixing, evenly spread over all shares that add up to one; read-only."""
    if states == 1:
        points = np.ones((1, 1))
    elif states == 2:
        first = (np.arange(SHARE_POINTS) + 0.5) / SHARE_POINTS
        points = np.stack([first, 1.0 - first], axis=1)
    else:
        from scipy.stats import qmc  # takes half a second to load, and few features have three states

        cuts = np.sort(qmc.Sobol(states - 1, seed=0).random(SHARE_POINTS), axis=1)
        points = np.diff(cuts, prepend=0.0, append=1.0, axis=1)
    points.setflags(write=False)
    return points


def draw_free(
    evidence: FreeEvidence,
    states: tuple[int, ...],
    shares: tuple[float, float, float],
    edges: np.ndarray,
    count: int,
    rng: np.random.Generator,
    defensive: float = DEFENSIVE,
) -> FreeDraws:
    """Draw histories of one free feature from its evidence.

    states : the possible ones, by number; evidence and shares have one entry each for all of the feature's states.
    edges : of the cells.
    """
    widths = np.diff(edges).astype(float)
    patterns = patterns_of(states, shares)
    walks = {number: _Walk(evidence, p.order, widths) for number, p in enumerate(patterns) if p.kind == CHANGES}
    points = share_points(len(states))
    log_each = np.array(
        [
            walks[number].log_mean
            if pattern.kind == CHANGES
            else evidence.start[pattern.order[0]]
            if pattern.kind == THROUGHOUT
            else np.logaddexp.reduce(evidence.mixed) - np.log(len(points))
            for number, pattern in enumerate(patterns)
        ]
    )
    prior = np.array([pattern.prior for pattern in patterns])
    posterior = prior * np.exp(log_each - log_each.max())
    chance = (1.0 - defensive) * posterior / posterior.sum() + defensive * prior
    cumulative = np.cumsum(chance)
    pattern = np.searchsorted(cumulative / cumulative[-1], even_shares(count, rng), side="right")
    pattern = np.minimum(pattern, len(patterns) - 1)
    all_states = len(evidence.start)
    cut_in = np.full((count, max(len(states) - 1, 0)), 0, dtype=np.int64)
    mixed_shares = np.zeros((count, all_states))
    log_ratio = np.log(chance[pattern] / prior[pattern])
    for number, one in enumerate(patterns):
        rows = np.flatnonzero(pattern == number)
        if len(rows) == 0:
            continue
        if one.kind == CHANGES:
            cut_in[rows], log_density = walks[number].draw(edges, len(rows), rng)
            log_ratio[rows] += log_density
        elif one.kind == MIXED:
            weight = np.exp(evidence.mixed - evidence.mixed.max())
            weight /= weight.sum()
            point = np.searchsorted(np.cumsum(weight)[:-1], even_shares(len(rows), rng), side="right")
            mixed_shares[np.ix_(rows, np.array(states))] = points[point]
            log_ratio[rows] += np.log(weight[point] * len(points))
    return FreeDraws(pattern, cut_in, mixed_shares, log_ratio)


def log_like(
    evidence: FreeEvidence, patterns: Sequence[FreePattern], drawn: FreeDraws, edges: np.ndarray
) -> np.ndarray:
    """(n,) log-likelihood of the sets counted in the evidence, at any histories; mixed ones by their nearest point."""
    total = np.zeros(len(drawn.pattern))
    for number, pattern in enumerate(patterns):
        rows = np.flatnonzero(drawn.pattern == number)
        if pattern.kind == MIXED:
            states = drawn.shares[rows].max(axis=0) > 0.0 if len(rows) else np.zeros(0, dtype=bool)
            points = share_points(max(int(states.sum()), 1))
            apart = np.square(drawn.shares[rows][:, None, states] - points[None]).sum(axis=2) if len(rows) else None
            total[rows] = evidence.mixed[apart.argmin(axis=1)] if apart is not None else 0.0
            continue
        total[rows] = evidence.start[pattern.order[0]]
        for stage, pair in enumerate(itertools.pairwise(pattern.order)):
            position = drawn.cut_in[rows, stage]
            cell = np.searchsorted(edges, position, side="left") - 1
            fine = (
                evidence.fine.at(evidence.pairs[pair], position) - evidence.fine.log_means(evidence.pairs[pair])[cell]
            )
            total[rows] += evidence.step[pair][cell] + fine
    return total


class _Walk:
    """All ordered cut-ins of one order of states, summed cell by cell.

    Several cut-ins may fall into one cell: of w positions there are w (w + 1) / 2 ordered pairs, and so on, so a
    state of the sum is (cell, how many of the latest cut-ins lie in it).
    """

    def __init__(self, evidence: FreeEvidence, order: Sequence[int], widths: np.ndarray) -> None:
        self.widths = widths
        self.steps = [evidence.step[a, b] for a, b in itertools.pairwise(order)]
        self.fine = evidence.fine
        self.pairs = [evidence.pairs[pair] for pair in itertools.pairwise(order)]
        self.means = [evidence.fine.log_means(pair) for pair in self.pairs]
        cells, stages = len(widths), len(self.steps)
        with np.errstate(divide="ignore"):
            log_width = np.log(widths)
        self.weight: list[np.ndarray] = []  # per stage (run length, C)
        for stage, step in enumerate(self.steps):
            here = np.full((stages, cells), -np.inf)
            if stage == 0:
                here[0] = log_width + step
            else:
                last = self.weight[-1]
                ended = np.logaddexp.accumulate(log_sum(last, axis=0))
                here[0, 1:] = ended[:-1] + log_width[1:] + step[1:]
                for run in range(1, stage + 1):
                    here[run] = last[run - 1] + np.log((widths + run) / (run + 1.0)) + step
            self.weight.append(here)
        total = int(widths.sum())
        self.log_all = float(np.logaddexp.reduce(self.weight[-1].ravel()))
        self.start = float(evidence.start[order[0]])
        self.log_orders = float(np.log(comb(total + stages - 1, stages)))

    @property
    def log_mean(self) -> float:
        """Log-likelihood of all sets, averaged over all ordered cut-ins."""
        return self.start + self.log_all - self.log_orders

    def draw(self, edges: np.ndarray, count: int, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
        """(count, stages) positions, and log of (density drawn / prior density) of each."""
        cells, stages = len(self.widths), len(self.steps)
        chosen = np.zeros((count, stages), dtype=np.int64)
        flat = self.weight[-1].ravel()
        pick = _draw_from(np.broadcast_to(flat, (1, len(flat))), np.zeros(count, dtype=np.int64), rng)
        run, cell = pick // cells, pick % cells
        for stage in reversed(range(stages)):
            chosen[:, stage] = cell
            if stage == 0:
                break
            last = self.weight[stage - 1]
            by_cell = log_sum(last, axis=0)
            table = np.where(np.arange(cells)[None, :] < np.arange(cells)[:, None], by_cell[None, :], -np.inf)
            fresh = run == 0
            new_run, new_cell = run - 1, cell.copy()
            if fresh.any():
                new_cell[fresh] = _draw_from(table, cell[fresh], rng)
                runs = _draw_from(last.T, new_cell[fresh], rng)
                new_run[fresh] = runs
            run, cell = new_run, new_cell
        position = _place_in_cells(chosen, edges, self.widths, rng)
        log_density = self.log_orders - self.log_all + np.zeros(count)
        for stage, pair in enumerate(self.pairs):
            cell = chosen[:, stage]
            log_density += self.steps[stage][cell]
            # A cut-in alone in its cell goes where the sets in the cell say; several there are placed evenly.
            alone = np.flatnonzero((chosen == cell[:, None]).sum(axis=1) == 1)
            levels = self.fine.levels[pair]
            position[alone, stage] = self.fine.place(levels, cell[alone], rng)
            log_density[alone] += self.fine.at(pair, position[alone, stage]) - self.means[stage][cell[alone]]
        return position, log_density


def _draw_from(log_table: np.ndarray, row: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """One column for each of the rows asked for, by the weights in that row."""
    top = log_table.max(axis=1, keepdims=True)
    cumulative = np.cumsum(np.exp(log_table - np.where(top > -np.inf, top, 0.0)), axis=1)
    share = even_shares(len(row), rng) * cumulative[row, -1]
    picked: np.ndarray = (cumulative[row] <= share[:, None]).sum(axis=1)
    return np.minimum(picked, log_table.shape[1] - 1)


def _place_in_cells(cells: np.ndarray, edges: np.ndarray, widths: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Positions inside their cells; several in one cell are ordered, all ordered choices equally likely."""
    offset = np.floor(rng.random(cells.shape) * widths[cells]).astype(np.int64)
    together = np.flatnonzero((np.diff(cells, axis=1) == 0).any(axis=1) & (widths[cells] > 1).any(axis=1))
    for row in together:
        for cell in np.unique(cells[row]):
            at = np.flatnonzero(cells[row] == cell)
            # Ordered with repeats: distinct places among width + t - 1, each less how many precede it.
            room = int(widths[cell]) + len(at) - 1
            offset[row, at] = np.sort(rng.choice(room, size=len(at), replace=False)) - np.arange(len(at))
    positions: np.ndarray = edges[cells] + 1 + offset
    return positions
