"""One line's part of the answer from drawn histories, in the same terms as the exact sums give it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from setwright.identity.drawn.bench import Cases, CaseStates, changes_made, entries_of, own_blocks
from setwright.identity.drawn.engine import Register, Weighed
from setwright.identity.drawn.free import CHANGES
from setwright.identity.drawn.runs import LineView
from setwright.identity.drawn.sets import places_before
from setwright.identity.drawn.spread import log_even_weight
from setwright.identity.factors import SeenFeature
from setwright.identity.findings import ChangePosterior
from setwright.identity.history import Change, LineHistory
from setwright.identity.places import Axis, Place, StandablePlaces, standable_places

FREE_CHANGE = 0.5
"""A free feature is listed among the changes when it more probably changed than not."""


@dataclass(frozen=True, slots=True)
class DrawnLine:
    """One line's part of the answer; see `LinePosterior`, whose questions it answers.

    masses : (entries, 3). states : by feature (entries, 3, states). applied : (entries, changes), given the entry.
    """

    history: LineHistory
    axis: Axis
    edges: np.ndarray
    probability: float
    standable: StandablePlaces
    in_cell: np.ndarray
    masses: np.ndarray
    states: Mapping[str, np.ndarray]
    entry_applied: np.ndarray
    listed: tuple[ChangePosterior, ...]
    change_ids: tuple[str, ...]

    def entry_masses(self) -> np.ndarray:
        """(stages + blocks, 3) stages first, then gaps."""
        return self.masses

    def state_masses(self, seen: SeenFeature) -> np.ndarray:
        """(stages + blocks, 3, states) how each entry's mass divides over a feature's factory states."""
        return self.states[seen.feature.id]

    def applied_given(self, entry: int) -> dict[str, float]:
        """Probability of each change of the line, given a verdict entry."""
        return {change: float(p) for change, p in zip(self.change_ids, self.entry_applied[entry], strict=True)}

    def can_stand(self, entry: int) -> bool:
        """Whether a set can be what the entry says: not between two versions that one change leads from and to."""
        gap = entry - len(self.history.stages)
        inside = len(self.history.blocks[gap]) if gap >= 0 else 2
        return inside + sum(gap in change.spans for change in self.history.silent) > 1

    def change_posteriors(self) -> tuple[ChangePosterior, ...]:
        """Every change of the line, its cut-in and whether the set has it."""
        return self.listed


def drawn_lines(
    register: Register,
    weighed: Weighed,
    cases: Cases,
    states: CaseStates,
    seen: Sequence[SeenFeature],
    places: Sequence[Place],
) -> tuple[DrawnLine, ...]:
    """The lines that the bench set may belong to."""
    split = _split_by_state(register, cases, states, seen)
    lines = []
    for view in register.views:
        here = np.flatnonzero(cases.line == view.number)
        if view.number in register.sets.places_of(register.bench):
            lines.append(_line(register, weighed, cases, view, here, split, seen, places))
    return tuple(lines)


def _line(
    register: Register,
    weighed: Weighed,
    cases: Cases,
    view: LineView,
    here: np.ndarray,
    split: Sequence[np.ndarray],
    seen: Sequence[SeenFeature],
    places: Sequence[Place],
) -> DrawnLine:
    run = register.runs[view.run]
    draw, position = cases.draw[here], cases.first[here]
    made = changes_made(view, weighed, draw, position)
    entry = entries_of(view, made, own_blocks(view, run.fixed, weighed, draw))
    entries = 2 * len(view.history.stages) - 1
    one_hot = np.zeros((entries, len(here)))
    one_hot[entry, np.arange(len(here))] = 1.0
    mass = cases.mass[here].sum(axis=1)  # (K, 3)
    by_case = mass.sum(axis=1)
    masses = one_hot @ mass
    whole = masses.sum(axis=1)
    applied = one_hot @ (by_case[:, None] * made)
    given = np.divide(applied, whole[:, None], out=np.full_like(applied, 0.5), where=whole[:, None] > 0.0)
    by_state = {
        s.feature.id: (one_hot @ split[number][here].reshape(len(here), 3 * len(s.feature.all_states))).reshape(
            entries, 3, len(s.feature.all_states)
        )
        for number, s in enumerate(seen)
    }
    edges = weighed.evidence[view.run].edges
    standable = standable_places(view.axis, [place for place in places if place.line == view.history.line], edges)
    total = float(by_case.sum())
    documented = _documented(register, view, weighed, made, by_case, draw, edges)
    return DrawnLine(
        history=view.history,
        axis=view.axis if len(run.lines) == 1 else replace(run.axis, line=view.history.line),
        edges=edges,
        probability=total,
        standable=standable,
        in_cell=_in_cells(cases, here, by_case, register, view, edges),
        masses=masses,
        states=by_state,
        entry_applied=np.clip(given, 0.0, 1.0),
        listed=(*documented, *_free(register, view, weighed, cases, here, edges)),
        change_ids=tuple(change.id for change in view.changes),
    )


def _split_by_state(
    register: Register, cases: Cases, states: CaseStates, seen: Sequence[SeenFeature]
) -> list[np.ndarray]:
    """Per feature (K, 3, states) how each case's mass divides over the factory states, given what was seen.

    What was seen tells of the item, wherever it came from; what was not is predicted for the set's own place.
    """
    group_of = {f: g for g, group in enumerate(register.groups) for f in group.features}
    split = []
    for number, s in enumerate(seen):
        away = states.away[number] if s.informative else None
        own_mass = cases.mass.sum(axis=1)
        if away is not None:
            own_mass = own_mass - cases.mass[:, 1 + group_of[number]]
        divided = _divide(own_mass, states.own[number], s.likelihood)
        if away is not None:
            divided = divided + _divide(cases.mass[:, 1 + group_of[number]], away, s.likelihood)
        split.append(divided)
    return split


def _divide(mass: np.ndarray, mix: np.ndarray, likelihood: np.ndarray) -> np.ndarray:
    """(K, 3, states) of (K, 3) mass in proportion to mix times likelihood."""
    shares = mix[:, None, :] * likelihood[None]
    divided: np.ndarray = mass[:, :, None] * shares / shares.sum(axis=2, keepdims=True)
    return divided


def _in_cells(
    cases: Cases, here: np.ndarray, mass: np.ndarray, register: Register, view: LineView, edges: np.ndarray
) -> np.ndarray:
    """(C,) chance of the set's cell given the line; the places of one case are equally likely."""
    ranges = register.sets.places_of(register.bench)[view.number]
    end = edges[-1] + 1
    first, last = np.clip(cases.first[here], edges[0] + 1, end), np.clip(cases.last[here], edges[0], edges[-1])
    # In units of places: a case covers those from `start` to `stop`, all alike.
    start, stop = places_before(ranges, first), places_before(ranges, last + 1)
    at = places_before(ranges, edges + 1)
    density = np.divide(mass, stop - start, out=np.zeros_like(mass), where=stop > start)
    reached = _ramps(start, density, at) - _ramps(stop, density, at)
    cells = np.maximum(np.diff(reached), 0.0)
    return cells / cells.sum() if cells.sum() > 0.0 else np.full(len(cells), 1.0 / len(cells))


