"""Which further look tells most for the minutes it costs.

A look's worth is the expected fall of the entropy of the factory state vector. What is seen depends on
that vector and on the condition of the set, so the worth is the mutual information of both:
I(X; O) = H(O) - E[H(O | X)].
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from setwright.identity.answer import Batch, Look
from setwright.identity.assumptions import Assumptions
from setwright.identity.cautions import cautions_for
from setwright.identity.factors import SeenFeature
from setwright.identity.histories import Histories
from setwright.identity.model import ACCESSES

OPENING_MINUTES = {"back off": 5.0, "chassis out": 25.0, "underside": 5.0, "powered": 15.0}
"""What opening costs, each after the one before it; common practice, no source."""

OPENING_ORDER = ("outside", "back off", "chassis out", "underside")
LEAST_BITS = 0.001
MOST_LEAVES = 96
FEW_CANDIDATES = 5


def opening_minutes(access: str, open_to: str, stated: Mapping[str, float]) -> float:
    """Minutes to get from `open_to` to `access`: every step between them once; powered starts from back off."""
    minutes = {**OPENING_MINUTES, **stated}
    if access == open_to or access == "outside":
        return 0.0
    opened = {"powered": "back off", "lead lifted": "underside"}.get(open_to, open_to)
    goal = {"powered": "back off", "lead lifted": "underside"}.get(access, access)
    steps = OPENING_ORDER[OPENING_ORDER.index(opened) + 1 : OPENING_ORDER.index(goal) + 1]
    return sum(minutes[step] for step in steps) + (minutes["powered"] if access == "powered" else 0.0)


@dataclass(frozen=True, slots=True)
class _Candidate:
    """A feature that could be looked at: its column in the histories, its table P(seen | condition, built)."""

    seen: SeenFeature
    column: int
    table: np.ndarray
    bits: float


def next_looks(
    histories: Histories,
    seen: Sequence[SeenFeature],
    built: Sequence[np.ndarray],
    open_to: str,
    access_minutes: Mapping[str, float],
    assumptions: Assumptions,
    kind: str,
) -> tuple[tuple[Look, ...], tuple[Batch, ...]]:
    """Single looks, most bits per minute first, and the best batch of each access, easy access first.

    built : per feature (3, states) probability of condition and factory state. Features already decided,
    found serviced or undecidable, and any that would need a lead lifted, are not proposed.
    """
    candidates = [
        _candidate(histories, s, column, built[column], assumptions)
        for column, s in enumerate(seen)
        if s.observation is None and s.feature.access != "lead lifted"
    ]
    looks = []
    for c in candidates:
        access = c.seen.feature.access
        minutes = opening_minutes(access, open_to, access_minutes) + c.seen.feature.minutes
        looks.append(Look(c.seen.feature.id, c.bits, minutes, c.bits / minutes, access))
    looks.sort(key=lambda look: (-look.bits_per_minute, ACCESSES.index(look.access), look.feature))
    rows = _merged_rows(histories, [c.column for c in candidates])
    batches = []
    for access in ACCESSES:
        here = [c for c in candidates if c.seen.feature.access == access and c.bits >= LEAST_BITS]
        if here:
            batches.append(_best_batch(rows, here, access, opening_minutes(access, open_to, access_minutes), kind))
    return tuple(looks), tuple(batches)


def _candidate(
    histories: Histories, seen: SeenFeature, column: int, built: np.ndarray, assumptions: Assumptions
) -> _Candidate:
    table = seen.table(assumptions)
    outcome = np.einsum("cos,cs->o", table, built)
    given_row = np.einsum("nc,con->no", histories.condition, table[:, :, histories.states[:, column]])
    bits = _entropy(outcome) - float(histories.weight @ _entropy_rows(given_row))
    return _Candidate(seen, column, table, max(bits, 0.0))


def _merged_rows(histories: Histories, columns: list[int]) -> Histories:
    """Rows alike in the features still to be looked at taken together, where the list is a sample anyway."""
    if histories.complete or not columns:
        return histories
    _, first, index = np.unique(histories.states[:, columns], axis=0, return_index=True, return_inverse=True)
    index = index.ravel()
    weight = np.bincount(index, weights=histories.weight)
    joint = np.stack([np.bincount(index, weights=histories.weight * c) for c in histories.condition.T], axis=1)
    condition = joint / np.maximum(weight, np.finfo(float).tiny)[:, None]
    return Histories(histories.states[first], weight, condition, complete=False)


def _best_batch(rows: Histories, candidates: list[_Candidate], access: str, opening: float, kind: str) -> Batch:
    """The subset with most bits per minute: all subsets where they are few, else the best addition at a time."""
    best, bits = _best_of_all(rows, candidates, opening)
    if len(candidates) > FEW_CANDIDATES:
        best, bits = _best_by_adding(rows, candidates, opening)
    if not rows.complete:
        # The single looks are known better than from the sample: what it makes of them corrects it.
        sampled = sum(_Outcomes.none(rows).looking(c).bits for c in best)
        bits *= sum(c.bits for c in best) / sampled if sampled > 0.0 else 1.0
    minutes = opening + sum(c.seen.feature.minutes for c in best)
    ids = tuple(c.seen.feature.id for c in best)
    return Batch(access, ids, bits, minutes, bits / minutes, cautions_for(access, kind))


def _best_of_all(rows: Histories, candidates: list[_Candidate], opening: float) -> tuple[list[_Candidate], float]:
    best: tuple[float, list[_Candidate], float] = (-1.0, [], 0.0)
    few = candidates if len(candidates) <= FEW_CANDIDATES else []
    for size in range(1, len(few) + 1):
        for subset in itertools.combinations(few, size):
            outcomes = _Outcomes.none(rows)
            for c in subset:
                outcomes = outcomes.looking(c)
            bits = outcomes.bits
            rate = bits / (opening + sum(c.seen.feature.minutes for c in subset))
            if rate > best[0] * (1 + 1e-12):
                best = (rate, list(subset), bits)
    return best[1], best[2]


def _best_by_adding(rows: Histories, candidates: list[_Candidate], opening: float) -> tuple[list[_Candidate], float]:
    """Add the look that gains most per minute while it raises the batch's own rate.

    A look gains less the more is known, so a gain computed earlier bounds today's: only the front runner
    is computed again.
    """
    gains = {c.column: c.bits / c.seen.feature.minutes for c in candidates}
    by_column = {c.column: c for c in candidates}
    chosen: list[_Candidate] = []
    outcomes, minutes = _Outcomes.none(rows), opening
    while gains:
        tried: dict[int, _Outcomes] = {}
        while True:
            column = max(gains, key=lambda i: (gains[i], -i))
            if column in tried:
                break
            tried[column] = outcomes.looking(by_column[column])
            gain = max(tried[column].bits - outcomes.bits, 0.0)
            gains[column] = gain / by_column[column].seen.feature.minutes
        if chosen and gains[column] <= outcomes.bits / minutes:
            break
        chosen.append(by_column[column])
        minutes += by_column[column].seen.feature.minutes
        outcomes = tried[column]
        del gains[column]
    return chosen, outcomes.bits


@dataclass(frozen=True, slots=True)
class _Outcomes:
    """The joint outcomes of several looks: leaf (3, leaves, n) probability given condition and history.

    Where they grow too many, the rarest are not divided further: `settled` keeps the information they hold.
    """

    rows: Histories
    leaf: np.ndarray
    settled: float
    bits: float

    @classmethod
    def none(cls, rows: Histories) -> _Outcomes:
        return cls(rows, np.ones((rows.condition.shape[1], 1, len(rows.weight))), 0.0, 0.0)

    def looking(self, candidate: _Candidate) -> _Outcomes:
        """After one more look."""
        table = candidate.table[:, :, self.rows.states[:, candidate.column]]
        leaf = (self.leaf[:, :, None, :] * table[:, None, :, :]).reshape(len(self.leaf), -1, len(self.rows.weight))
        information, share = self._information(leaf)
        bits = self.settled + float(information.sum())
        limit = len(share) if self.rows.complete and len(share) <= 16 * MOST_LEAVES else MOST_LEAVES
        if len(share) <= limit:
            return _Outcomes(self.rows, leaf, self.settled, bits)
        kept = np.sort(np.argsort(-share, kind="stable")[:limit])
        settled = self.settled + float(information.sum() - information[kept].sum())
        return _Outcomes(self.rows, leaf[:, kept], settled, bits)

    def _information(self, leaf: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """(leaves,) bits each outcome contributes, and its probability."""
        given = np.einsum("nc,cln->ln", self.rows.condition, leaf)
        share = given @ self.rows.weight
        ratio = np.divide(given, share[:, None], out=np.ones_like(given), where=(given > 0) & (share[:, None] > 0))
        return (given * np.log2(ratio)) @ self.rows.weight, share


def _entropy(probabilities: np.ndarray) -> float:
    return float(_entropy_rows(probabilities[None])[0])


def _entropy_rows(probabilities: np.ndarray) -> np.ndarray:
    logs = np.log2(probabilities, out=np.zeros_like(probabilities), where=probabilities > 0)
    entropies: np.ndarray = -(probabilities * logs).sum(axis=1)
    return entropies
