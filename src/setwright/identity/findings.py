"""What is found about one line, however it was computed: the questions every kind of computation answers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from setwright.identity.factors import SeenFeature
from setwright.identity.history import Change, LineHistory
from setwright.identity.places import Axis, StandablePlaces


@dataclass(frozen=True, slots=True)
class ChangePosterior:
    """One change, given its line.

    gap : number of the versions' gap it lies in, None for a free change. cut_in : (C,) probability by cell.
    ranged : (C,) the probability that its range is taken from, where that differs.
    applied : that the set has it. probability : that it is a change at all.
    """

    change: Change
    gap: int | None
    cut_in: np.ndarray
    applied: float
    probability: float = 1.0
    ranged: np.ndarray | None = None


class LineFindings(Protocol):
    """One line's part of the answer. Masses are joint with the line: over all lines they sum to 1.

    edges : of the cells. standable : the set's possible places. in_cell : (C,) the set's place, given the line.
    """

    @property
    def history(self) -> LineHistory: ...  # noqa: D102
    @property
    def axis(self) -> Axis: ...  # noqa: D102
    @property
    def edges(self) -> np.ndarray: ...  # noqa: D102
    @property
    def probability(self) -> float: ...  # noqa: D102
    @property
    def standable(self) -> StandablePlaces: ...  # noqa: D102
    @property
    def in_cell(self) -> np.ndarray: ...  # noqa: D102

    def entry_masses(self) -> np.ndarray:
        """(stages + blocks, 3) verdict entries by condition, stages first, then gaps."""
        ...

    def state_masses(self, seen: SeenFeature) -> np.ndarray:
        """(stages + blocks, 3, states) how each entry's mass divides over a feature's factory states."""
        ...

    def applied_given(self, entry: int) -> dict[str, float]:
        """Probability of each documented change of the line, given a verdict entry."""
        ...

    def can_stand(self, entry: int) -> bool:
        """Whether a set can be what the entry says."""
        ...

    def change_posteriors(self) -> tuple[ChangePosterior, ...]:
        """Every change of the line."""
        ...
