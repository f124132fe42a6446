"""Joint histories of a whole family, drawn and weighed: survivors altered, unlabelled, married, documents silent.

Plug-in passes make each set's evidence one-dimensional per change, as the exact chain needs it; independent
histories are drawn from that chain and weighed by what the sets really say of them. Where too few of the draws
would count, blocked Gibbs sampling goes on from them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from setwright.identity.assumptions import Assumptions
from setwright.identity.drawn.events import Draws, LineEvents, line_events
from setwright.identity.drawn.flat import log_likelihood, within_bounds
from setwright.identity.drawn.gathering import RunEvidence, RunGathering
from setwright.identity.drawn.known import KnownItems
from setwright.identity.drawn.marginal import Marginal, draw_latents
from setwright.identity.drawn.proposals import Guess, Proposal
from setwright.identity.drawn.responsibilities import Cells, Sharing, SoftItem, states_at
from setwright.identity.drawn.runs import LineView, Run
from setwright.identity.drawn.sets import Sets, Tables
from setwright.identity.groups import Group
from setwright.identity.model import Feature
from setwright.identity.progress import Progress

MOST_CELLS = 192
PROBES = 300
PASSES = 2
GUESSES = 12
DEFENCE = 0.1
DRAWN_STROKE = 0.35
"""Histories are drawn with blocks more often spread out than the prior has it, and weighed back: ranges of cut-ins
need those (see `spread`)."""

ENOUGH, WANTED = 0.3, 0.15
MOST_LOTS = 2
PILOT, MOST_PILOTS = 4, 3
"""Where survivors' places are uncertain, up to three pilot lots of a quarter of the draws teach how to draw better,
until the share ENOUGH of one is effective. Then a whole lot is drawn, and a second one if all together are not worth
the share WANTED of one."""

TINY = np.finfo(float).tiny


def no_progress(text: str, share: float) -> None:
    """Tell nobody."""


@dataclass(frozen=True, slots=True)
class Register:
    """A family's lines and all sets that count, ready for drawing.

    sets : the survivors whose own unknowns count, and the bench set last. flat : other survivors, of known place,
        that count item by item at their marginal rates.
    """

    runs: tuple[Run, ...]
    views: tuple[LineView, ...]
    features: tuple[Feature, ...]
    sets: Sets
    tables: Tables
    groups: tuple[Group, ...]
    assumptions: Assumptions
    flat: KnownItems | None = None

    @property
    def bench(self) -> int:
        """The row of the set on the bench."""
        return len(self.sets) - 1

    def marginal(self, draws: Draws) -> Marginal:
        """Likelihoods of the sets in drawn histories."""
        return Marginal(self.views, draws, self.sets, self.tables, self.groups, self.assumptions.married)


@dataclass(frozen=True, slots=True)
class Weighed:
    """Histories with log weights, and the likelihoods of all sets under them."""

    draws: Draws
    log_weight: np.ndarray
    marginal: Marginal
    evidence: tuple[RunEvidence, ...]

    @property
    def weight(self) -> np.ndarray:
        """(n,) weights that sum to one."""
        weight: np.ndarray = np.exp(self.log_weight - np.logaddexp.reduce(self.log_weight))
        return weight

    def resampled(self, count: int, rng: np.random.Generator) -> Draws:
        """Histories of equal weight, picked by their weights."""
        shares = (np.arange(count) + rng.random()) / count
        picked = np.searchsorted(np.cumsum(self.weight), shares)
        return self.draws.rows(np.minimum(picked, self.draws.count - 1))

    @property
    def effective(self) -> float:
        """How many independent draws of equal weight these are worth."""
        return float(1.0 / np.square(self.weight).sum())


class Drawing:
    """Draws and weighs joint histories of one register."""

    def __init__(self, register: Register, seed: int, most_cells: int = MOST_CELLS, progress: Progress = no_progress):
        self.register = register
        self.rng = np.random.default_rng([seed, 4])
        self.most_cells = most_cells
        self.progress = progress
        self.gatherings = [
            RunGathering(run, number, register.views, register.features) for number, run in enumerate(register.runs)
        ]
        self.sharing = Sharing(
            register.views, register.sets, register.tables, register.groups, register.assumptions.married
        )

    def weighed(self, count: int) -> Weighed:
        """Draw `count` histories and weigh them."""
        evidence, events = self._first_evidence()
        bench: SoftItem | None = None
        passes = PASSES + (len(self.sharing.unknown) > 0)
        for number in range(passes):
            self.progress("Sharing out what is unknown of the sets", 0.05 + 0.2 * number / passes)
            evidence, bench = self._shared_evidence(evidence, events)
            if number < passes - 1:
                events = self._events(self._proposal(evidence).draw(PROBES, self.rng).draws)
        lots: list[Weighed] = []
        if self._placeless:
            lots, evidence, bench = self._pilots(count // PILOT, evidence, bench)
        wanted = WANTED * count
        while sum(lot.effective for lot in lots) < wanted and sum(lot.draws.count >= count for lot in lots) < MOST_LOTS:
            if lots:
                evidence, bench = self._taught(max(lots, key=lambda lot: lot.effective), evidence)
            lots.append(self._lot(count, evidence, bench, lots))
        return lots[0] if len(lots) == 1 else self._pooled(lots)

    def _pilots(
        self, count: int, evidence: tuple[RunEvidence, ...], bench: SoftItem | None
    ) -> tuple[list[Weighed], tuple[RunEvidence, ...], SoftItem | None]:
        """Small lots of draws, each teaching the next, while few of them are effective."""
        lots: list[Weighed] = []
        for _ in range(MOST_PILOTS):
            if lots:
                evidence, bench = self._taught(max(lots, key=lambda lot: lot.effective), evidence)
            lots.append(self._lot(count, evidence, bench, lots))
            if lots[-1].effective > ENOUGH * count:
                break
        return lots, evidence, bench

    def _taught(
        self, lot: Weighed, evidence: tuple[RunEvidence, ...]
    ) -> tuple[tuple[RunEvidence, ...], SoftItem | None]:
        """The sets shared out anew by what weighed histories say."""
        return self._shared_evidence(evidence, self._events(lot.resampled(PROBES, self.rng)))

    def _lot(
        self, count: int, evidence: tuple[RunEvidence, ...], bench: SoftItem | None, before: Sequence[Weighed]
    ) -> Weighed:
        """One lot of draws; lots drawn before say where the bench set may stand."""
        places = None
        if bench is not None and before:
            places = self._bench_places(max(before, key=lambda lot: lot.effective), evidence)
        return self._weigh(self._proposal(evidence, self._guesses_from(bench, evidence, places)), count, evidence)

    def _pooled(self, lots: Sequence[Weighed]) -> Weighed:
        """Several lots as one, each counting as much as the draws it is worth."""
        draws = Draws.joined([lot.draws for lot in lots])
        log_weight = np.concatenate([np.log(np.maximum(lot.weight, TINY)) + np.log(lot.effective) for lot in lots])
        return Weighed(draws, log_weight, self.register.marginal(draws), lots[-1].evidence)

    def _first_evidence(self) -> tuple[tuple[RunEvidence, ...], list[LineEvents]]:
        """From the sets of known place alone, every item at its marginal rate."""
        known = self._with_flat(self.sharing.at_marginal_rates())
        evidence = tuple(self.gathered(g, known) for g in self.gatherings)
        return evidence, self._events(self._proposal(evidence).draw(PROBES, self.rng).draws)

    def _with_flat(self, known: KnownItems) -> KnownItems:
        flat = self.register.flat
        return known if flat is None else flat.joined(known)

    def gathered(self, gathering: RunGathering, known: KnownItems) -> RunEvidence:
        """What sets of known place say of one run."""
        steps = gathering.steps(known)
        return gathering.evidence(known, steps, gathering.edges(steps, self.most_cells), (), {})

    def _shared_evidence(
        self, evidence: Sequence[RunEvidence], events: Sequence[LineEvents]
    ) -> tuple[tuple[RunEvidence, ...], SoftItem | None]:
        """What all sets say, their unknowns shared out; and how the bench set's place is, if it is uncertain."""
        known = self._with_flat(self.sharing.share_known(events, self._cells([e.edges for e in evidence], events)))
        steps = [gathering.steps(known) for gathering in self.gatherings]
        edges = [g.edges(step, self.most_cells) for g, step in zip(self.gatherings, steps, strict=True)]
        cells = self._cells(edges, events)
        items = [self.sharing.share_unknown(row, cells) for row in self.sharing.unknown]
        bench = next((item for item in items if item.row == self.register.bench), None)
        soft = [item for item in items if item.row != self.register.bench]
        chances = {number: one.states for number, one in enumerate(cells)}
        gathered = tuple(
            gathering.evidence(known, step, edge, soft, chances)
            for gathering, step, edge in zip(self.gatherings, steps, edges, strict=True)
        )
        return gathered, bench

    def _cells(self, edges: Sequence[np.ndarray], events: Sequence[LineEvents]) -> list[Cells]:
        cells = []
        for view in self.register.views:
            own = edges[view.run]
            middle = own[:-1] + (np.diff(own) + 1) // 2
            cells.append(Cells(own, states_at(events[view.number], middle)))
        return cells

    def _events(self, draws: Draws) -> list[LineEvents]:
        return [line_events(view, self.register.features, draws) for view in self.register.views]

    def _proposal(self, evidence: Sequence[RunEvidence], guesses: Sequence[Guess] = ()) -> Proposal:
        assumed = self.register.assumptions
        return Proposal(
            self.register.runs,
            evidence,
            self.register.features,
            assumed.free_shares,
            assumed.one_stroke,
            guesses,
            drawn_stroke=DRAWN_STROKE if DRAWN_STROKE < assumed.one_stroke < 1.0 else None,
        )

    def _guesses_from(
        self,
        bench: SoftItem | None,
        evidence: Sequence[RunEvidence],
        places: dict[int, np.ndarray] | None = None,
    ) -> list[Guess]:
        """The parts of the proposal: guesses of the bench set's place, if it is uncertain, and a defence."""
        guesses = []
        if bench is not None:
            guesses = self._guesses(bench, evidence, places or {n: c.sum(axis=0) for n, c in bench.place.items()})
        return self._defended(guesses, evidence) if self._placeless else guesses

    @property
    def _placeless(self) -> bool:
        """Whether any survivor's place is uncertain."""
        return any(row != self.register.bench for row in self.sharing.unknown)

    def _defended(self, guesses: list[Guess], evidence: Sequence[RunEvidence]) -> list[Guess]:
        """The guesses, and a tenth of the draws from evidence taken to the power 1/2: sets shared out over places make
        it too sure of itself, and a history far out that they do not forbid must not come as a surprise."""
        cells = [len(here.edges) - 1 for here in evidence]
        if not guesses:
            guesses = [Guess(0, np.zeros((self.register.runs[0].fixed, cells[0])), 1.0)]
        share = DEFENCE / (1.0 - DEFENCE) * sum(guess.weight for guess in guesses) / len(evidence)
        for number, here in enumerate(evidence):
            change = here.cells.change
            guesses.append(Guess(number, np.where(np.isfinite(change), -0.5 * change, 0.0), share))
        return guesses

    def _guesses(self, bench: SoftItem, evidence: Sequence[RunEvidence], places: dict[int, np.ndarray]) -> list[Guess]:
        """Guesses of the bench set's place, picked evenly from the chances of its cells; `places` : line -> (C,)."""
        lines = list(places)
        together = np.concatenate([places[line] for line in lines])
        prior = np.concatenate([bench.place[line].sum(axis=0) > 0.0 for line in lines])
        chance = 0.9 * together / together.sum() + 0.1 * prior / prior.sum()
        picked = np.searchsorted(np.cumsum(chance), (np.arange(GUESSES) + 0.5) / GUESSES)
        owner = np.concatenate([np.full(len(places[line]), line) for line in lines])
        cell = np.concatenate([np.arange(len(places[line])) for line in lines])
        guesses = []
        for at, times in zip(*np.unique(np.minimum(picked, len(chance) - 1), return_counts=True), strict=True):
            view = self.register.views[int(owner[at])]
            tilt = self._tilt(bench, view, int(cell[at]), len(evidence[view.run].edges) - 1)
            guesses.append(Guess(view.run, tilt, float(times)))
        return guesses

    def _tilt(self, bench: SoftItem, view: LineView, cell: int, cells: int) -> np.ndarray:
        """(changes of known block, C) what the bench set says of each, if it stands in a cell of a line."""
        run = self.register.runs[view.run]
        tilt = np.zeros((run.fixed, cells))
        for change, column in zip(view.changes, view.columns, strict=True):
            number = next(n for n, f in enumerate(self.register.features) if f.id == change.feature)
            if column >= run.fixed or number not in bench.at:
                continue
            here = bench.at[number][view.number][:, cell]
            away = 1.0 - sum(float(chance.sum()) for chance in bench.at[number].values())
            own = here / here.sum() if here.sum() > 0.0 else np.full(3, 1.0 / 3.0)
            like = max(1.0 - away, 0.0) * (own @ bench.seen[number]) + bench.elsewhere[number]
            states = self.register.features[number].all_states
            before, after = like[states.index(change.from_state)], like[states.index(change.to_state)]
            tilt[column] = np.log(before)
            tilt[column, :cell] = np.log(after)
            tilt[column, cell] = np.log((before + after) / 2.0)
        return tilt

    def _bench_places(self, found: Weighed, evidence: Sequence[RunEvidence]) -> dict[int, np.ndarray]:
        """Line -> (C,) chance of the bench set's cells, from histories weighed before."""
        latents = draw_latents(found.marginal, self.register.bench, self.rng)
        places = {}
        for line in self.register.sets.places_of(self.register.bench):
            edges = evidence[self.register.views[line].run].edges
            here = latents.line == line
            cell = np.searchsorted(edges, latents.position[here], side="left") - 1
            places[line] = np.bincount(cell, weights=found.weight[here], minlength=len(edges) - 1)
        return places

    def _weigh(self, proposal: Proposal, count: int, evidence: tuple[RunEvidence, ...]) -> Weighed:
        proposed = proposal.draw(count, self.rng)
        register = self.register
        marginal = register.marginal(proposed.draws)
        log_weight = self.log_flat(marginal) - proposed.log_density
        for row in range(len(register.sets)):
            if row % 64 == 0:
                self.progress("Weighing the histories", 0.3 + 0.6 * row / len(register.sets))
            log_weight = log_weight + marginal.total(row)
        return Weighed(proposed.draws, log_weight, marginal, evidence)

    def log_flat(self, marginal: Marginal) -> np.ndarray:
        """(n,) log-likelihood of the survivors that count at their marginal rates; -inf outside documented bounds."""
        draws, flat = marginal.draws, self.register.flat
        total = np.zeros(draws.count)
        if flat is not None:
            total += log_likelihood(flat, marginal.events, draws.count)
        total[~within_bounds(self.register.runs, draws)] = -np.inf
        return total
