"""Drawn histories as events on a line's axis, and what each set's observations say at each of them.

An event turns one feature's factory state from one mix of states into another: a sharp cut-in from one state to the
next, old stock from one state to half and half and on to the next. A feature that no document mentions begins with
an event before the first set. Between events nothing changes, and log-likelihoods simply add up.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from itertools import pairwise

import numpy as np

from setwright.identity.drawn.free import CHANGES, MIXED, FreeDraws, FreePattern
from setwright.identity.drawn.runs import LineView
from setwright.identity.drawn.sets import Tables
from setwright.identity.model import LOOKS_SERVICED, Feature

NEVER = 1 << 60
ALWAYS = -NEVER


@dataclass(frozen=True, slots=True)
class Draws:
    """n joint histories.

    cut_in : per run (n, changes) positions. block : per run (n, changes - fixed) block of each spanning change.
    spread : per run (n,) how many of its blocks were not made at one stroke.
    free : histories of each free feature, by its key. patterns : what their pattern numbers mean.
    """

    count: int
    cut_in: tuple[np.ndarray, ...]
    block: tuple[np.ndarray, ...]
    spread: tuple[np.ndarray, ...]
    free: Mapping[tuple[int, str], FreeDraws]
    patterns: Mapping[tuple[int, str], tuple[FreePattern, ...]]

    @staticmethod
    def joined(parts: Sequence[Draws]) -> Draws:
        """Several lots of histories of the same runs, one after the other."""
        first = parts[0]
        names = [column.name for column in fields(FreeDraws)]
        return Draws(
            sum(part.count for part in parts),
            tuple(np.concatenate([part.cut_in[run] for part in parts]) for run in range(len(first.cut_in))),
            tuple(np.concatenate([part.block[run] for part in parts]) for run in range(len(first.block))),
            tuple(np.concatenate([part.spread[run] for part in parts]) for run in range(len(first.spread))),
            {
                key: FreeDraws(*(np.concatenate([getattr(part.free[key], n) for part in parts]) for n in names))
                for key in first.free
            },
            first.patterns,
        )

    def rows(self, rows: np.ndarray) -> Draws:
        """Some of the histories, in the order asked for."""
        free = {key: histories.rows(rows) for key, histories in self.free.items()}
        cut_in, block, spread = (tuple(column[rows] for column in of) for of in (self.cut_in, self.block, self.spread))
        return Draws(len(rows), cut_in, block, spread, free, self.patterns)


@dataclass(frozen=True, slots=True)
class LineEvents:
    """The events of one line in every drawn history.

    position : (n, E) first position behind each event; ALWAYS or NEVER where it lies outside the run.
    feature : (E,) number of the feature. before, after : per event (states,) its mix of states.
    base : per feature (states,) mix before every event, None for free features, which begin with one.
    mixed : (feature, rows, shares) histories in which a free feature is mixed throughout.
    """

    position: np.ndarray
    feature: np.ndarray
    before: tuple[np.ndarray | None, ...]
    after: tuple[np.ndarray, ...]
    base: tuple[np.ndarray | None, ...]
    mixed: tuple[tuple[int, np.ndarray, np.ndarray], ...]


def line_events(view: LineView, features: Sequence[Feature], draws: Draws) -> LineEvents:
    """Put the events of all features of one line beside each other."""
    building = _Building(draws.count)
    base: list[np.ndarray | None] = []
    for number, feature in enumerate(features):
        if feature.id in view.free:
            base.append(None)
            building.add_free(number, feature, draws, view.free[feature.id])
            continue
        changes = [(c, column) for c, column in zip(view.changes, view.columns, strict=True) if c.feature == feature.id]
        changes.sort(key=lambda pair: int(pair[0].id.rsplit(":", 1)[1]))
        base.append(_base_mix(view, feature))
        states = {state: one_state(feature, state) for state in feature.all_states}
        cuts = [draws.cut_in[view.run][:, column] for _, column in changes]
        building.add_changes(
            number, feature.overlap, cuts, [(states[c.from_state], states[c.to_state]) for c, _ in changes]
        )
    return building.done(tuple(base))


def one_state(feature: Feature, state: str) -> np.ndarray:
    """(states,) 1 for one state, 0 for the others."""
    return np.array([1.0 if s == state else 0.0 for s in feature.all_states])


def _base_mix(view: LineView, feature: Feature) -> np.ndarray:
    """What a line starts with: the first documented state, or every state of a variant equally."""
    known = view.history.stages[0].states.get(feature.id)
    if known is not None:
        return one_state(feature, known)
    listed = np.array([1.0 if state in feature.states else 0.0 for state in feature.all_states])
    mix: np.ndarray = listed / listed.sum()
    return mix


class _Building:
    def __init__(self, count: int) -> None:
        self.count = count
        self.position: list[np.ndarray] = []
        self.feature: list[int] = []
        self.before: list[np.ndarray | None] = []
        self.after: list[np.ndarray] = []
        self.mixed: list[tuple[int, np.ndarray, np.ndarray]] = []

    def _add(self, number: int, position: np.ndarray, before: np.ndarray | None, after: np.ndarray) -> None:
        self.position.append(position)
        self.feature.append(number)
        self.before.append(before)
        self.after.append(after)

    def add_changes(
        self,
        number: int,
        overlap: int,
        cuts: Sequence[np.ndarray],
        states: Sequence[tuple[np.ndarray, np.ndarray]],
    ) -> None:
        """Changes of one feature, in order. Where their overlaps meet, the earlier ends where the later begins."""
        if overlap < 1:
            for cut, (before, after) in zip(cuts, states, strict=True):
                self._add(number, cut, before, after)
            return
        begins = [cut - overlap + 1 for cut in cuts]
        ends = [cut + overlap for cut in cuts]
        for earlier, later in zip(range(len(cuts)), range(1, len(cuts)), strict=False):
            begins[later] = np.maximum(cuts[earlier], begins[later])
            ends[earlier] = np.minimum(ends[earlier], begins[later])
        for begin, cut, end, (before, after) in zip(begins, cuts, ends, states, strict=True):
            half = (before + after) / 2.0
            self._add(number, begin, before, half)
            self._add(number, cut, half, half)  # changes nothing in what is seen, but it is the cut-in
            self._add(number, end, half, after)

    def add_free(self, number: int, feature: Feature, draws: Draws, key: tuple[int, str]) -> None:
        """The histories of a free feature: its first state before the run, then each step that some history takes."""
        free, patterns = draws.free[key], draws.patterns[key]
        overlap = feature.overlap
        first: dict[int, list[int]] = {}
        steps: dict[tuple[int, ...], list[int]] = {}
        for p, pattern in enumerate(patterns):
            if pattern.kind == MIXED:
                rows = np.flatnonzero(free.pattern == p)
                if len(rows):
                    self.mixed.append((number, rows, free.shares[rows]))
                continue
            first.setdefault(pattern.order[0], []).append(p)
            if pattern.kind == CHANGES:
                steps[pattern.order] = [p]
        unit = np.eye(len(feature.all_states))
        for state, members in first.items():
            if np.isin(free.pattern, members).any():
                self._add(number, np.where(np.isin(free.pattern, members), ALWAYS, NEVER), None, unit[state])
        for order, members in steps.items():
            here = np.isin(free.pattern, members)
            if here.any():
                cuts = [np.where(here, free.cut_in[:, stage], NEVER) for stage in range(len(order) - 1)]
                states = [(unit[a], unit[b]) for a, b in pairwise(order)]
                self.add_changes(number, overlap, cuts, states)

    def done(self, base: tuple[np.ndarray | None, ...]) -> LineEvents:
        position = np.stack(self.position, axis=1) if self.position else np.empty((self.count, 0), dtype=np.int64)
        return LineEvents(
            position,
            np.array(self.feature, dtype=np.int64),
            tuple(self.before),
            tuple(self.after),
            base,
            tuple(self.mixed),
        )


@dataclass(frozen=True, slots=True)
class LineTerms:
    """What every set's observations say along one line, as logarithms by condition.

    base : (sets, features, 3) before every event. step : (sets, E, 3) what each event adds.
    """

    base: np.ndarray
    step: np.ndarray


def line_terms(events: LineEvents, tables: Tables, codes: np.ndarray) -> LineTerms:
    """Look up every code of every set; what was not seen adds nothing."""
    sets = len(codes)
    conditions = len(tables.log_condition)
    base = np.zeros((sets, codes.shape[1], conditions))
    step = np.zeros((sets, len(events.feature), conditions))
    with np.errstate(divide="ignore"):
        for number, mix in enumerate(events.base):
            serviced = codes[:, number] == LOOKS_SERVICED
            base[serviced, number] = tables.log_rates[number]
            if mix is not None:
                base[:, number] += _by_code(np.log(tables.seen[number] @ mix), codes[:, number])
        for e, number in enumerate(events.feature):
            seen = tables.seen[number]
            log_before = 0.0 if events.before[e] is None else np.log(seen @ events.before[e])
            step[:, e] = _by_code(np.log(seen @ events.after[e]) - log_before, codes[:, number])
    return LineTerms(base, step)


def _by_code(table: np.ndarray, codes: np.ndarray) -> np.ndarray:
    """Rows of a table by code; zeros for NOT_SEEN and LOOKS_SERVICED, which are negative."""
    padded = np.concatenate([table, np.zeros((2, table.shape[1]))])
    looked_up: np.ndarray = padded[codes]
    return looked_up
