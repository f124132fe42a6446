"""What the sets say about every change of a run, one change at a time, on the cells of its axis."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from setwright.identity.drawn.fine import FineSteps, fine_steps
from setwright.identity.drawn.free import FreeEvidence, share_points
from setwright.identity.drawn.known import KnownItems
from setwright.identity.drawn.responsibilities import SoftItem
from setwright.identity.drawn.runs import LineView, Run
from setwright.identity.evidence import CellEvidence, Steps, gather, place_edges, steps_from_items, within_bounds
from setwright.identity.model import Feature
from setwright.identity.places import FRACTION_UNIT


@dataclass(frozen=True, slots=True)
class RunEvidence:
    """Evidence on one run.

    cells : of the changes of known block. spanning : (n, C) of those that span several.
    free : of each free feature, by key. fine : exact step functions of the sets of known place, for all changes;
    soft : (changes, C) what the sets of uncertain place add to them.
    """

    cells: CellEvidence
    spanning: np.ndarray
    free: Mapping[tuple[int, str], FreeEvidence]
    fine: FineSteps
    soft: np.ndarray

    @property
    def edges(self) -> np.ndarray:
        """Edges of the cells."""
        return self.cells.edges


@dataclass(frozen=True, slots=True)
class RunGathering:
    """Gathers the evidence on one run. views : all lines of the family."""

    run: Run
    number: int
    views: Sequence[LineView]
    features: Sequence[Feature]

    @property
    def _lines(self) -> list[LineView]:
        return [view for view in self.views if view.run == self.number]

    def feature_number(self, feature: str) -> int:
        """The number of a feature in the family."""
        return next(number for number, f in enumerate(self.features) if f.id == feature)

    def steps(self, known: KnownItems) -> Steps:
        """Step functions of all changes from sets of known place, documented bounds included."""
        rows = np.flatnonzero(np.isin(known.line, self.run.lines))
        rows = rows[np.argsort(known.position[rows], kind="stable")]
        spans = sorted({self.features[self.feature_number(c.feature)].overlap for c in self.run.changes} - {0})
        positions = [known.position[rows]] + [known.position[rows] + shift for o in spans for shift in (-o, o - 1)]
        together = np.concatenate(positions)
        axis = self.run.axis
        order = np.argsort(together, kind="stable")
        order = order[(together[order] >= axis.first) & (together[order] <= axis.last)]
        ratios = (self._ratios(known, rows, column, spans)[order] for column in range(len(self.run.changes)))
        steps = steps_from_items(together[order], len(self.run.changes), ratios, axis)
        return steps if axis.unit == FRACTION_UNIT else within_bounds(steps, self.run.changes)

    def _ratios(self, known: KnownItems, rows: np.ndarray, column: int, spans: list[int]) -> np.ndarray:
        """Log-likelihood ratios of one change's items, before it less after it, at sharp and shifted positions.

        With old stock used up around the cut-in a set counts half way from `overlap` before it to `overlap` behind.
        """
        change = self.run.changes[column]
        number = self.feature_number(change.feature)
        feature = self.features[number]
        like = known.like[number][rows]
        before = like[:, feature.all_states.index(change.from_state)]
        after = like[:, feature.all_states.index(change.to_state)]
        has = [view.number for view in self._lines if column in view.columns]
        in_line = np.isin(known.line[rows], has)
        ratios = np.zeros((1 + 2 * len(spans), len(rows)))
        if feature.overlap > 0:
            half = (before + after) / 2.0
            at = 1 + 2 * spans.index(feature.overlap)
            ratios[at] = np.where(in_line, np.log(half / after), 0.0)
            ratios[at + 1] = np.where(in_line, np.log(before / half), 0.0)
        else:
            ratios[0] = np.where(in_line, np.log(before / after), 0.0)
        return ratios.ravel()

    def edges(self, steps: Steps, most_cells: int) -> np.ndarray:
        """Edges of cells for evidence like these steps; documented bounds end a cell."""
        fixed = Steps(steps.first, steps.ends, steps.levels[: self.run.fixed])
        bounds = [c.earliest - 1 for c in self.run.changes if c.earliest is not None]
        bounds += [c.latest for c in self.run.changes if c.latest is not None]
        sizes = tuple(size for size in self.run.block_sizes if size)
        return place_edges(fixed, sizes, self.run.axis, most_cells, np.array(bounds, dtype=np.int64))

    def evidence(
        self,
        known: KnownItems,
        steps: Steps,
        edges: np.ndarray,
        soft: Sequence[SoftItem],
        chances: Mapping[int, Sequence[np.ndarray]],
    ) -> RunEvidence:
        """Everything together, on the cells between `edges`.

        chances : by line, per feature (C, k) chance of each state in the cells of that line's run.
        """
        fixed = self.run.fixed
        sizes = self.run.block_sizes
        cells = gather(Steps(steps.first, steps.ends, steps.levels[:fixed]), sizes, edges)
        spanning = gather(Steps(steps.first, steps.ends, steps.levels[fixed:]), (), edges).change
        change, stroke = cells.change.copy(), cells.stroke.copy()
        terms = np.zeros((len(self.run.changes), len(edges) - 1))
        for column, one in enumerate(self.run.changes):
            number = self.feature_number(one.feature)
            states = self.features[number].all_states
            has = [view for view in self._lines if column in view.columns]
            term = self._soft_step(
                soft, number, has, len(edges) - 1, chances, states.index(one.from_state), states.index(one.to_state)
            )
            terms[column] = term
            if column < fixed:
                change[column] += term
                stroke[one.block] += term
            else:
                spanning[column - fixed] += term
        free = {key: self._free(key, known, edges, soft, chances) for key in self.run.free}
        return RunEvidence(CellEvidence(edges, change, stroke), spanning, free, fine_steps(steps, edges), terms)

    def _soft_step(
        self,
        soft: Sequence[SoftItem],
        number: int,
        has: Sequence[LineView],
        cells: int,
        chances: Mapping[int, Sequence[np.ndarray]],
        before: int,
        after: int,
    ) -> np.ndarray:
        """(C,) log-likelihood, up to a constant, of the sets of uncertain place, by the cell of the cut-in."""
        total = np.zeros(cells)
        for item in soft:
            if number not in item.at:
                continue
            parts, rest = self._likelihood_by_cell(item, number, has, cells, chances)
            from_before, from_after = parts[:, before], parts[:, after]
            earlier = np.append(0.0, np.cumsum(from_before)[:-1])
            later = np.cumsum(from_after[::-1])[::-1]
            total += np.log(earlier + later + rest)
        return total

    def _likelihood_by_cell(
        self,
        item: SoftItem,
        number: int,
        has: Sequence[LineView],
        cells: int,
        chances: Mapping[int, Sequence[np.ndarray]],
    ) -> tuple[np.ndarray, float]:
        """(C, k) chance of a cell times the likelihood by state, in lines that have the history; and all the rest."""
        lines = {view.number for view in has}
        parts: np.ndarray | None = None
        rest = item.elsewhere[number]
        for line, chance in item.at[number].items():
            by_state = chance.T @ item.seen[number]
            if line in lines:
                parts = by_state if parts is None else parts + by_state
            else:
                rest += float((by_state * chances[line][number]).sum())
        if parts is None:
            parts = np.zeros((cells, item.seen[number].shape[1]))
        return parts, rest

    def _free_steps(
        self, overlap: int, position: np.ndarray, like: np.ndarray, pairs: Sequence[tuple[int, int]]
    ) -> tuple[Steps, list[float]]:
        """Step functions of sets, by pairs of states, and what must be added to each for the change of log-likelihood
        from all sets built in the first state to those behind the cut-in built in the second; old stock counts half."""
        axis = self.run.axis
        shifts = (-overlap, overlap - 1) if overlap > 0 else (0,)
        together = np.concatenate([position + shift for shift in shifts])
        order = np.argsort(together, kind="stable")
        counted = order[(together[order] >= axis.first) & (together[order] <= axis.last)]
        ratios, always = [], []
        for a, b in pairs:
            before, after = like[:, a], like[:, b]
            half = (before + after) / 2.0
            parts = [np.log(half / after), np.log(before / half)] if overlap > 0 else [np.log(before / after)]
            ratio = np.concatenate(parts)
            ratios.append(ratio[counted])
            always.append(float(ratio[together < axis.first].sum() - ratio.sum()))
        return steps_from_items(together[counted], len(pairs), ratios, axis), always

    def _with_free(self, key: tuple[int, str]) -> list[LineView]:
        return [view for view in self._lines if view.free.get(key[1]) == key]

    def _free_items(self, key: tuple[int, str], known: KnownItems) -> tuple[np.ndarray, np.ndarray]:
        """Rows of the sets that say something about a free feature, by position, and their likelihoods by state."""
        like = known.like[self.feature_number(key[1])]
        in_line = np.isin(known.line, [view.number for view in self._with_free(key)])
        rows = np.flatnonzero(in_line & (like != 1.0).any(axis=1))
        rows = rows[np.argsort(known.position[rows], kind="stable")]
        return rows, like[rows]

    def _free(
        self,
        key: tuple[int, str],
        known: KnownItems,
        edges: np.ndarray,
        soft: Sequence[SoftItem],
        chances: Mapping[int, Sequence[np.ndarray]],
    ) -> FreeEvidence:
        """Evidence on a free feature: sums over its states, every pair of them, and every way of mixing."""
        number = self.feature_number(key[1])
        has = self._with_free(key)
        rows, like = self._free_items(key, known)
        states = possible_states(self.features[number])
        size = len(self.features[number].all_states)
        cells = len(edges) - 1
        start, step = np.log(like).sum(axis=0), np.zeros((size, size, cells))
        pairs = [(a, b) for a in states for b in states if a != b]
        steps, always = self._free_steps(self.features[number].overlap, known.position[rows], like, pairs)
        levels = gather(steps, (), edges).change
        for (a, b), row, constant in zip(pairs, levels, always, strict=True):
            step[a, b] = row + constant
        points = share_points(len(states))
        mixed = np.log(like[:, list(states)] @ points.T).sum(axis=0)
        for item in soft:
            if number not in item.at:
                continue
            parts, rest = self._likelihood_by_cell(item, number, has, cells, chances)
            whole = parts.sum(axis=0)
            start += np.log(whole + rest)
            mixed += np.log(points @ whole[list(states)] + rest)
            for a, b in pairs:
                earlier = np.append(0.0, np.cumsum(parts[:, a])[:-1])
                later = np.cumsum(parts[::-1, b])[::-1]
                step[a, b] += np.log(earlier + later + rest) - np.log(whole[a] + rest)
        return FreeEvidence(start, step, mixed, fine_steps(steps, edges), {pair: n for n, pair in enumerate(pairs)})


def possible_states(feature: Feature) -> tuple[int, ...]:
    """The states, by number, that a feature may have in a line that has it."""
    return tuple(number for number, state in enumerate(feature.all_states) if state in feature.states)
