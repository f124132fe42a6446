"""Every set's own unknowns, shared out by what is known so far: its place, its condition, what came from elsewhere.

The likelihood of one feature of a set, as a function of that feature's history alone, needs the rest of the set
only through the chances of its condition, its place and a marriage, and those are computed from all its other
features (this one left out), taking each feature's state at each place by its own chances. Only proposals rest on
this: what is drawn from them is weighted by the true likelihood.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from setwright.identity.chain import log_sum
from setwright.identity.drawn.events import LineEvents
from setwright.identity.drawn.known import KnownItems, marginal_tables, padded
from setwright.identity.drawn.runs import LineView
from setwright.identity.drawn.sets import Sets, Tables, places_before
from setwright.identity.groups import Group
from setwright.identity.model import LOOKS_SERVICED

PATTERNS_AT_ONCE = 128

DOUBT = 0.05
"""Share of an uncertain place that stays as it was beforehand: what is shared out one feature at a time is too sure."""


@dataclass(frozen=True, slots=True)
class Cells:
    """The cells of one line: edges (C + 1,) of its run, and states : per feature (C, k) chance of each state there."""

    edges: np.ndarray
    states: tuple[np.ndarray, ...]


@dataclass(frozen=True, slots=True)
class SoftItem:
    """A set that may stand in several places.

    at : by feature seen and line (3, C) chance of condition and cell with that feature left out.
    elsewhere : by feature, likelihood of what was seen of it times the chance that its group came from elsewhere.
    seen : by feature (3, states) likelihood of what was seen. place : by line (3, C) chance with every feature counted.
    """

    row: int
    seen: dict[int, np.ndarray]
    at: dict[int, dict[int, np.ndarray]]
    elsewhere: dict[int, float]
    place: dict[int, np.ndarray]


def states_at(events: LineEvents, positions: np.ndarray, smoothing: float = 0.5) -> tuple[np.ndarray, ...]:
    """Per feature (n, k) chance of each state at the positions, over the drawn histories."""
    count = len(events.position)
    sizes = {int(f): len(after) for f, after in zip(events.feature, events.after, strict=True)}
    sizes |= {number: shares.shape[1] for number, _, shares in events.mixed}
    chances = []
    for number, base in enumerate(events.base):
        size = len(base) if base is not None else sizes[number]
        chance = np.zeros((len(positions), size))
        if base is not None:
            chance += base
        chances.append(chance)
    for e, number in enumerate(events.feature):
        before = events.before[e]
        behind = np.searchsorted(np.sort(events.position[:, e]), positions, side="right") / count
        chances[number] += behind[:, None] * (events.after[e] - (0.0 if before is None else before))
    for number, _, shares in events.mixed:
        chances[number] += shares.sum(axis=0) / count
    changing = set(sizes)
    return tuple(
        (np.maximum(c, 0.0) * count + smoothing / c.shape[1]) / (count + smoothing) if number in changing else c
        for number, c in enumerate(chances)
    )


class Sharing:
    """Responsibilities of all sets under one estimate of the histories."""

    def __init__(
        self,
        views: Sequence[LineView],
        sets: Sets,
        tables: Tables,
        groups: tuple[Group, ...],
        married: float,
    ) -> None:
        self.views, self.sets, self.tables, self.groups = views, sets, tables, groups
        self.married = married if groups else 0.0
        self.group_of = {f: number for number, group in enumerate(groups) for f in group.features}
        self.known = np.flatnonzero(sets.line >= 0)
        self.unknown = [row for row in range(len(sets)) if sets.line[row] < 0]

    def at_marginal_rates(self) -> KnownItems:
        """Known sets with every item at its marginal rate: conditions and marriages not looked into."""
        codes = self.sets.codes[self.known]
        return self._items([table[codes[:, number]] for number, table in enumerate(marginal_tables(self.tables))])

    def share_known(self, events: Sequence[LineEvents], cells: Sequence[Cells]) -> KnownItems:
        """Known sets with condition and marriage shared out, each feature left out in turn."""
        rows = self.known
        codes = self.sets.codes[rows]
        by_feature = np.zeros((len(rows), codes.shape[1], len(self.tables.log_condition)))
        for view in self.views:
            here = np.flatnonzero(self.sets.line[rows] == view.number)
            if len(here):
                chances = states_at(events[view.number], self.sets.position[rows[here]])
                for number, chance in enumerate(chances):
                    by_feature[here, number] = self._log_seen(number, codes[here, number], chance)
        elsewhere = self._elsewhere(codes, cells)
        weights = _left_out(by_feature, elsewhere, self.tables.log_condition, self.groups, self.married)
        like = []
        for number, seen in enumerate(self.tables.seen):
            own, away = weights.own[:, number], weights.away[:, number]  # (n, 3) each
            table = padded(seen)[codes[:, number]]
            likelihood = np.einsum("nc,nck->nk", own, table)
            if number in self.group_of:
                mean = elsewhere.mean_of(number, codes)
                likelihood += (away * mean).sum(axis=1, keepdims=True)
            likelihood[codes[:, number] < 0] = 1.0
            like.append(likelihood)
        return self._items(like)

    def _items(self, like: list[np.ndarray]) -> KnownItems:
        return KnownItems(self.sets.line[self.known], self.sets.position[self.known], tuple(like))

    def share_unknown(self, row: int, cells: Sequence[Cells]) -> SoftItem:
        """One set of several possible places, shared out over them."""
        codes = self.sets.codes[row]
        places = self.sets.places_of(row)
        lines = [view for view in self.views if view.number in places]
        counts = [len(cells[view.number].edges) - 1 for view in lines]
        split = np.cumsum(counts)[:-1]
        log_place = np.concatenate([self._log_place(view, cells[view.number], places[view.number]) for view in lines])
        seen = np.flatnonzero((codes >= 0) | (codes == LOOKS_SERVICED)).tolist()
        by_feature = np.zeros((len(seen), len(self.tables.log_condition), len(log_place)))
        for i, number in enumerate(seen):
            chance = np.concatenate([cells[view.number].states[number] for view in lines])
            by_feature[i] = self._log_seen(number, np.full(len(chance), codes[number]), chance).T
        elsewhere = self._elsewhere(codes[None], cells)
        prior = self.tables.log_condition[:, None] + log_place
        parts = self._arrangements(seen, by_feature, elsewhere, prior)
        beforehand = np.exp(prior - np.logaddexp.reduce(prior, axis=None))
        item = SoftItem(row, {}, {}, {}, self._by_line(lines, split, np.exp(_normalised(list(parts.values())))))
        for i, number in enumerate(seen):
            if codes[number] < 0:
                continue
            home = self.group_of.get(number, -2)
            own = [part - by_feature[i] for g, part in parts.items() if g != home]
            together = np.logaddexp.reduce(own)
            away, mean = np.full(len(prior), -np.inf), np.ones(len(prior))
            if home in parts:
                without = elsewhere.without(number, codes[None])[0]
                mean = np.exp(elsewhere.log[home][0] - without)
                away = log_sum(parts[home], axis=1) - np.log(mean)
            top = max(float(together.max()), float(away.max()))
            chance, gone = np.exp(together - top), np.exp(away - top)
            total = chance.sum() + gone.sum()
            chance = (1.0 - DOUBT) * chance / total + DOUBT * beforehand
            item.seen[number] = self.tables.seen[number][codes[number]]
            item.at[number] = self._by_line(lines, split, chance)
            item.elsewhere[number] = (1.0 - DOUBT) * float(gone @ mean) / total
        return item

    def _arrangements(
        self, seen: list[int], by_feature: np.ndarray, elsewhere: _Elsewhere, prior: np.ndarray
    ) -> dict[int, np.ndarray]:
        """(3, C) log chance of condition and place: -1 for a set all of a piece, else the group from elsewhere."""
        joint = by_feature.sum(axis=0) + prior
        parts = {-1: joint + np.log1p(-self.married)}
        for g, group in enumerate(self.groups if self.married else ()):
            own = np.isin(seen, group.features)
            if own.any():
                away = elsewhere.log[g][0][:, None] + np.log(self.married / len(self.groups))
                parts[g] = joint - by_feature[own].sum(axis=0) + away
        return parts

    @staticmethod
    def _by_line(lines: list[LineView], split: np.ndarray, chance: np.ndarray) -> dict[int, np.ndarray]:
        return {view.number: part for view, part in zip(lines, np.split(chance, split, axis=1), strict=True)}

    def _log_place(self, view: LineView, cells: Cells, ranges: tuple[tuple[int, int], ...]) -> np.ndarray:
        inside = np.diff(places_before(ranges, cells.edges + 1))
        with np.errstate(divide="ignore"):
            logs: np.ndarray = np.log(inside / (len(self.views) * view.axis.set_count))
        return logs

    def _log_seen(self, number: int, codes: np.ndarray, chance: np.ndarray) -> np.ndarray:
        """(n, 3) log-likelihood of a feature by condition, its state being so likely; the alteration where serviced."""
        table = padded(self.tables.seen[number])[codes]
        logs: np.ndarray = np.log(np.einsum("nck,nk->nc", table, chance))
        logs[codes == LOOKS_SERVICED] = self.tables.log_rates[number]
        logs[(codes < 0) & (codes != LOOKS_SERVICED)] = 0.0
        return logs

    def _elsewhere(self, codes: np.ndarray, cells: Sequence[Cells]) -> _Elsewhere:
        """Groups at an unknown place of any line, for every pattern of what was seen of them."""
        found = _Elsewhere(self.groups if self.married else ())
        if not self.married:
            return found
        weights = [self._log_place(view, cells[view.number], view.axis.stretches) for view in self.views]
        log_place = np.concatenate(weights)
        for group in self.groups:
            patterns, index = np.unique(codes[:, list(group.features)], axis=0, return_inverse=True)
            log, without = [], []
            chances = [np.concatenate([cells[view.number].states[f] for view in self.views]) for f in group.features]
            for low in range(0, max(len(patterns), 1), PATTERNS_AT_ONCE):
                some = patterns[low : low + PATTERNS_AT_ONCE]
                by_feature = np.stack(
                    [self._log_seen_everywhere(f, some[:, i], chances[i]) for i, f in enumerate(group.features)], axis=1
                )  # (patterns, features, 3, cells)
                whole = by_feature.sum(axis=1) + log_place
                log.append(log_sum(whole, axis=2))
                without.append(log_sum(whole[:, None] - by_feature, axis=3))
            found.log.append(np.concatenate(log)[index.ravel()])
            found.left_out.append(np.concatenate(without)[index.ravel()])
        return found

    def _log_seen_everywhere(self, number: int, codes: np.ndarray, chance: np.ndarray) -> np.ndarray:
        """(codes, 3, cells)"""
        table = padded(self.tables.seen[number])[codes]
        logs: np.ndarray = np.log(np.einsum("nck,sk->ncs", table, chance))
        logs[codes == LOOKS_SERVICED] = self.tables.log_rates[number][:, None]
        logs[(codes < 0) & (codes != LOOKS_SERVICED)] = 0.0
        return logs


def _normalised(parts: list[np.ndarray]) -> np.ndarray:
    """Logarithm of the parts' sum, less that of its total."""
    together: np.ndarray = np.logaddexp.reduce(parts)
    return together - np.logaddexp.reduce(together, axis=None)


