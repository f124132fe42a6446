"""Sets, or parts of sets, whose place is known, with the likelihood of what was seen there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from setwright.identity.drawn.sets import Tables
from setwright.identity.model import Survivors


@dataclass(frozen=True, slots=True)
class KnownItems:
    """Sets, or parts of them, whose place is known.

    line, position : (n,) where they stand. like : per feature (n, k) likelihood of what was seen, by its state at
    that place, everything else shared out; ones where nothing was seen.
    """

    line: np.ndarray
    position: np.ndarray
    like: Sequence[np.ndarray]

    def joined(self, other: KnownItems) -> KnownItems:
        """These and others."""
        return KnownItems(
            np.append(self.line, other.line), np.append(self.position, other.position), _Joined(self.like, other.like)
        )


@dataclass(frozen=True, slots=True)
class _Joined(Sequence[np.ndarray]):
    """Two sequences of columns, end to end; put together only when asked for, as registers may be long."""

    first: Sequence[np.ndarray]
    second: Sequence[np.ndarray]

    def __len__(self) -> int:
        return len(self.first)

    def __getitem__(self, number: int) -> np.ndarray:  # type: ignore[override]
        return np.concatenate([self.first[number], self.second[number]])


@dataclass(frozen=True, slots=True)
class CodedColumns(Sequence[np.ndarray]):
    """Likelihood columns looked up from codes when asked for. tables : per feature (codes + 2, k), ones for the
    negative codes at the end. codes : per feature (n,), None where the register never mentions it."""

    length: int
    tables: tuple[np.ndarray, ...]
    codes: tuple[np.ndarray | None, ...]

    def __len__(self) -> int:
        return len(self.tables)

    def __getitem__(self, number: int) -> np.ndarray:  # type: ignore[override]
        codes = self.codes[number]
        if codes is None:
            return np.ones((self.length, self.tables[number].shape[1]))
        columns: np.ndarray = self.tables[number][codes]
        return columns


def flat_items(survivors: Survivors, tables: Tables, line: np.ndarray, position: np.ndarray) -> KnownItems:
    """Survivors of known place that count item by item at their marginal rates; line -1 for those left out."""
    rows = np.flatnonzero(line >= 0)
    marginal = marginal_tables(tables)
    codes = tuple(
        None if (seen := survivors.seen.get(feature.id)) is None else seen[rows] for feature in tables.features
    )
    return KnownItems(line[rows], position[rows], CodedColumns(len(rows), marginal, codes))


def marginal_tables(tables: Tables) -> tuple[np.ndarray, ...]:
    """Per feature (codes + 2, k) likelihood at the marginal rate of alteration; ones for the negative codes."""
    prior = np.exp(tables.log_condition)
    return tuple(padded(np.einsum("c,ock->ok", prior, seen)) for seen in tables.seen)


def padded(table: np.ndarray) -> np.ndarray:
    """A table by code with ones added for the negative codes, NOT_SEEN and LOOKS_SERVICED."""
    return np.concatenate([table, np.ones((2, *table.shape[1:]))])
