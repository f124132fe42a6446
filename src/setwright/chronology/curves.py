"""The date curve of a line, for pictures: when the turn of each number came, and the pace of production."""

from __future__ import annotations

import numpy as np

from setwright.chronology.answer import RunCurve
from setwright.chronology.chain import Chain
from setwright.chronology.model import Run
from setwright.chronology.weeks import DAYS, Weeks

_POINTS = 40


def curve_of(run: Run, chain: Chain, weeks: Weeks, level: float) -> RunCurve:
    """The date curve of one line: the turn of numbers from the first position to the last."""
    nodes = chain.position
    spread = np.linspace(run.first, run.last, _POINTS).round().astype(np.int64)
    chosen = (
        nodes[np.linspace(0, len(nodes) - 1, min(len(nodes), _POINTS)).round().astype(int)] if len(nodes) else nodes
    )
    positions = np.unique(np.concatenate([spread, chosen]))
    rows = np.array([chain.week_at(int(position)) for position in positions])
    ends = ((1.0 - level) / 2.0, 0.5, (1.0 + level) / 2.0)
    days = np.array([[day.toordinal() for day in weeks.quantiles(row, ends)] for row in rows], dtype=float)
    mean = np.array([weeks.mean(row) for row in rows]) / DAYS
    # Means rise along the run but for rounding; where they hardly do, the pace is very high, not infinite.
    rising = np.maximum.accumulate(mean) + 1e-6 * np.arange(len(mean))
    pace = np.gradient(positions.astype(float), rising) if len(positions) > 1 else np.zeros(1)
    return RunCurve(run.line, positions, days[:, 0], days[:, 1], days[:, 2], level, pace)
