"""The set on the bench in the drawn histories: every place, condition and marriage of it, with its weight."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from setwright.identity.chain import log_sum
from setwright.identity.drawn.engine import Register, Weighed
from setwright.identity.drawn.events import LineEvents
from setwright.identity.drawn.marginal import Segments, draw_columns, draw_places
from setwright.identity.drawn.runs import LineView

NEGLIGIBLE = 1e-4
"""Places, histories by history, that together weigh less than this are passed over."""


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """Where each group would come from, if it came from elsewhere, drawn once in every history: (groups, n)."""

    line: np.ndarray
    position: np.ndarray


@dataclass(frozen=True, slots=True)
class Cases:
    """What the bench set may be: one row a history, line and stretch of places that look alike there.

    draw : (K,) the history. line : (K,). first, last : (K,) the stretch of positions.
    mass : (K, 1 + groups, 3) probability, of its own group arrangement (0: all together, g + 1: group g from
        elsewhere) and condition; sums to one.
    """

    draw: np.ndarray
    line: np.ndarray
    first: np.ndarray
    last: np.ndarray
    mass: np.ndarray
    elsewhere: Elsewhere

    def __len__(self) -> int:
        return len(self.draw)


def bench_cases(register: Register, weighed: Weighed, rng: np.random.Generator) -> Cases:
    """List the cases with their probabilities."""
    marginal, row = weighed.marginal, register.bench
    groups = range(len(marginal.groups) if marginal.married else 0)
    log_condition = register.tables.log_condition
    apart = {g: marginal.elsewhere(row, g, marginal.apart[g][1]) for g in groups}
    pieces, tables = [], []
    for line, ranges in register.sets.places_of(row).items():
        together = marginal.segments(row, line, marginal.whole, ranges, every_event=True)
        arranged = [together.log_mass + np.log1p(-marginal.married)]
        for g in groups:
            rest = marginal.segments(row, line, marginal.apart[g][0], ranges, every_event=True)
            share = np.log(marginal.married / len(marginal.groups))
            arranged.append(rest.log_mass + apart[g][:, None, :] + share)
        pieces.append(together)
        tables.append(np.stack(arranged, axis=2) + log_condition)  # (n, segments, 1 + groups, 3)
    log_weight = np.log(np.maximum(weighed.weight, np.finfo(float).tiny))
    log_total = log_sum(np.concatenate([t.reshape(len(t), -1) for t in tables], axis=1), axis=1)
    rows = [
        _rows(piece, np.exp(table - log_total[:, None, None, None] + log_weight[:, None, None, None]))
        for piece, table in zip(pieces, tables, strict=True)
    ]
    joined = [np.concatenate(part) for part in zip(*rows, strict=True)]
    draw, line_of, first, last, mass = joined
    keep = _heaviest(mass.sum(axis=(1, 2)))
    mass = mass[keep] / mass[keep].sum()
    elsewhere = _elsewhere(register, weighed, apart, tables, rng)
    return Cases(draw[keep], line_of[keep], first[keep], last[keep], mass, elsewhere)


def _rows(piece: Segments, mass: np.ndarray) -> tuple[np.ndarray, ...]:
    count, segments = piece.first.shape
    after = np.append(piece.first[:, 1:], np.full((count, 1), np.iinfo(np.int64).max), axis=1)
    draw = np.repeat(np.arange(count), segments)
    line = np.full(count * segments, piece.line)
    return draw, line, piece.first.ravel(), after.ravel() - 1, mass.reshape(count * segments, *mass.shape[2:])


def _heaviest(mass: np.ndarray) -> np.ndarray:
    """The rows that together hold all but a negligible part of the mass, in their order."""
    order = np.argsort(mass)
    light = np.cumsum(mass[order]) < NEGLIGIBLE * mass.sum()
    return np.sort(order[~light])


def _elsewhere(
    register: Register,
    weighed: Weighed,
    apart: dict[int, np.ndarray],
    tables: list[np.ndarray],
    rng: np.random.Generator,
) -> Elsewhere:
    marginal, count = weighed.marginal, weighed.draws.count
    everywhere = {view.number: view.axis.stretches for view in register.views}
    line = np.zeros((len(apart), count), dtype=np.int64)
    position = np.zeros((len(apart), count), dtype=np.int64)
    for g in apart:
        by_condition = log_sum(np.concatenate([t[:, :, g + 1] for t in tables], axis=1), axis=1)
        condition = draw_columns(by_condition, rng)
        line[g], position[g] = draw_places(
            marginal, register.bench, marginal.apart[g][1], everywhere, np.arange(count), condition, rng
        )
    return Elsewhere(line, position)


def mixes_at(events: LineEvents, feature: int, rows: np.ndarray, position: np.ndarray) -> np.ndarray:
    """(len(rows), states) mix of a feature's states at one position in each of the histories `rows`."""
    columns = np.flatnonzero(events.feature == feature)
    base = events.base[feature]
    size = len(base) if base is not None else _size(events, feature)
    mix = np.zeros((len(rows), size)) + (0.0 if base is None else base)
    for e in columns:
        before = events.before[e]
        behind = events.position[rows, e] <= position
        mix[behind] += events.after[e] - (0.0 if before is None else before)
    for number, mixed_rows, shares in events.mixed:
        if number == feature:
            where = np.full(len(events.position), -1)
            where[mixed_rows] = np.arange(len(mixed_rows))
            here = where[rows] >= 0
            mix[here] = shares[where[rows[here]]]
    return np.maximum(mix, 0.0)


