"""Where the bench set stands in one line: all of its own latents summed exactly.

Windows are in order, so a set at a given place stands inside at most one block's window. Everywhere else
its factory state is a documented stage; inside, each change of that block is made or not, independently
given the window. Places are the boundaries between cells: at boundary k the set comes after the first k
cells, so it has exactly the changes whose cut-in lies in them.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from setwright.identity.chain import Chain
from setwright.identity.factors import CONDITION_COUNT, LineFactors
from setwright.identity.windows import InsideDraw, Windows, draw_inside, list_inside, windows_around

NEGLIGIBLE = 36.0
"""Windows whose weight cannot exceed exp(-36), 2e-16, of the whole are passed over."""


@dataclass(slots=True)
class ScaledSum:
    """A running sum of arrays too different in size for floating point: value * exp(log_scale)."""

    value: np.ndarray
    log_scale: float = -np.inf

    def add(self, value: np.ndarray, log_scale: float) -> None:
        """Add value * exp(log_scale)."""
        if log_scale > self.log_scale:
            self.value = self.value * np.exp(self.log_scale - log_scale)
            self.log_scale = log_scale
        self.value = self.value + value * np.exp(log_scale - self.log_scale)

    def log(self) -> np.ndarray:
        """The sum's logarithm."""
        with np.errstate(divide="ignore"):
            logs: np.ndarray = np.log(self.value) + self.log_scale
        return logs


@dataclass(slots=True)
class Standing:
    """The bench set in one line, all weights relative to the survivors' own evidence, as logarithms.

    at_stage : (places, stages, 3) outside every window, by documented stage and condition.
    inside : per block ScaledSum (3,) inside its window, all combinations of its changes together.
    none_made, all_made : per block ScaledSum (3,) the combinations that equal a documented stage.
    made : per block ScaledSum (3, m) each change made.
    cut_in : per block ScaledSum (m, C) cut-ins of a block's changes while the set is inside its window.
    ends, starts : per block (C,) weight of windows around the set by last cell (without what follows)
        and by first cell (without what precedes).
    by_place : ScaledSum (places,) weight inside windows at each boundary.
    draws : samples of what was made inside windows.
    """

    at_stage: np.ndarray
    inside: list[ScaledSum]
    none_made: list[ScaledSum]
    all_made: list[ScaledSum]
    made: list[ScaledSum]
    cut_in: list[ScaledSum]
    ends: list[np.ndarray]
    starts: list[np.ndarray]
    by_place: ScaledSum
    draws: list[InsideDraw] = field(default_factory=list)


def stand(
    chain: Chain,
    factors: LineFactors,
    log_place: np.ndarray,
    rng: np.random.Generator,
    draws_wanted: int,
    most_combinations: int,
) -> Standing:
    """Sum over every place, window and condition of the bench set in one line.

    log_place : (C + 1,) log prior weight of each boundary. draws_wanted : about how many histories to draw
    from inside windows for each block and condition, 0 for none; a block of at most
    log2(`most_combinations`) changes is listed exhaustively where the set has few possible places.
    """
    places = np.flatnonzero(log_place > -np.inf)
    stages = factors.stage.shape[1]
    standing = Standing(
        at_stage=np.full((len(log_place), stages, CONDITION_COUNT), -np.inf),
        inside=[ScaledSum(np.zeros(CONDITION_COUNT)) for _ in chain.blocks],
        none_made=[ScaledSum(np.zeros(CONDITION_COUNT)) for _ in chain.blocks],
        all_made=[ScaledSum(np.zeros(CONDITION_COUNT)) for _ in chain.blocks],
        made=[ScaledSum(np.zeros((CONDITION_COUNT, len(block)))) for block in chain.blocks],
        cut_in=[ScaledSum(np.zeros((len(block), chain.cells))) for block in chain.blocks],
        ends=[np.full(chain.cells, -np.inf) for _ in chain.blocks],
        starts=[np.full(chain.cells, -np.inf) for _ in chain.blocks],
        by_place=ScaledSum(np.zeros(len(log_place))),
    )
    weight = chain.ended[:, places] + chain.begun[:, places] - chain.total  # (stages, places)
    standing.at_stage[places] = (
        weight.T[:, :, None] + log_place[places, None, None] + factors.stage.T[None] + factors.constant
    )
    floor = float(standing.at_stage.max())
    per_place = max(-(-draws_wanted // max(len(places), 1)), 4)
    for block in range(len(chain.blocks)):
        box = _relevant(chain, factors, block, float(log_place.max()), floor)
        if box is None:
            continue
        listed = 2 ** len(chain.blocks[block]) * len(places) <= most_combinations
        for place in places:
            window = windows_around(chain, factors, block, int(place), float(log_place[place]), box)
            if window is not None:
                _tally(window, standing)
                if not draws_wanted:
                    continue
                draw = list_inside if listed else draw_inside
                standing.draws += draw(window, rng, per_place)
    return standing


def _relevant(
    chain: Chain, factors: LineFactors, block: int, log_place: float, floor: float
) -> tuple[int, int, int, int] | None:
    """First and last start cell, first and last end cell of windows that can matter; None if none does.

    `floor` is a lower bound of the whole weight, so what stays below floor - NEGLIGIBLE cannot be seen.
    """
    best = np.maximum(factors.new[block], factors.old[block]).sum(axis=1)
    best = float((best + factors.rest[block] + factors.constant).max())
    weight = chain.before[block][:, None] + chain.window[block] + chain.after[block][None, :]
    keep = np.triu(weight + (log_place + best - chain.total) > floor - NEGLIGIBLE, 1)
    rows, columns = np.flatnonzero(keep.any(axis=1)), np.flatnonzero(keep.any(axis=0))
    if len(rows) == 0:
        return None
    return int(rows[0]), int(rows[-1]), int(columns[0]), int(columns[-1])


def _tally(window: Windows, standing: Standing) -> None:
    """Add one place's windows of one block to the sums."""
    block, scale = window.block, window.log_scale
    standing.inside[block].add(window.around.sum(axis=(1, 2)), scale)
    for kept, logs in ((standing.none_made, window.log_none_made()), (standing.all_made, window.log_all_made())):
        top = float(logs.max())
        if top > -np.inf:
            kept[block].add(np.exp(logs - top), top)
    made, cut_in = window.changes()
    standing.made[block].add(made, scale)
    standing.cut_in[block].add(cut_in, scale)
    at_place = np.zeros_like(standing.by_place.value)
    at_place[window.place] = window.around.sum()
    standing.by_place.add(at_place, scale)
    with np.errstate(divide="ignore"):
        by_end = np.log(window.around.sum(axis=(0, 1))) + scale
        by_start = np.log(window.around.sum(axis=(0, 2))) + scale
    _add_where_possible(standing.ends[block][window.columns], by_end, window.chain.after[block][window.columns])
    _add_where_possible(standing.starts[block][window.rows], by_start, window.chain.before[block][window.rows])


def _add_where_possible(log_sums: np.ndarray, logs: np.ndarray, log_divisor: np.ndarray) -> None:
    """log_sums <- log(exp(log_sums) + exp(logs) / exp(log_divisor)), in place, where the term is not nothing."""
    some = logs > -np.inf
    log_sums[some] = np.logaddexp(log_sums[some], logs[some] - log_divisor[some])
