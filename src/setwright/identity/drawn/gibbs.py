"""Blocked Gibbs sampling of joint histories, where independent draws would hardly count.

Every chain goes on from a history drawn before, in rounds: given the cut-ins, what is unknown of every set is drawn
(condition, place, a group from elsewhere); given all of that every set's evidence is sharp and one-dimensional, so
the cut-ins of a run come from its exact chain in one piece. A change that may belong to several blocks keeps its
block while the windows are drawn, then chooses anew given the windows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from setwright.identity.drawn.engine import Drawing, Weighed
from setwright.identity.drawn.events import Draws
from setwright.identity.drawn.known import KnownItems, padded
from setwright.identity.drawn.marginal import Latents, Marginal, draw_latents
from setwright.identity.drawn.proposals import Proposal

CHAINS = 8
ROUNDS = 60
WARM_UP = 12
FEWEST_ROUNDS = 8
FEWEST_CELLS, MOST_CELLS = 96, 256
"""Two cells a set, so that every set's place ends one, up to about 120 sets: then windows are drawn exactly."""


@dataclass(frozen=True, slots=True)
class Sampled:
    """Histories of equal weight, chain after chain, and what the chains say of their own agreement.

    r_hat : largest over cut-ins, 1 where chains agree. effective : draws they are worth for the slowest cut-in.
    """

    weighed: Weighed
    r_hat: float
    effective: float