def _ramps(start: np.ndarray, slope: np.ndarray, at: np.ndarray) -> np.ndarray:
    """Sums at each `at` of straight lines that rise from 0 at their start."""
    order = np.argsort(start)
    before = np.searchsorted(start[order], at, side="right")
    slopes = np.append(0.0, np.cumsum(slope[order]))[before]
    offsets = np.append(0.0, np.cumsum((slope * start)[order]))[before]
    sums: np.ndarray = slopes * at - offsets
    return sums


def _documented(
    register: Register,
    view: LineView,
    weighed: Weighed,
    made: np.ndarray,
    by_case: np.ndarray,
    draw: np.ndarray,
    edges: np.ndarray,
) -> list[ChangePosterior]:
    weight = np.bincount(draw, weights=by_case, minlength=weighed.draws.count)
    weight = weight / weight.sum() if weight.sum() > 0.0 else weighed.weight
    run = register.runs[view.run]
    log_even = log_even_weight(run, weighed.draws, view.run, register.assumptions.one_stroke)
    even = weight * np.exp(log_even - log_even[weight > 0.0].max())
    even /= even.sum()
    listed = []
    for at, (change, column) in enumerate(zip(view.changes, view.columns, strict=True)):
        cut = weighed.draws.cut_in[view.run][:, column]
        mass = _histogram(cut, weight, edges)
        applied = float(by_case @ made[:, at] / by_case.sum()) if by_case.sum() > 0.0 else 0.5
        block = change.block
        if change.spans and column >= run.fixed:
            own = own_blocks(view, run.fixed, weighed, np.arange(weighed.draws.count))[:, at]
            block = int(np.bincount(own, weights=weight).argmax())
        gap = view.history.version_gaps[block] if view.history.version_gaps else None
        ranged = _with_ends(_histogram(cut, even, edges), 1.0 / np.square(even).sum())
        listed.append(ChangePosterior(change, gap, mass, applied, 1.0, ranged))
    return listed


