"""All lines together: probabilities of every verdict entry, change, condition and factory state."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from setwright.identity.assumptions import Assumptions
from setwright.identity.chain import Chain, build_chain
from setwright.identity.cutins import cut_in_masses
from setwright.identity.evidence import gather, place_edges, steps_of_line
from setwright.identity.factors import CONDITION_COUNT, LineFactors, SeenFeature, factory_shares, line_factors
from setwright.identity.history import History, LineHistory
from setwright.identity.model import Family, Survivors
from setwright.identity.places import Axis, Place, StandablePlaces, standable_places
from setwright.identity.standing import ScaledSum, Standing, stand

MOST_PLACE_EDGES = 48
"""A bench set with at most this many possible places gets an edge behind each of them."""


@dataclass(frozen=True, slots=True)
class Drawing:
    """How many histories the looks and the misfit are computed from, and from which seed."""

    seed: int
    draws: int = 384
    most_combinations: int = 256


@dataclass(frozen=True, slots=True)
class LinePosterior:
    """One line's part of the answer. Masses are joint with the line: over all lines they sum to 1.

    standable : the set's possible places.
    stage : (stages, 3) documented stages by condition. gap : (blocks, 3) between two stages.
    gap_made : per block (3, m) the change made and the set in the gap.
    cut_in : per block (m, C) given the line. in_cell : (C,) the set's place, given the line.
    """

    history: LineHistory
    axis: Axis
    chain: Chain
    factors: LineFactors
    standing: Standing
    standable: StandablePlaces
    probability: float
    log_scale: float
    stage: np.ndarray
    gap: np.ndarray
    gap_made: tuple[np.ndarray, ...]
    cut_in: tuple[np.ndarray, ...]
    in_cell: np.ndarray

    def entry_masses(self) -> np.ndarray:
        """(stages + blocks, 3) stages first, then gaps."""
        return np.concatenate([self.stage, self.gap])

    def state_masses(self, seen: SeenFeature) -> np.ndarray:
        """(stages + blocks, 3, states) how each entry's mass divides over a feature's factory states."""
        masses = self.entry_masses()
        states = {state: i for i, state in enumerate(seen.feature.all_states)}
        divided = np.zeros((*masses.shape, len(states)))
        changing = {change.feature for change in self.history.changes}
        if seen.feature.id not in changing:
            shares = seen.likelihood * factory_shares(seen.feature, self.history)
            return masses[:, :, None] * (shares / shares.sum(axis=1, keepdims=True))
        for i, stage in enumerate(self.history.stages):
            divided[i, :, states[stage.states[seen.feature.id]]] = masses[i]
        first_gap = len(self.history.stages)
        for j, (block, made) in enumerate(zip(self.history.blocks, self.gap_made, strict=True)):
            at = first_gap + j
            inside = [e for e, change in enumerate(block) if change.feature == seen.feature.id]
            if not inside:
                divided[at, :, states[self.history.stages[j].states[seen.feature.id]]] = masses[at]
                continue
            change = block[inside[0]]
            divided[at, :, states[change.to_state]] = made[:, inside[0]]
            divided[at, :, states[change.from_state]] = np.maximum(masses[at] - made[:, inside[0]], 0.0)
        return divided


def line_posteriors(
    family: Family,
    history: History,
    axes: dict[str, Axis],
    places: tuple[Place, ...],
    survivors: Survivors,
    seen: list[SeenFeature],
    assumptions: Assumptions,
    cells: int,
    drawing: Drawing,
) -> tuple[LinePosterior, ...]:
    """Sum over everything unknown about the bench set, line by line, and weigh the lines.

    Beforehand every line is equally likely, and within it every place; `places` are those the serial fits,
    on the axes.
    """
    rng = np.random.default_rng(drawing.seed)
    summed = []
    for line in history.lines:
        here = [place for place in places if place.line == line.line]
        if not here:
            continue
        axis = axes[line.line]
        steps = steps_of_line(family, line, axis, survivors, assumptions)
        sizes = tuple(len(block) for block in line.blocks)
        edges = place_edges(steps, sizes, axis, cells, _wanted_edges(line, here))
        chain = build_chain(gather(steps, sizes, edges), sizes, assumptions.one_stroke)
        standable = standable_places(axis, here, edges)
        with np.errstate(divide="ignore"):
            log_place = np.log(standable.weights / (axis.set_count * len(history.lines)))
        factors = line_factors(line, seen, assumptions)
        standing = stand(chain, factors, log_place, rng, drawing.draws, drawing.most_combinations)
        summed.append((line, axis, chain, factors, standing, standable))
    scales = [_log_total(standing) for *_, standing, _ in summed]
    top = np.logaddexp.reduce(scales)
    return tuple(_normalised(*parts, log_scale=float(top)) for parts in summed)


def _wanted_edges(line: LineHistory, places: list[Place]) -> np.ndarray:
    """Positions behind which cells must end: the set's own if they are few, and the documented bounds."""
    wanted = [c.earliest - 1 for c in line.changes if c.earliest is not None]
    wanted += [c.latest for c in line.changes if c.latest is not None]
    if sum(place.last - place.first + 1 for place in places) <= MOST_PLACE_EDGES:
        wanted += [position for place in places for position in range(place.first, place.last + 1)]
    return np.array(wanted, dtype=np.int64)


def _log_total(standing: Standing) -> float:
    """Log evidence of the bench set in a line, its prior share included."""
    parts = [standing.at_stage.ravel(), *(inside.log() for inside in standing.inside)]
    return float(np.logaddexp.reduce(np.concatenate(parts)))


def _normalised(
    line: LineHistory,
    axis: Axis,
    chain: Chain,
    factors: LineFactors,
    standing: Standing,
    standable: StandablePlaces,
    log_scale: float,
) -> LinePosterior:
    def plain(total: ScaledSum) -> np.ndarray:
        return total.value * np.exp(total.log_scale - log_scale)

    at_stage = np.exp(standing.at_stage - log_scale)
    stage = at_stage.sum(axis=0)
    blocks = len(line.blocks)
    gap = np.zeros((blocks, CONDITION_COUNT))
    gap_made = []
    for j in range(blocks):
        none, every = plain(standing.none_made[j]), plain(standing.all_made[j])
        stage[j] += none
        stage[j + 1] += every
        if len(line.blocks[j]) > 1:
            gap[j] = np.maximum(plain(standing.inside[j]) - none - every, 0.0)
        gap_made.append(np.minimum(np.maximum(plain(standing.made[j]) - every[:, None], 0.0), gap[j][:, None]))
    by_place = at_stage.sum(axis=(1, 2)) + plain(standing.by_place)
    return LinePosterior(
        history=line,
        axis=axis,
        chain=chain,
        factors=factors,
        standing=standing,
        standable=standable,
        probability=float(stage.sum() + gap.sum()),
        log_scale=log_scale,
        stage=stage,
        gap=gap,
        gap_made=tuple(gap_made),
        cut_in=tuple(cut_in_masses(chain, standing)),
        in_cell=standable.by_cell(by_place),
    )