def sample(drawing: Drawing, start: Weighed, draws: int | None = None) -> Sampled:
    """Sample on from weighed histories, to about so many draws of all chains together."""
    chains = CHAINS
    rounds = ROUNDS if draws is None else WARM_UP + max(2 * -(-draws // (2 * chains)), FEWEST_ROUNDS)
    rng = drawing.rng
    steps = 3 if any(feature.overlap > 0 for feature in drawing.register.features) else 1
    drawing.most_cells = int(np.clip(2 * (steps * len(drawing.register.sets) + 4), FEWEST_CELLS, MOST_CELLS))
    first = rng.choice(start.draws.count, size=chains, p=start.weight)
    states = start.draws.rows(first)
    kept: list[Draws] = []
    for number in range(rounds):
        drawing.progress("Sampling on from the histories", 0.4 + 0.5 * number / rounds)
        latents = _all_latents(drawing, states)
        states = Draws.joined([_next(drawing, states.rows(np.array([c])), latents, c) for c in range(chains)])
        if number >= WARM_UP:
            kept.append(states)
    together = Draws.joined([k.rows(np.array([c])) for c in range(chains) for k in kept])
    r_hat, effective = _agreement(together, chains)
    weighed = Weighed(together, np.zeros(together.count), drawing.register.marginal(together), start.evidence)
    return Sampled(weighed, r_hat, effective)


def _all_latents(drawing: Drawing, states: Draws) -> list[Latents]:
    """What is unknown of every set, drawn in every chain."""
    marginal = drawing.register.marginal(states)
    return [draw_latents(marginal, row, drawing.rng) for row in range(len(drawing.register.sets))]


def _next(drawing: Drawing, state: Draws, latents: Sequence[Latents], chain: int) -> Draws:
    """The cut-ins of one chain, drawn given all sets' latents."""
    register = drawing.register
    known = _sharp_items(drawing, latents, chain)
    evidence = tuple(drawing.gathered(g, known) for g in drawing.gatherings)
    shares = [[{int(block): 1.0} for block in state.block[number][0]] for number in range(len(register.runs))]
    assumed = register.assumptions
    proposal = Proposal(
        register.runs,
        evidence,
        register.features,
        assumed.free_shares,
        assumed.one_stroke,
        shares=shares,
        defensive=0.0,
    )
    new = proposal.draw(1, drawing.rng).draws
    if not any(feature.overlap > 0 for feature in register.features):
        return new
    # Where overlaps of one feature meet, the evidence of its changes is not quite one-dimensional: a Metropolis step
    # takes the new cut-ins or keeps the old ones, so that the true likelihood is sampled.
    both = Draws.joined([state, new])
    marginal = drawing.register.marginal(both)
    true = drawing.log_flat(marginal)
    for row, one in enumerate(latents):
        true = true + _log_given(marginal, row, one, chain)
    gain = true - proposal.log_evidence_at(both)
    return new if np.log(drawing.rng.random()) < gain[1] - gain[0] else state


def _log_given(marginal: Marginal, row: int, latents: Latents, chain: int) -> np.ndarray:
    """(n,) log-likelihood of one set in every history, given what it was drawn to be in one chain."""
    condition, group = int(latents.condition[chain]), int(latents.group[chain])
    line, position = int(latents.line[chain]), int(latents.position[chain])
    if group < 0:
        return np.asarray(marginal.at(row, line, marginal.whole, position)[:, condition])
    rest, own = marginal.apart[group]
    here = marginal.at(row, line, rest, position)
    there = marginal.at(row, int(latents.other_line[chain]), own, int(latents.other_position[chain]))
    return np.asarray((here + there)[:, condition])


def _sharp_items(drawing: Drawing, latents: Sequence[Latents], chain: int) -> KnownItems:
    """Every set at its drawn place and condition; a group from elsewhere stands as a set of its own."""
    register = drawing.register
    flat = register.flat
    line = np.array([one.line[chain] for one in latents])
    position = np.array([one.position[chain] for one in latents])
    condition = np.array([one.condition[chain] for one in latents])
    group = np.array([one.group[chain] for one in latents])
    gone = np.flatnonzero(group >= 0)
    other_line = np.array([latents[row].other_line[chain] for row in gone.tolist()], dtype=np.int64)
    other_position = np.array([latents[row].other_position[chain] for row in gone.tolist()], dtype=np.int64)
    member = {f: g for g, one in enumerate(register.groups) for f in one.features}
    like = []
    for number, seen in enumerate(register.tables.seen):
        codes = register.sets.codes[:, number]
        own = padded(seen)[codes, condition]
        away = own[gone].copy()
        mine = np.array([member.get(number, -1) == group[row] for row in gone.tolist()], dtype=bool)
        away[~mine] = 1.0
        own[gone[mine]] = 1.0
        like.append(np.concatenate([own, away]))
    items = KnownItems(np.append(line, other_line), np.append(position, other_position), like)
    return items if flat is None else flat.joined(items)


def _agreement(draws: Draws, chains: int) -> tuple[float, float]:
    """Largest R-hat and smallest effective number over all cut-ins, each chain split in two.

    Source: Gelman, Carlin, Stern, Dunson, Vehtari, Rubin, Bayesian Data Analysis, 3rd edition, section 11.4 and 11.5
    (from memory).
    """
    columns = [column for run in draws.cut_in for column in run.T]
    r_hats, effective = [1.0], [float(draws.count)]
    for column in columns:
        ranks = np.argsort(np.argsort(column, kind="stable"), kind="stable").astype(float)
        ranks = _tied(column, ranks)
        halves = ranks.reshape(2 * chains, -1)
        length = halves.shape[1]
        within = float(halves.var(axis=1, ddof=1).mean())
        between = length * float(halves.mean(axis=1).var(ddof=1))
        if within <= 0.0:
            r_hats.append(1.0 if between <= 0.0 else np.inf)
            continue
        total = (length - 1) / length * within + between / length
        r_hats.append(float(np.sqrt(total / within)))
        effective.append(min(_effective(halves, total), float(draws.count)))
    return max(r_hats), min(effective)


def _tied(column: np.ndarray, ranks: np.ndarray) -> np.ndarray:
    """Mean ranks, equal values sharing one."""
    _, index, count = np.unique(column, return_inverse=True, return_counts=True)
    mean: np.ndarray = np.bincount(index, weights=ranks)[index] / count[index]
    return mean


def _effective(halves: np.ndarray, total: float) -> float:
    """Draws all halves together are worth, from their variograms up to the first negative pair of correlations."""
    chains, length = halves.shape
    correlation = []
    for lag in range(1, length):
        variogram = float(np.square(halves[:, lag:] - halves[:, :-lag]).mean())
        correlation.append(1.0 - variogram / (2.0 * total))
    summed, lag = 0.0, 0
    while lag + 1 < len(correlation) and correlation[lag] + correlation[lag + 1] > 0.0:
        summed += correlation[lag] + correlation[lag + 1]
        lag += 2
    return chains * length / (1.0 + 2.0 * summed)
