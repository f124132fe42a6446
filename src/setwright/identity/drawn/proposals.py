"""Proposals: independent draws of joint histories from chains whose density is known.

A proposal is a mixture. Each of its parts takes the evidence of all sets of known or shared-out place, and one guess
of where the set on the bench stands, if that is not known: the guess tilts each change's evidence one way in the
cells before that place and the other way in those behind it, so that its chain is again exact.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from setwright.identity.chain import Chain, Leaning, build_chain, log_sum, log_window_means
from setwright.identity.drawn.chains import ChainDraws, Placing, draw_histories, draw_inside
from setwright.identity.drawn.events import Draws
from setwright.identity.drawn.free import draw_free, log_like, patterns_of
from setwright.identity.drawn.gathering import RunEvidence, possible_states
from setwright.identity.drawn.runs import Run
from setwright.identity.evidence import CellEvidence
from setwright.identity.model import Feature


@dataclass(frozen=True, slots=True)
class Guess:
    """One guess of the bench set's place: (changes of known block, C) tilt of the evidence of one run."""

    run: int
    tilt: np.ndarray
    weight: float


@dataclass(frozen=True, slots=True)
class Proposed:
    """Draws with log_density (n,) of how much likelier each was drawn than the prior has it, up to a constant."""

    draws: Draws
    log_density: np.ndarray


@dataclass(frozen=True, slots=True)
class _RunChain:
    run: Run
    evidence: RunEvidence
    chain: Chain
    leanings: tuple[Leaning, ...]
    means: tuple[np.ndarray, ...]

    def draw(self, chain: Chain, count: int, rng: np.random.Generator) -> tuple[ChainDraws, np.ndarray, np.ndarray]:
        """Histories from a chain on this run's cells; with the changes that span several blocks, their blocks."""
        drawn = draw_histories(chain, count, rng, self.placing(rng))
        cut_in, blocks = [drawn.cut_in], []
        for number, leaning in enumerate(self.leanings):
            spans = np.array(self.spans(number))
            chances = self.log_block_means(number, drawn)
            top = chances.max(axis=1, keepdims=True)
            cumulative = np.cumsum(np.exp(chances - top), axis=1)
            chosen = (cumulative <= (rng.random(count) * cumulative[:, -1])[:, None]).sum(axis=1)
            block = spans[np.minimum(chosen, len(spans) - 1)]
            every = np.arange(count)
            position, _ = draw_inside(
                chain,
                leaning.levels,
                drawn.start[every, block],
                drawn.end[every, block],
                drawn.at_once[every, block],
                rng,
                self.run.fixed + number,
                self.placing(rng),
            )
            cut_in.append(position[:, None])
            blocks.append(block)
        block_of = np.stack(blocks, axis=1) if blocks else np.empty((count, 0), dtype=np.int64)
        return drawn, np.concatenate(cut_in, axis=1), block_of

    def spans(self, number: int) -> tuple[int, ...]:
        """The blocks that a spanning change may belong to."""
        return self.run.changes[self.run.fixed + number].spans

    def log_block_means(self, number: int, drawn: ChainDraws) -> np.ndarray:
        """(n, spans) log of a spanning change's mean evidence over the window of each block it may belong to."""
        levels, means = self.leanings[number].levels, self.means[number]
        columns = []
        for block in self.spans(number):
            mean = means[drawn.start[:, block], drawn.end[:, block]]
            columns.append(np.where(drawn.at_once[:, block] >= 0, levels[drawn.end[:, block]], mean))
        return np.stack(columns, axis=1)

    def placing(self, rng: np.random.Generator) -> Placing:
        """Where inside a cell changes are made, by the sets that stand there."""
        fine = self.evidence.fine
        return lambda numbers, cell: fine.place(fine.levels[numbers].sum(axis=0), cell, rng)

    def log_at(self, number: int, position: np.ndarray) -> np.ndarray:
        """(n,) log of one change's evidence at positions."""
        cell = np.searchsorted(self.evidence.edges, position, side="left") - 1
        log: np.ndarray = self.evidence.fine.at(number, position) + self.evidence.soft[number, cell]
        return log

    def log_evidence(self, drawn: ChainDraws) -> np.ndarray:
        """(n,) log of the evidence that weighs each history in the chain, spanning changes left out."""
        total = np.zeros(len(drawn))
        for column in range(self.run.fixed):
            total += self.log_at(column, drawn.cut_in[:, column])
        return total

    def log_spanning(self, drawn: ChainDraws, cut_in: np.ndarray, block_of: np.ndarray) -> np.ndarray:
        """(n,) log of how much likelier than beforehand windows and cut-ins of the spanning changes were drawn."""
        total = np.zeros(len(drawn))
        for number, leaning in enumerate(self.leanings):
            means = self.log_block_means(number, drawn)
            for at, block in enumerate(self.spans(number)):
                total += leaning.exponent.get(block, 0.0) * means[:, at]
            chosen, every = block_of[:, number], np.arange(len(drawn))
            # At one stroke the block's other changes placed it: this one counts by its cell.
            at_once = drawn.at_once[every, chosen] >= 0
            by_cell = leaning.levels[drawn.end[every, chosen]]
            inside = self.log_at(self.run.fixed + number, cut_in[:, self.run.fixed + number])
            total += np.where(at_once, by_cell, inside) - log_sum(means, axis=1) + np.log(means.shape[1])
        return total


