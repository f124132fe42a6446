"""The likelihood of whole sets given drawn histories, everything unknown about the set itself summed exactly.

What is unknown of a set is its condition, where its serial leaves that open its line and position, and whether one
group of its features came from elsewhere, and if so from where.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from setwright.identity.chain import log_sum
from setwright.identity.drawn.events import Draws, LineEvents, LineTerms, line_events, line_terms
from setwright.identity.drawn.runs import LineView
from setwright.identity.drawn.sets import Ranges, Sets, Tables, places_before
from setwright.identity.groups import Group

Subset = np.ndarray
"""(features,) which features take part."""


@dataclass(frozen=True, slots=True)
class Segments:
    """One line cut at the events of every history: log_mass (n, segments, 3) of standing there, prior included.

    first : (n, segments) first position of each segment; the first one's is before every position.
    order : (n, segments - 1) which event begins each segment but the first, as columns of the line's events.
    """

    line: int
    first: np.ndarray
    order: np.ndarray
    log_mass: np.ndarray


class Marginal:
    """Likelihoods of the sets under drawn histories."""

    def __init__(
        self,
        views: tuple[LineView, ...],
        draws: Draws,
        sets: Sets,
        tables: Tables,
        groups: tuple[Group, ...],
        married: float,
    ) -> None:
        self.views, self.draws, self.sets, self.tables, self.groups = views, draws, sets, tables, groups
        self.married = married if groups else 0.0
        self.events: tuple[LineEvents, ...] = tuple(line_events(view, tables.features, draws) for view in views)
        self.terms: tuple[LineTerms, ...] = tuple(line_terms(events, tables, sets.codes) for events in self.events)
        everything = np.ones(len(tables.features), dtype=bool)
        self.whole: Subset = everything
        self.apart: list[tuple[Subset, Subset]] = []
        for group in groups:
            of_group = np.zeros(len(tables.features), dtype=bool)
            of_group[list(group.features)] = True
            self.apart.append((everything & ~of_group, of_group))
        self._mixed: dict[tuple[int, int, int], np.ndarray] = {}
        self._elsewhere: dict[tuple[int, bytes], np.ndarray] = {}

    def total(self, row: int) -> np.ndarray:
        """(n,) log-likelihood of one set in every history."""
        total: np.ndarray = log_sum(self.by_condition(row), axis=1)
        return total

    def by_condition(self, row: int) -> np.ndarray:
        """(n, 3) log of the likelihood of one set joint with its condition."""
        log_condition = self.tables.log_condition
        together = self.part(row, self.whole)
        if not self.married or not self.could_be_married(row):
            return together + log_condition
        parts = [together + np.log1p(-self.married)]
        each = np.log(self.married / len(self.groups))
        for number in range(len(self.groups)):
            parts.append(self.married_part(row, number) + each)
        joined: np.ndarray = log_sum(np.stack(parts), axis=0) + log_condition
        return joined

    def married_part(self, row: int, group: int) -> np.ndarray:
        """(n, 3) log-likelihood if that group came from elsewhere, by condition."""
        if not (self.sets.codes[row, list(self.groups[group].features)] >= 0).any():
            return self.part(row, self.whole)
        rest, own = self.apart[group]
        return self.part(row, rest) + self.elsewhere(row, group, own)

    def could_be_married(self, row: int) -> bool:
        """Whether anything was seen of a group that could have come from elsewhere."""
        return any((self.sets.codes[row, list(group.features)] >= 0).any() for group in self.groups)

    def elsewhere(self, row: int, group: int, own: Subset) -> np.ndarray:
        """(n, 3) log-likelihood of a group's features at an unknown place of any line."""
        key = (group, self.sets.codes[row, own].tobytes())
        found = self._elsewhere.get(key)
        if found is None:
            everywhere = {view.number: view.axis.stretches for view in self.views}
            found = self._part(row, own, everywhere)
            self._elsewhere[key] = found
        return found

    def part(self, row: int, subset: Subset) -> np.ndarray:
        """(n, 3) log-likelihood of some of a set's features at its own place, summed over where that may be."""
        return self._part(row, subset, self.sets.places_of(row))

    def _part(self, row: int, subset: Subset, places: Mapping[int, Ranges]) -> np.ndarray:
        parts = []
        for view in self.views:
            ranges = places.get(view.number)
            if not ranges:
                continue
            log_prior = -np.log(len(self.views) * view.axis.set_count)
            if len(ranges) == 1 and ranges[0][0] == ranges[0][1]:
                parts.append(self.at(row, view.number, subset, ranges[0][0]) + log_prior)
            else:
                parts.append(log_sum(self.segments(row, view.number, subset, ranges).log_mass, axis=1))
        joined: np.ndarray = parts[0] if len(parts) == 1 else log_sum(np.stack(parts), axis=0)
        return joined

    def at(self, row: int, line: int, subset: Subset, position: int) -> np.ndarray:
        """(n, 3) log-likelihood of some of a set's features at one position of one line."""
        columns, step = self._steps(row, line, subset)
        behind = (self.events[line].position[:, columns] <= position).astype(float)
        result: np.ndarray = behind @ step + self._base(row, line, subset)
        return result

    def segments(self, row: int, line: int, subset: Subset, ranges: Ranges, *, every_event: bool = False) -> Segments:
        """One line cut at the events that matter to the set (or at all), with the mass of standing in each part."""
        columns, step = self._steps(row, line, subset)
        if every_event:
            columns, step = (
                np.arange(len(self.events[line].feature)),
                np.where(subset[self.events[line].feature][:, None], self.terms[line].step[row], 0.0),
            )
        position = self.events[line].position[:, columns]
        order = np.argsort(position, axis=1, kind="stable")
        first = np.take_along_axis(position, order, axis=1)
        count = len(first)
        mass = np.zeros((count, len(columns) + 1, step.shape[1] if len(columns) else len(self.tables.log_condition)))
        np.cumsum(step[order], axis=1, out=mass[:, 1:])
        mass += self._base(row, line, subset)[:, None, :]
        upto = np.zeros((count, len(columns) + 2))
        upto[:, 1:-1] = places_before(ranges, first)
        upto[:, -1] = sum(high - low + 1 for low, high in ranges)
        with np.errstate(divide="ignore"):
            log_width = np.log(np.diff(upto, axis=1) / (len(self.views) * self.views[line].axis.set_count))
        mass += log_width[:, :, None]
        before_all = np.full((count, 1), np.iinfo(np.int64).min)
        return Segments(line, np.concatenate([before_all, first], axis=1), columns[order], mass)

    def _steps(self, row: int, line: int, subset: Subset) -> tuple[np.ndarray, np.ndarray]:
        """Columns of the events that say something about the set, and what each adds, (columns, 3)."""
        step = self.terms[line].step[row]
        columns = np.flatnonzero(subset[self.events[line].feature] & (step != 0.0).any(axis=1))
        return columns, step[columns]

    def _base(self, row: int, line: int, subset: Subset) -> np.ndarray:
        """(n or 1, 3) log-likelihood before every event; of mixed features in the histories that mix them."""
        base = self.terms[line].base[row, subset].sum(axis=0)[None]
        for number, rows, shares in self.events[line].mixed:
            code = int(self.sets.codes[row, number])
            if subset[number] and code >= 0:
                if len(base) == 1:
                    base = np.repeat(base, self.draws.count, axis=0)
                key = (line, number, code)
                if key not in self._mixed:
                    self._mixed[key] = np.log(shares @ self.tables.seen[number][code].T)
                base[rows] += self._mixed[key]
        result: np.ndarray = base
        return result


