"""All lines together: probabilities of every verdict entry, change, condition and factory state."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from setwright.identity.assumptions import Assumptions
from setwright.identity.chain import Chain, build_chain
from setwright.identity.cutins import cut_in_masses
from setwright.identity.evidence import Steps, gather, place_edges, steps_of_line
from setwright.identity.factors import CONDITION_COUNT, LineFactors, SeenFeature, factory_shares, line_factors
from setwright.identity.findings import ChangePosterior
from setwright.identity.history import History, LineHistory
from setwright.identity.model import Family, Survivors
from setwright.identity.places import Axis, Place, StandablePlaces, standable_places
from setwright.identity.standing import ScaledSum, Standing, stand

MOST_PLACE_EDGES = 48
"""A bench set with at most this many possible places gets an edge behind each of them."""


@dataclass(frozen=True, slots=True)
class Drawing:
    """How many histories the looks and the misfit are computed from (about; 0: none), and from which seed."""

    seed: int
    draws: int = 384
    most_combinations: int = 256


@dataclass(frozen=True, slots=True)
class LinePosterior:
    """One line's part of the answer. Masses are joint with the line: over all lines they sum to 1.

    standable : the set's possible places.
    stage : (stages, 3) documented stages by condition. gap : (blocks, 3) between two stages.
    gap_made : per block (3, m) the change made and the set in the gap.
    Given the line: applied : per block (m,) the set has the change. cut_in : per block (m, C). in_cell : (C,)
    the set's place.
    """

    history: LineHistory
    axis: Axis
    chain: Chain
    standing: Standing
    standable: StandablePlaces
    probability: float
    log_scale: float
    stage: np.ndarray
    gap: np.ndarray
    gap_made: tuple[np.ndarray, ...]
    applied: tuple[np.ndarray, ...]
    cut_in: tuple[np.ndarray, ...]
    in_cell: np.ndarray

    def entry_masses(self) -> np.ndarray:
        """(stages + blocks, 3) stages first, then gaps."""
        return np.concatenate([self.stage, self.gap])

    @property
    def edges(self) -> np.ndarray:
        """Edges of the cells."""
        return self.chain.edges

    def can_stand(self, entry: int) -> bool:
        """Whether a set can be what the entry says: inside a block of one change none can stand."""
        gap = entry - len(self.history.stages)
        return gap < 0 or len(self.history.blocks[gap]) > 1

    def applied_given(self, entry: int) -> dict[str, float]:
        """Probability of each change of the line, given a verdict entry."""
        stages = len(self.history.stages)
        if entry < stages:
            return {change.id: float(change.block < entry) for change in self.history.changes}
        gap = entry - stages
        mass = float(self.gap[gap].sum())
        applied = {change.id: float(change.block < gap) for change in self.history.changes}
        made = self.gap_made[gap].sum(axis=0)
        inside = made / mass if mass > 0.0 else np.full(len(made), 0.5)
        inside = np.clip(inside, 0.0, 1.0)
        return applied | {c.id: float(p) for c, p in zip(self.history.blocks[gap], inside, strict=True)}

    def change_posteriors(self) -> tuple[ChangePosterior, ...]:
        """Every change of the line, its cut-in and whether the set has it."""
        return tuple(
            ChangePosterior(change, self.history.version_gaps[block], mass, float(applied))
            for block, changes in enumerate(self.history.blocks)
            for change, mass, applied in zip(changes, self.cut_in[block], self.applied[block], strict=True)
        )

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


@dataclass(frozen=True, slots=True)
class Cells:
    """How many cells an axis may have, and how many in a first, rougher answer that says where they belong, if any."""

    most: int
    rough: int | None


def line_groundwork(
    family: Family,
    history: History,
    axes: dict[str, Axis],
    places: tuple[Place, ...],
    survivors: Survivors,
    assumptions: Assumptions,
    cells: Cells,
) -> tuple[LineGroundwork, ...]:
    """What the sums over each line's places rest on, whatever was seen of the bench set.

    Beforehand every line is equally likely, and within it every place; `places` are those the serial fits,
    on the axes.
    """
    grounds = []
    for line in history.lines:
        here = [place for place in places if place.line == line.line]
        if not here:
            continue
        axis = axes[line.line]
        ground = LineGroundwork(
            history=line,
            axis=axis,
            places=here,
            steps=steps_of_line(family, line, axis, survivors, assumptions),
            sizes=tuple(len(block) for block in line.blocks),
            prior_of_place=1.0 / (axis.set_count * len(history.lines)),
            one_stroke=assumptions.one_stroke,
            cells=cells,
        )
        grounds.append(ground.cut_where_known())
    return tuple(grounds)


def line_posteriors(
    grounds: tuple[LineGroundwork, ...], seen: list[SeenFeature], assumptions: Assumptions, drawing: Drawing
) -> tuple[LinePosterior, ...]:
    """Sum over everything unknown about the bench set, line by line, and weigh the lines."""
    rng = np.random.default_rng(drawing.seed)
    summed = []
    for ground in grounds:
        factors = line_factors(ground.history, seen, assumptions)
        summed.append(_summed(ground, ground.cut or ground.cut_by(factors), factors, rng, drawing))
    top = np.logaddexp.reduce([part.log_total for part in summed])
    return tuple(_normalised(part, float(top)) for part in summed)


@dataclass(frozen=True, slots=True)
class Cut:
    """A line's axis cut into cells. log_place : (C + 1,) prior of the set's place by boundary."""

    chain: Chain
    standable: StandablePlaces
    log_place: np.ndarray


@dataclass(frozen=True, slots=True)
class LineGroundwork:
    """One line and the survivors' evidence, before anything is said of the bench set but its serial.

    steps : the survivors' evidence; None where the axis is cut already. cut : None where a rougher answer has to say
    first where the cells belong.
    """

    history: LineHistory
    axis: Axis
    places: list[Place]
    steps: Steps | None
    sizes: tuple[int, ...]
    prior_of_place: float
    one_stroke: float
    cells: Cells
    cut: Cut | None = None

    def cut_where_known(self) -> LineGroundwork:
        """The same with its axis cut, where what was seen of the set makes no difference to that."""
        cells = self.cells
        if cells.rough is not None and self.axis.count > cells.most and self.sizes:
            return self
        return replace(self, cut=self._cut(self._edges(cells.most)), steps=None)

    def cut_by(self, factors: LineFactors) -> Cut:
        """Cells where the survivors' evidence needs them, and where a rougher answer puts the set and the cut-ins."""
        assert self.cells.rough is not None
        edges = self._edges(self.cells.rough)
        part = _summed(self, self._cut(edges), factors, np.random.default_rng(0), Drawing(0, draws=0))
        rough = _normalised(part, part.log_total)
        cut_in = np.concatenate(rough.cut_in).mean(axis=0)
        return self._cut(self._edges(self.cells.most, found=(edges, rough.in_cell + cut_in)))

    def _edges(self, most: int, found: tuple[np.ndarray, np.ndarray] | None = None) -> np.ndarray:
        assert self.steps is not None
        return place_edges(self.steps, self.sizes, self.axis, most, _wanted_edges(self.history, self.places), found)

    def _cut(self, edges: np.ndarray) -> Cut:
        assert self.steps is not None
        chain = build_chain(gather(self.steps, self.sizes, edges), self.sizes, self.one_stroke)
        standable = standable_places(self.axis, self.places, edges)
        with np.errstate(divide="ignore"):
            log_place = np.log(standable.weights * self.prior_of_place)
        return Cut(chain, standable, log_place)


