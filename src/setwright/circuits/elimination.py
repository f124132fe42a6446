"""Solving one sparse pattern of linear equations for many variants at once.

The pattern is fixed by the circuit, so the order of elimination and every place that fills in are found once; the
numbers of all variants then go through it together. Pivots are taken from the diagonal, which nodal equations with a
little conductance at every node allow; a variant for which that fails shows in its residual, and goes another way.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64]
Places = NDArray[np.intp]


class _Step(NamedTuple):
    """Eliminating one unknown: where its pivot, its column and its row stand, and what they change."""

    pivot: int
    column: Places
    row: Places
    targets: Places
    unknown: int
    below: Places
    right: Places


@dataclass(frozen=True)
class Elimination:
    """The plan for a pattern. size : unknowns. places : row and column of every entry, filled ones included."""

    size: int
    rows: Places
    columns: Places
    steps: tuple[_Step, ...]

    @property
    def entries(self) -> int:
        """How many numbers a variant's matrix has."""
        return len(self.rows)

    def place(self, row: int, column: int) -> int:
        """Where the entry of that row and column stands; KeyError outside the pattern."""
        hits = np.flatnonzero((self.rows == row) & (self.columns == column))
        if not len(hits):
            raise KeyError((row, column))
        return int(hits[0])

    def solve(self, matrix: Values, right: Values) -> Values:
        """The unknowns, (size, variants). Both arguments are used up.

        matrix : (entries, variants). right : (size, variants).
        """
        for step in self.steps:
            inverse = 1.0 / matrix[step.pivot]
            if len(step.column):
                factor = matrix[step.column] * inverse
                if len(step.row):
                    change = factor[:, None, :] * matrix[step.row][None, :, :]
                    matrix[step.targets] -= change.reshape(-1, matrix.shape[1])
                right[step.below] -= factor * right[step.unknown]
        for step in reversed(self.steps):
            value = right[step.unknown]
            if len(step.right):
                value = value - np.einsum("ij,ij->j", matrix[step.row], right[step.right])
            right[step.unknown] = value / matrix[step.pivot]
        return right


def plan(size: int, places: set[tuple[int, int]]) -> Elimination:
    """Plan the elimination of a pattern; the diagonal and the mirror of every entry are added.

    The unknown with fewest neighbours goes first (minimum degree).
    """
    near: list[set[int]] = [set() for _ in range(size)]
    for row, column in places:
        if row != column:
            near[row].add(column)
            near[column].add(row)
    full = {(i, i) for i in range(size)} | {(i, j) for i in range(size) for j in near[i]}
    order: list[tuple[int, list[int]]] = []
    left = set(range(size))
    while left:
        unknown = min(left, key=lambda i: (len(near[i]), i))
        others = sorted(near[unknown])
        order.append((unknown, others))
        left.discard(unknown)
        for i in others:
            near[i].discard(unknown)
            near[i].update(j for j in others if j != i)
            full.update((i, j) for j in others)
    index = {pair: number for number, pair in enumerate(sorted(full))}
    steps = tuple(
        _Step(
            pivot=index[k, k],
            column=_places(index[i, k] for i in others),
            row=_places(index[k, j] for j in others),
            targets=_places(index[i, j] for i in others for j in others),
            unknown=k,
            below=_places(others),
            right=_places(others),
        )
        for k, others in order
    )
    pairs = np.array(sorted(full), dtype=np.intp).reshape(-1, 2)
    return Elimination(size, pairs[:, 0], pairs[:, 1], steps)


def _places(numbers: object) -> Places:
    return np.array(list(numbers), dtype=np.intp)  # type: ignore[call-overload]