@dataclass(frozen=True, slots=True)
class Latents:
    """What one set may have been in each of n histories, drawn: all (n,).

    group : number of the group that came from elsewhere, -1 for none; other_line, other_position : its place then,
    the set's own otherwise.
    """

    line: np.ndarray
    position: np.ndarray
    condition: np.ndarray
    group: np.ndarray
    other_line: np.ndarray
    other_position: np.ndarray


def draw_latents(marginal: Marginal, row: int, rng: np.random.Generator) -> Latents:
    """Draw one set's condition, place and marriage in every history, given what was seen of it."""
    log_condition = marginal.tables.log_condition
    count = marginal.draws.count
    parts = [np.broadcast_to(marginal.part(row, marginal.whole), (count, 3)) + np.log1p(-marginal.married)]
    each = np.log(marginal.married / len(marginal.groups)) if marginal.married else -np.inf
    for number in range(len(marginal.groups) if marginal.married else 0):
        parts.append(marginal.married_part(row, number) + each)
    table = (np.stack(parts) + log_condition).transpose(1, 0, 2).reshape(count, -1)
    chosen = draw_columns(table, rng)
    group, condition = chosen // 3 - 1, chosen % 3
    line, position = np.empty(count, dtype=np.int64), np.empty(count, dtype=np.int64)
    places = marginal.sets.places_of(row)
    everywhere = {view.number: view.axis.stretches for view in marginal.views}
    other_line, other_position = line, position
    for g in np.unique(group):
        rows = np.flatnonzero(group == g)
        subset = marginal.whole if g < 0 else marginal.apart[g][0]
        line[rows], position[rows] = draw_places(marginal, row, subset, places, rows, condition[rows], rng)
    other_line, other_position = line.copy(), position.copy()
    for g in np.unique(group[group >= 0]):
        rows = np.flatnonzero(group == g)
        own = marginal.apart[g][1]
        other_line[rows], other_position[rows] = draw_places(marginal, row, own, everywhere, rows, condition[rows], rng)
    return Latents(line, position, condition, group, other_line, other_position)


