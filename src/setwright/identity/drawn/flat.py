"""Survivors that count item by item: their likelihood under drawn histories, summed along the line at once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from setwright.identity.drawn.events import Draws, LineEvents
from setwright.identity.drawn.known import KnownItems
from setwright.identity.drawn.runs import Run
from setwright.identity.places import FRACTION_UNIT


def log_likelihood(known: KnownItems, events: Sequence[LineEvents], count: int) -> np.ndarray:
    """(count,) log-likelihood, up to a constant, of sets of known place in every drawn history.

    events : of every line. An event counts for all sets that stand behind it.
    """
    total = np.zeros(count)
    for line, here in enumerate(events):
        rows = np.flatnonzero(known.line == line)
        rows = rows[np.argsort(known.position[rows], kind="stable")]
        position = known.position[rows]
        for number in {*here.feature.tolist(), *(mixed for mixed, _, _ in here.mixed)}:
            like = known.like[number][rows]
            for e in np.flatnonzero(here.feature == number):
                before = here.before[e]
                ratio = np.log(like @ here.after[e]) - (0.0 if before is None else np.log(like @ before))
                behind = np.append(np.cumsum(ratio[::-1])[::-1], 0.0)
                total += behind[np.searchsorted(position, here.position[:, e], side="left")]
            kinds, counts = np.unique(like, axis=0, return_counts=True)
            for mixed, histories, shares in here.mixed:
                if mixed == number:
                    total[histories] += counts @ np.log(kinds @ shares.T)
    return total


def within_bounds(runs: Sequence[Run], draws: Draws) -> np.ndarray:
    """(n,) which histories keep every documented bound; where no serial is known bounds have no place."""
    kept = np.ones(draws.count, dtype=bool)
    for run, cut_in in zip(runs, draws.cut_in, strict=True):
        if run.axis.unit == FRACTION_UNIT:
            continue
        for change, cut in zip(run.changes, cut_in.T, strict=True):
            if change.earliest is not None:
                kept &= cut >= change.earliest
            if change.latest is not None:
                kept &= cut <= change.latest
    return kept