class _Elsewhere:
    """log : per group (n, 3) log-likelihood at an unknown place. left_out : per group (n, features of it, 3)."""

    def __init__(self, groups: tuple[Group, ...]) -> None:
        self.groups = groups
        self.log: list[np.ndarray] = []
        self.left_out: list[np.ndarray] = []

    def without(self, number: int, codes: np.ndarray) -> np.ndarray:
        """(n, 3) log-likelihood of the feature's group, the feature left out."""
        for g, group in enumerate(self.groups):
            if number in group.features:
                left_out: np.ndarray = self.left_out[g][:, group.features.index(number)]
                return left_out
        return np.zeros((len(codes), 3))

    def mean_of(self, number: int, codes: np.ndarray) -> np.ndarray:
        """(n, 3) likelihood of a feature elsewhere, given the rest of its group."""
        for g, group in enumerate(self.groups):
            if number in group.features:
                mean: np.ndarray = np.exp(self.log[g] - self.without(number, codes))
                return mean
        return np.ones((len(codes), 3))


@dataclass(frozen=True, slots=True)
class _LeftOut:
    """(n, features, 3) chances of each condition and of the feature being at its own place, or away with its group,
    the feature itself left out; together they sum to one."""

    own: np.ndarray
    away: np.ndarray


def _left_out(
    by_feature: np.ndarray,
    elsewhere: _Elsewhere,
    log_condition: np.ndarray,
    groups: tuple[Group, ...],
    married: float,
) -> _LeftOut:
    together = by_feature.sum(axis=1) + log_condition + np.log1p(-married)  # (n, 3)
    own = [together[:, None, :] - by_feature]
    away = np.full_like(by_feature, -np.inf)
    if married:
        each = np.log(married / len(groups)) - np.log1p(-married)
        for g, group in enumerate(groups):
            members = list(group.features)
            rest = together - by_feature[:, members].sum(axis=1) + each
            part = (rest + elsewhere.log[g])[:, None, :] - by_feature
            part[:, members] = -np.inf
            own.append(part)
            away[:, members] = rest[:, None, :] + elsewhere.left_out[g]
    log_own = log_sum(np.stack(own), axis=0)
    top = np.maximum(log_own.max(axis=2), away.max(axis=2))[:, :, None]
    own_weight, away_weight = np.exp(log_own - top), np.exp(away - top)
    total = (own_weight + away_weight).sum(axis=2, keepdims=True)
    return _LeftOut(own_weight / total, away_weight / total)
