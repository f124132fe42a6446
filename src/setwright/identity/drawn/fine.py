"""Places inside cells: where the sets' evidence jumps within a cell, cut-ins are drawn by the jumps."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from setwright.identity.drawn.chains import even_shares
from setwright.identity.evidence import Steps


@dataclass(frozen=True, slots=True)
class FineSteps:
    """Step functions cut at the edges of cells.

    ends, widths : (S,) of the steps. starts : (C + 1,) number of each cell's first step. levels : (m, S) logarithms.
    """

    ends: np.ndarray
    widths: np.ndarray
    starts: np.ndarray
    levels: np.ndarray

    def place(self, levels: np.ndarray, cell: np.ndarray, rng: np.random.Generator) -> np.ndarray:
        """(n,) positions inside cells, likelier where levels, (S,), are higher."""
        top = np.maximum.reduceat(levels, self.starts[:-1])
        counts = np.diff(self.starts)
        weight = self.widths * np.exp(levels - np.repeat(np.where(top > -np.inf, top, 0.0), counts))
        cumulative = np.append(0.0, np.cumsum(weight))
        low, high = cumulative[self.starts[cell]], cumulative[self.starts[cell + 1]]
        share = low + even_shares(len(cell), rng) * (high - low)
        step = np.searchsorted(cumulative, share, side="right") - 1
        step = np.clip(step, self.starts[cell], self.starts[cell + 1] - 1)
        position: np.ndarray = self.ends[step] - np.floor(rng.random(len(cell)) * self.widths[step]).astype(np.int64)
        return position

    def at(self, number: int, position: np.ndarray) -> np.ndarray:
        """(n,) levels of one function at positions."""
        levels: np.ndarray = self.levels[number][np.searchsorted(self.ends, position)]
        return levels

    def log_means(self, number: int) -> np.ndarray:
        """(C,) log of the mean of exp of one function over each cell."""
        levels = self.levels[number]
        top = np.maximum.reduceat(levels, self.starts[:-1])
        weight = self.widths * np.exp(levels - np.repeat(np.where(top > -np.inf, top, 0.0), np.diff(self.starts)))
        total = np.add.reduceat(weight, self.starts[:-1]) / np.add.reduceat(self.widths, self.starts[:-1])
        with np.errstate(divide="ignore"):
            means: np.ndarray = np.log(total) + top
        return means


def fine_steps(steps: Steps, edges: np.ndarray) -> FineSteps:
    """Cut step functions at the edges of cells."""
    ends = steps.split_ends(edges[1:])
    levels = steps.levels[:, np.searchsorted(steps.ends, ends)]
    widths = np.diff(ends, prepend=steps.first - 1).astype(float)
    starts = np.append(np.searchsorted(ends, edges[:-1], side="right"), len(ends))
    return FineSteps(ends, widths, starts, levels)