def _size(events: LineEvents, feature: int) -> int:
    for number, after in zip(events.feature, events.after, strict=True):
        if number == feature:
            return len(after)
    return next(shares.shape[1] for number, _, shares in events.mixed if number == feature)


@dataclass(frozen=True, slots=True)
class CaseStates:
    """Chances of the factory states in every case: own : per feature (K, k) at the set's place; away : per feature
    (K, k) where its group would come from, None for features of no group that may have come from elsewhere."""

    own: tuple[np.ndarray, ...]
    away: tuple[np.ndarray | None, ...]


def case_states(register: Register, weighed: Weighed, cases: Cases) -> CaseStates:
    """The factory states that go with each case, before what was seen of the feature itself is weighed in."""
    events = weighed.marginal.events
    own: list[np.ndarray] = []
    away: list[np.ndarray | None] = []
    group_of = {f: g for g, group in enumerate(register.groups) for f in group.features}
    for number, feature in enumerate(register.features):
        own.append(_by_line(events, number, len(feature.all_states), cases.draw, cases.line, cases.first))
        g = group_of.get(number)
        if g is None or len(cases.elsewhere.line) == 0:
            away.append(None)
            continue
        line, position = cases.elsewhere.line[g][cases.draw], cases.elsewhere.position[g][cases.draw]
        away.append(_by_line(events, number, len(feature.all_states), cases.draw, line, position))
    return CaseStates(tuple(own), tuple(away))


def _by_line(
    events: tuple[LineEvents, ...], feature: int, size: int, draw: np.ndarray, line: np.ndarray, position: np.ndarray
) -> np.ndarray:
    mix = np.zeros((len(draw), size))
    for number in np.unique(line):
        here = np.flatnonzero(line == number)
        mix[here] = mixes_at(events[number], feature, draw[here], position[here])
    return mix


def changes_made(view: LineView, weighed: Weighed, draw: np.ndarray, position: np.ndarray) -> np.ndarray:
    """(K, changes of the line) whether a set at each position has each change."""
    if not view.columns:
        return np.zeros((len(draw), 0), dtype=bool)
    made: np.ndarray = weighed.draws.cut_in[view.run][draw][:, list(view.columns)] <= position[:, None]
    return made


def own_blocks(view: LineView, fixed: int, weighed: Weighed, draw: np.ndarray) -> np.ndarray:
    """(K, changes of the line) the block of the line that each change belongs to in each history."""
    block = np.empty((len(draw), len(view.changes)), dtype=np.int64)
    for at, (change, column) in enumerate(zip(view.changes, view.columns, strict=True)):
        if not change.spans:
            block[:, at] = change.block
            continue
        if column < fixed:
            block[:, at] = change.block
            continue
        in_run = weighed.draws.block[view.run][draw, column - fixed]
        known = max([*view.own_block, int(in_run.max(initial=0))]) + 1
        table = np.full(known, change.block)
        for run_block, own in view.own_block.items():
            table[run_block] = own
        block[:, at] = table[in_run]
    return block


def entries_of(view: LineView, made: np.ndarray, block: np.ndarray) -> np.ndarray:
    """(K,) verdict entry: stages first, then gaps; the first block of which some but not all is made is the gap."""
    stages = len(view.history.stages)
    entry = np.full(len(made), stages - 1)
    settled = np.zeros(len(made), dtype=bool)
    for number in range(stages - 1):
        here = block == number
        some, every = (made & here).any(axis=1), (made | ~here).all(axis=1)
        empty = ~here.any(axis=1)
        entry = np.where(~settled & ~some & ~empty, number, entry)
        entry = np.where(~settled & some & ~every, stages + number, entry)
        settled |= (~some & ~empty) | (some & ~every)
    return entry