def _histogram(cut: np.ndarray, weight: np.ndarray, edges: np.ndarray) -> np.ndarray:
    cell = np.clip(np.searchsorted(edges, cut, side="left") - 1, 0, len(edges) - 2)
    mass: np.ndarray = np.bincount(cell, weights=weight, minlength=len(edges) - 1)
    return mass / mass.sum()


def _with_ends(mass: np.ndarray, effective: float) -> np.ndarray:
    """Mass from so many draws, with what they cannot show: n draws leave n + 1 gaps, equally likely to hold another
    one, and of the two outer gaps half is beyond what was drawn."""
    ends = np.zeros_like(mass)
    ends[0] += 0.5
    ends[-1] += 0.5
    return (effective * mass + ends) / (effective + 1.0)


def _free(
    register: Register, view: LineView, weighed: Weighed, cases: Cases, here: np.ndarray, edges: np.ndarray
) -> list[ChangePosterior]:
    """Changes of free features that more probably changed than not, in their most probable order."""
    by_case = cases.mass[here].sum(axis=(1, 2))
    weight = np.bincount(cases.draw[here], weights=by_case, minlength=weighed.draws.count)
    if weight.sum() <= 0.0:
        return []
    weight = weight / weight.sum()
    listed = []
    for feature, key in view.free.items():
        free, patterns = weighed.draws.free[key], weighed.draws.patterns[key]
        chance = np.bincount(free.pattern, weights=weight, minlength=len(patterns))
        orders = [number for number, pattern in enumerate(patterns) if pattern.kind == CHANGES]
        if not orders or chance[orders].sum() < FREE_CHANGE:
            continue
        best = max(orders, key=lambda number: chance[number])
        rows = np.flatnonzero(free.pattern == best)
        states = register.features[[f.id for f in register.features].index(feature)].all_states
        in_order = np.isin(cases.draw[here], rows)
        for stage, (a, b) in enumerate(pairwise(patterns[best].order)):
            change = Change(
                f"{view.history.line}:{feature}:{stage + 1}", feature, states[a], states[b], view.history.line, -1
            )
            mass = _histogram(free.cut_in[rows, stage], weight[rows], edges)
            has = cases.first[here] >= free.cut_in[cases.draw[here], stage]
            applied = float((by_case * has)[in_order].sum() / by_case[in_order].sum())
            listed.append(ChangePosterior(change, None, mass, applied, float(chance[best])))
    return listed
