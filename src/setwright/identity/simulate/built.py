"""What left the factory at a place of a production."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from setwright.identity.history import Change
from setwright.identity.model import ABSENT, Feature
from setwright.identity.simulate.free import MIXED
from setwright.identity.simulate.production import Production


def factory_states(production: Production, line: str, position: int) -> dict[str, str]:
    """The state of every feature of a set as it left the factory, by feature id, old stock set aside.

    Left out is what follows no cut-in where the line has it: variants, and features mixed throughout.
    """
    where = np.array([position])
    states = {}
    for feature in production.history.features:
        if not _varies(production, feature, line):
            states[feature.id] = feature.all_states[int(_by_cut_ins(production, feature, line, where)[0])]
    return states


def draw_built(
    production: Production, feature: Feature, in_line: np.ndarray, position: np.ndarray, rng: np.random.Generator
) -> np.ndarray:
    """(n,) index into all_states of sets of the lines `in_line` at `position`, what varies drawn set by set."""
    built = np.zeros(len(in_line), dtype=np.int16)
    lines = production.family.line_ids
    for i, rows in rows_by_line(in_line, lines):
        line = lines[i]
        if _varies(production, feature, line):
            # Sets of a line that has the feature are never built without it.
            listed = np.array([feature.all_states.index(state) for state in feature.states])
            free = production.free.get((line, feature.id))
            if free is None:
                built[rows] = listed[rng.integers(len(listed), size=len(rows))]
            else:
                built[rows] = listed[rng.choice(len(listed), size=len(rows), p=free.shares)]
        else:
            built[rows] = _by_cut_ins(production, feature, line, position[rows])
            if feature.overlap > 0:
                built[rows] = _with_old_stock(production, feature, line, position[rows], built[rows], rng)
    return built


def rows_by_line(in_line: np.ndarray, lines: Sequence[str]) -> Iterator[tuple[int, np.ndarray]]:
    """Each line's number and rows, lines without any passed over."""
    for i in range(len(lines)):
        rows = np.flatnonzero(in_line == i)
        if len(rows):
            yield i, rows


def _varies(production: Production, feature: Feature, line: str) -> bool:
    """Whether every set of the line has its own state."""
    if not feature.in_line(line):
        return False
    free = production.free.get((line, feature.id))
    return feature.role == "variant" or (free is not None and free.kind == MIXED)


def _by_cut_ins(production: Production, feature: Feature, line: str, position: np.ndarray) -> np.ndarray:
    """(n,) index into all_states at each position of one line, for a feature that does not vary there."""
    if not feature.in_line(line):
        return np.full(len(position), feature.all_states.index(ABSENT), dtype=np.int16)
    states, cut_ins = _course(production, feature, line)
    built = np.full(len(position), feature.all_states.index(states[0]), dtype=np.int16)
    for state, cut_in in zip(states[1:], cut_ins, strict=True):
        built[position >= cut_in] = feature.all_states.index(state)
    return built


def _course(production: Production, feature: Feature, line: str) -> tuple[list[str], list[int]]:
    """The states that a feature goes through in a line, and the cut-ins between them."""
    free = production.free.get((line, feature.id))
    if free is not None:
        return list(free.order), list(free.cut_ins)
    changes = _documented(production, feature, line)
    if not changes:
        return [production.line_history(line).stages[0].states[feature.id]], []
    return [changes[0].from_state, *(c.to_state for c in changes)], [production.cut_ins[c.id] for c in changes]


def _documented(production: Production, feature: Feature, line: str) -> list[Change]:
    """The feature's documented changes in the order in which they were made."""
    history = production.line_history(line)
    changes = [change for change in (*history.changes, *history.silent) if change.feature == feature.id]
    return sorted(changes, key=lambda change: int(change.id.rsplit(":", 1)[1]))


def _with_old_stock(
    production: Production,
    feature: Feature,
    line: str,
    position: np.ndarray,
    built: np.ndarray,
    rng: np.random.Generator,
) -> np.ndarray:
    """Around each cut-in every set has the old state or the new one, one as likely as the other.

    Where the overlaps of two changes meet, the earlier ends where the later begins.
    """
    if not feature.in_line(line):
        return built
    states, cut_ins = _course(production, feature, line)
    index = np.array([feature.all_states.index(state) for state in states])
    later = rng.integers(2, size=len(position))
    begins = [max(before, cut_in - feature.overlap + 1) for before, cut_in in pairwise(cut_ins)]
    mine = np.searchsorted(begins, position, side="right")
    mixed = built.copy()
    for number, cut_in in enumerate(cut_ins):
        rows = np.flatnonzero((mine == number) & (np.abs(position - cut_in) < feature.overlap))
        mixed[rows] = index[number + later[rows]]
    return mixed
