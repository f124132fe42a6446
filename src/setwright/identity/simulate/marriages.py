"""Sets of which a group of features came from elsewhere in the run, or from another line."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from setwright.identity.groups import qualifying_groups
from setwright.identity.model import Feature
from setwright.identity.places import Axis

NOT_MARRIED = -1


@dataclass(frozen=True, slots=True)
class Marriages:
    """Which group of each of n sets came from elsewhere, and from where.

    groups : the groups that can. group : (n,) index into them, NOT_MARRIED for a set that is all of one piece.
    line, position : (n,) where that group was built; the set's own place where nothing came from elsewhere.
    """

    groups: tuple[str, ...]
    group: np.ndarray
    line: np.ndarray
    position: np.ndarray

    def from_elsewhere(self, group: str) -> np.ndarray:
        """(n,) whether this group of each set came from elsewhere."""
        here: np.ndarray = self.group == (self.groups.index(group) if group in self.groups else len(self.groups))
        return here


def draw_marriages(
    features: Sequence[Feature],
    axes: Mapping[int, Axis],
    line: np.ndarray,
    position: np.ndarray,
    married: float,
    rng: np.random.Generator,
) -> Marriages:
    """Draw which sets are married: with probability `married` one group, each equally likely.

    axes : by number of the line. The group's place is anywhere: every line equally likely and in it every place
    that holds sets, the set's own among them.
    """
    groups = tuple(group.name for group in qualifying_groups(features))
    group = np.full(len(line), NOT_MARRIED)
    from_line, from_position = line.copy(), position.copy()
    if married > 0.0 and groups:
        rows = np.flatnonzero(rng.random(len(line)) < married)
        group[rows] = rng.integers(len(groups), size=len(rows))
        from_line[rows] = rng.integers(len(axes), size=len(rows))
        for number, axis in axes.items():
            here = rows[from_line[rows] == number]
            from_position[here] = draw_positions(axis, len(here), rng)
    return Marriages(groups, group, from_line, from_position)


def draw_positions(axis: Axis, count: int, rng: np.random.Generator) -> np.ndarray:
    """Places of the axis that hold sets, each equally likely."""
    sizes = np.array([last - first + 1 for first, last in axis.stretches])
    firsts = np.array([first for first, _ in axis.stretches])
    ends = np.cumsum(sizes)
    rank = rng.integers(ends[-1], size=count)
    stretch = np.searchsorted(ends, rank, side="right")
    positions: np.ndarray = firsts[stretch] + rank - (ends - sizes)[stretch]
    return positions