@dataclass(frozen=True, slots=True)
class _Summed:
    """One line's sums over some cells."""

    ground: LineGroundwork
    cut: Cut
    standing: Standing

    @property
    def log_total(self) -> float:
        """Log evidence of the bench set in the line, its prior share included."""
        parts = [self.standing.at_stage.ravel(), *(inside.log() for inside in self.standing.inside)]
        return float(np.logaddexp.reduce(np.concatenate(parts)))


def _summed(
    ground: LineGroundwork, cut: Cut, factors: LineFactors, rng: np.random.Generator, drawing: Drawing
) -> _Summed:
    """The sums over every window, place and condition, in the cells of a cut."""
    standing = stand(cut.chain, factors, cut.log_place, rng, drawing.draws, drawing.most_combinations)
    return _Summed(ground, cut, standing)


def _wanted_edges(line: LineHistory, places: list[Place]) -> np.ndarray:
    """Positions behind which cells must end: the set's own if they are few, and the documented bounds."""
    wanted = [c.earliest - 1 for c in line.changes if c.earliest is not None]
    wanted += [c.latest for c in line.changes if c.latest is not None]
    if sum(place.last - place.first + 1 for place in places) <= MOST_PLACE_EDGES:
        wanted += [position for place in places for position in range(place.first, place.last + 1)]
    return np.array(wanted, dtype=np.int64)


def _normalised(part: _Summed, log_scale: float) -> LinePosterior:
    """The line's masses relative to all lines together, whose log evidence is `log_scale`.

    What is given the line is divided by the line's own evidence, which may be too small beside the others'
    for floating point.
    """
    line, standing, chain = part.ground.history, part.standing, part.cut.chain
    own = part.log_total

    def plain(total: ScaledSum) -> np.ndarray:
        return total.value * np.exp(total.log_scale - own)

    at_stage = np.exp(standing.at_stage - own)
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
    share = float(np.exp(own - log_scale))
    return LinePosterior(
        history=line,
        axis=part.ground.axis,
        chain=chain,
        standing=standing,
        standable=part.cut.standable,
        probability=share * float(stage.sum() + gap.sum()),
        log_scale=log_scale,
        stage=share * stage,
        gap=share * gap,
        gap_made=tuple(share * made for made in gap_made),
        applied=_applied(stage.sum(axis=1), gap.sum(axis=1), [made.sum(axis=0) for made in gap_made]),
        cut_in=tuple(cut_in_masses(chain, standing)),
        in_cell=part.cut.standable.by_cell(by_place),
    )


def _applied(stage: np.ndarray, gap: np.ndarray, gap_made: list[np.ndarray]) -> tuple[np.ndarray, ...]:
    """Per block (m,) probability that the set has each change: it stands in a later stage or gap, or in this gap
    with the change made."""
    total = stage.sum() + gap.sum()
    return tuple(
        np.minimum((stage[j + 1 :].sum() + gap[j + 1 :].sum() + made) / total, 1.0) for j, made in enumerate(gap_made)
    )
