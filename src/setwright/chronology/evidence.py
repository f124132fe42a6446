"""What the sets of a register say of weeks, as rows of likelihoods, each different piece of evidence read once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property

import numpy as np
from scipy.linalg import toeplitz

from setwright.chronology.lags import Lags
from setwright.chronology.likelihood import document_likelihood, scatter_kernel, stamp_likelihood
from setwright.chronology.model import Assumptions, DatedSet, Evidence
from setwright.chronology.parts import parts_likelihood
from setwright.chronology.weeks import Weeks

_CHUNK = 2048
_SMALLEST = 1e-300


class EvidenceRows:
    """Log-likelihoods of weeks, by piece of evidence and by set, under what is known of lags."""

    def __init__(self, weeks: Weeks, lags: Lags, assumptions: Assumptions) -> None:
        self.weeks = weeks
        self.lags = lags
        self.assumptions = assumptions
        self.kernel = scatter_kernel(weeks, assumptions.scatter_weeks)
        self._rows: dict[tuple[Evidence, ...], np.ndarray] = {}

    def with_lags(self, lags: Lags) -> EvidenceRows:
        """The same with other stock lags; what stamps and documents say is known already."""
        other = EvidenceRows(self.weeks, lags, self.assumptions)
        other._rows = {items: row for items, row in self._rows.items() if items[0].kind != "part"}
        return other

    @cached_property
    def _scatter(self) -> np.ndarray:
        """(count, count) the kernel as a matrix, symmetrical."""
        reach = len(self.kernel) // 2
        row = np.zeros(self.weeks.count)
        row[: min(reach + 1, self.weeks.count)] = self.kernel[reach : reach + self.weeks.count]
        return toeplitz(row)

    def stamps(self, evidence: Sequence[Evidence]) -> np.ndarray:
        """(count,) log-likelihood of the week of finishing from stamps and documents."""
        single = [self._row((item,)) for item in evidence if item.kind != "part"]
        return np.sum(single, axis=0) if single else np.zeros(self.weeks.count)

    def parts(self, evidence: Sequence[Evidence]) -> np.ndarray:
        """(count,) log-likelihood of the week of finishing from the dated parts together."""
        parts = tuple(item for item in evidence if item.kind == "part")
        return self._row(parts) if parts else np.zeros(self.weeks.count)

    def finished(self, evidence: Sequence[Evidence]) -> np.ndarray:
        """(count,) log-likelihood of the week of finishing from all evidence of one set."""
        return self.stamps(evidence) + self.parts(evidence)

    def numbered(self, sets: Sequence[DatedSet]) -> Iterator[tuple[int, np.ndarray]]:
        """For chunks of sets, the number of the first and (n, count) log-likelihoods of the weeks of their numbers."""
        for start in range(0, len(sets), _CHUNK):
            yield start, self.scattered(np.array([self.finished(one.evidence) for one in sets[start : start + _CHUNK]]))

    def scattered(self, rows: np.ndarray) -> np.ndarray:
        """(n, count) log-likelihoods of the turn of a number, from those (n, count) of the week of finishing."""
        highest = rows.max(axis=1, keepdims=True)
        moved = np.exp(rows - highest) @ self._scatter
        return np.asarray(np.log(np.maximum(moved, _SMALLEST)) + highest)

    def _row(self, items: tuple[Evidence, ...]) -> np.ndarray:
        """Log-likelihood of one stamp or document, or of dated parts together."""
        row = self._rows.get(items)
        if row is None:
            row = self._rows[items] = np.log(self._likelihood(items))
        return row

    def _likelihood(self, items: tuple[Evidence, ...]) -> np.ndarray:
        if items[0].kind == "stamp":
            return stamp_likelihood(items[0], self.weeks, self.assumptions)
        if items[0].kind == "document":
            return document_likelihood(items[0], self.weeks, self.assumptions)
        return parts_likelihood(items, self.weeks, self.lags, self.assumptions)