def draw_places(
    marginal: Marginal,
    row: int,
    subset: Subset,
    places: Mapping[int, Ranges],
    rows: np.ndarray,
    condition: np.ndarray,
    rng: np.random.Generator,
) -> tuple[np.ndarray, np.ndarray]:
    """Line and position of some of a set's features in some of the histories, given its condition there."""
    cut = [marginal.segments(row, line, subset, ranges) for line, ranges in places.items()]
    if len(cut) == 1 and sum(high - low + 1 for low, high in places[cut[0].line]) == 1:
        return np.full(len(rows), cut[0].line), np.full(len(rows), places[cut[0].line][0][0])
    masses = [np.take_along_axis(c.log_mass[rows], condition[:, None, None], axis=2)[:, :, 0] for c in cut]
    chosen = draw_columns(np.concatenate(masses, axis=1), rng)
    sizes = np.cumsum([mass.shape[1] for mass in masses])
    which = np.searchsorted(sizes, chosen, side="right")
    line, position = np.empty(len(rows), dtype=np.int64), np.empty(len(rows), dtype=np.int64)
    for number, part in enumerate(cut):
        here = np.flatnonzero(which == number)
        segment = chosen[here] - (sizes[number] - masses[number].shape[1])
        low = part.first[rows[here], segment]
        ends = np.append(part.first[:, 1:], np.full((len(part.first), 1), np.iinfo(np.int64).max), axis=1)
        high = ends[rows[here], segment] - 1
        line[here] = part.line
        position[here] = _uniform_in(places[part.line], low, high, rng)
    return line, position


def _uniform_in(ranges: Ranges, low: np.ndarray, high: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """One position of the ranges between low and high, every one equally likely."""
    counts = np.stack(
        [np.maximum(np.minimum(high, last) - np.maximum(low, first) + 1, 0) for first, last in ranges], axis=1
    )
    nth = np.floor(rng.random(len(low)) * counts.sum(axis=1)).astype(np.int64)
    position = np.zeros(len(low), dtype=np.int64)
    for (first, _), count in zip(ranges, counts.T, strict=True):
        here = (nth >= 0) & (nth < count)
        position[here] = np.maximum(low, first)[here] + nth[here]
        nth = np.where(nth >= 0, nth - count, nth)
        nth[here] = -1
    return position


def draw_columns(log_table: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """One column for every row, by the weights in it."""
    top = log_table.max(axis=1, keepdims=True)
    cumulative = np.cumsum(np.exp(log_table - top), axis=1)
    shares = rng.random(len(log_table)) * cumulative[:, -1]
    picked: np.ndarray = np.minimum((cumulative <= shares[:, None]).sum(axis=1), log_table.shape[1] - 1)
    return picked