def _block_shares(run: Run, evidence: RunEvidence, one_stroke: float) -> list[dict[int, float]]:
    """How far each spanning change belongs to each block, from where the blocks' own evidence puts them."""
    if len(evidence.spanning) == 0:
        return []
    chain = build_chain(evidence.cells, run.block_sizes, one_stroke)
    rng = np.random.default_rng(0)
    probe = _RunChain(
        run,
        evidence,
        chain,
        tuple(Leaning(levels, {}) for levels in evidence.spanning),
        tuple(log_window_means(levels, chain.widths) for levels in evidence.spanning),
    )
    drawn = draw_histories(chain, PROBES, rng, probe.placing(rng))
    shares = []
    for number in range(len(evidence.spanning)):
        means = probe.log_block_means(number, drawn)
        each = np.exp(means - log_sum(means, axis=1)[:, None]).mean(axis=0)
        shares.append({block: float(share) for block, share in zip(probe.spans(number), each, strict=True)})
    return shares


PROBES = 256


class Proposal:
    """Chains of all runs, ready to be drawn from.

    guesses : of the bench set's place; none where it counts among the sets of known place.
    shares : per run and spanning change the power to which each block counts; default: by its evidence.
    one_stroke : the prior's weight of a block at one stroke; drawn_stroke : the chains' own, where it differs.
    """

    def __init__(
        self,
        runs: Sequence[Run],
        evidence: Sequence[RunEvidence],
        features: Sequence[Feature],
        free_shares: tuple[float, float, float],
        one_stroke: float,
        guesses: Sequence[Guess] = (),
        shares: Sequence[Sequence[dict[int, float]]] | None = None,
        defensive: float | None = None,
        drawn_stroke: float | None = None,
    ) -> None:
        self.runs, self.evidence, self.features, self.free_shares = runs, evidence, features, free_shares
        self.prior_stroke, self.guesses = one_stroke, guesses
        self.one_stroke = one_stroke if drawn_stroke is None else drawn_stroke
        self.defensive = defensive
        self.chains = []
        for number, (run, here) in enumerate(zip(runs, evidence, strict=True)):
            powers = _block_shares(run, here, self.one_stroke) if shares is None else shares[number]
            leanings = tuple(Leaning(levels, power) for levels, power in zip(here.spanning, powers, strict=True))
            chain = build_chain(here.cells, run.block_sizes, self.one_stroke, leanings)
            means = tuple(log_window_means(levels, chain.widths) for levels in here.spanning)
            self.chains.append(_RunChain(run, here, chain, leanings, means))
        self.tilted = [self._tilted(guess) for guess in guesses]

    def _tilted(self, guess: Guess) -> Chain:
        base = self.chains[guess.run]
        cells = base.evidence.cells
        stroke = cells.stroke.copy()
        for column, change in enumerate(base.run.changes[: base.run.fixed]):
            stroke[change.block] += guess.tilt[column]
        tilted = CellEvidence(cells.edges, cells.change + guess.tilt, stroke)
        return build_chain(tilted, base.run.block_sizes, self.one_stroke, base.leanings)

    def log_evidence_at(self, draws: Draws) -> np.ndarray:
        """(n,) log of the evidence, guesses left out, that weighs any histories in these chains."""
        total = np.zeros(draws.count)
        for number, base in enumerate(self.chains):
            for column in range(len(base.run.changes)):
                total += base.log_at(column, draws.cut_in[number][:, column])
            for key in base.run.free:
                total += log_like(base.evidence.free[key], draws.patterns[key], draws.free[key], base.evidence.edges)
        return total

    def draw(self, count: int, rng: np.random.Generator) -> Proposed:
        """Draw joint histories."""
        owners = self._allot(count, rng)
        log_density = np.zeros(count)
        mixture = np.zeros((len(self.guesses), count))
        cut_in, block, spread = [], [], []
        for number, base in enumerate(self.chains):
            parts = [(base.chain, np.flatnonzero(~np.isin(owners, self._guesses_in(number))))]
            parts += [(self.tilted[g], np.flatnonzero(owners == g)) for g in self._guesses_in(number)]
            drawn_cut = np.zeros((count, len(base.run.changes)), dtype=np.int64)
            drawn_block = np.zeros((count, len(base.leanings)), dtype=np.int64)
            drawn_spread = np.zeros(count, dtype=np.int64)
            for chain, rows in parts:
                if len(rows) == 0:
                    continue
                drawn, drawn_cut[rows], drawn_block[rows] = base.draw(chain, len(rows), rng)
                drawn_spread[rows] = (drawn.at_once < 0).sum(axis=1)
                log_density[rows] += base.log_evidence(drawn) - base.chain.total
                log_density[rows] += self._log_strokes(len(base.run.block_sizes), drawn_spread[rows])
                log_density[rows] += base.log_spanning(drawn, drawn_cut[rows], drawn_block[rows])
                for g in self._guesses_in(number):
                    tilt = self.guesses[g].tilt
                    leaning = np.zeros(len(rows))
                    for column in range(base.run.fixed):
                        leaning += tilt[column, drawn.cell[:, column]]
                    mixture[g, rows] = leaning - (self.tilted[g].total - base.chain.total)
            cut_in.append(drawn_cut)
            block.append(drawn_block)
            spread.append(drawn_spread)
        if self.guesses:
            weights = np.array([guess.weight for guess in self.guesses])
            log_density += log_sum(mixture + np.log(weights / weights.sum())[:, None], axis=0)
        free, patterns = {}, {}
        by_id = {feature.id: feature for feature in self.features}
        for base in self.chains:
            for key in base.run.free:
                states = possible_states(by_id[key[1]])
                extra = {} if self.defensive is None else {"defensive": self.defensive}
                free[key] = draw_free(
                    base.evidence.free[key], states, self.free_shares, base.evidence.edges, count, rng, **extra
                )
                patterns[key] = patterns_of(states, self.free_shares)
                log_density += free[key].log_ratio
        return Proposed(Draws(count, tuple(cut_in), tuple(block), tuple(spread), free, patterns), log_density)

    def _log_strokes(self, blocks: int, spread: np.ndarray) -> np.ndarray:
        """(n,) log of how much likelier these chains make it that so many blocks are spread out, up to a constant."""
        if self.one_stroke == self.prior_stroke:
            return np.zeros(len(spread))
        at_once = np.log(self.one_stroke) - np.log(self.prior_stroke)
        bit_by_bit = np.log1p(-self.one_stroke) - np.log1p(-self.prior_stroke)
        logs: np.ndarray = (blocks - spread) * at_once + spread * bit_by_bit
        return logs

    def _guesses_in(self, run: int) -> list[int]:
        return [g for g, guess in enumerate(self.guesses) if guess.run == run]

    def _allot(self, count: int, rng: np.random.Generator) -> np.ndarray:
        """(count,) the guess that each history is drawn from; -1 where there are none."""
        if not self.guesses:
            return np.full(count, -1)
        weights = np.cumsum([guess.weight for guess in self.guesses])
        shares = (np.arange(count) + rng.random()) / count * weights[-1]
        return np.minimum(np.searchsorted(weights, shares, side="right"), len(self.guesses) - 1)
