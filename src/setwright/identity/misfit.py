"""Does any documented history explain the set? A posterior predictive check."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from setwright.identity.answer import MisfitDriver
from setwright.identity.assumptions import Assumptions
from setwright.identity.factors import SeenFeature
from setwright.identity.histories import Histories
from setwright.identity.likelihood import table_for

REPLICATES = 4000

MISFIT_LIMIT = 0.01
"""Below this share of replicates at least as odd, no documented history explains the set."""

TELLING_DECIBANS = 3.0


@dataclass(frozen=True, slots=True)
class Misfit:
    """The share of replicate sets at least as odd, and the observations that are odder than usual, the oddest first."""

    p_value: float
    drivers: tuple[MisfitDriver, ...]


def check_misfit(
    histories: Histories, seen: list[SeenFeature], assumptions: Assumptions, rng: np.random.Generator
) -> Misfit:
    """Compare the set with replicate sets of the same likely histories.

    D = -log p(observations | factory states, condition) of the set is compared, history by history drawn
    from the posterior, with D of observations made of that history at the same features. A driver is an observation
    whose own part of D exceeds its usual one.
    """
    columns = [column for column, s in enumerate(seen) if s.informative]
    if not columns:
        return Misfit(1.0, ())
    cumulative = np.cumsum(histories.weight)
    rows = np.searchsorted(cumulative, rng.random(REPLICATES) * cumulative[-1], side="right")
    rows = np.minimum(rows, len(cumulative) - 1)
    by_condition = np.cumsum(histories.condition[rows], axis=1)
    condition = (rng.random(REPLICATES)[:, None] * by_condition[:, -1:] > by_condition).sum(axis=1)
    observed, replicated = np.zeros(REPLICATES), np.zeros(REPLICATES)
    drivers = []
    for column in columns:
        s = seen[column]
        sure = s.observation.sure if s.observation is not None else "certain"
        tables = np.stack([table_for(s.feature, sure, rate, assumptions) for rate in s.rates])
        # One row for each condition and factory state; the replicates only pick among them.
        by_case = tables.transpose(0, 2, 1).reshape(-1, tables.shape[1])
        case = condition * tables.shape[2] + histories.states[rows, column]
        draw = rng.random(REPLICATES) * by_case.sum(axis=1)[case]
        outcome = sum(
            (draw > reached[case] for reached in np.cumsum(by_case, axis=1).T[:-1]), np.zeros(REPLICATES, int)
        )
        with np.errstate(divide="ignore"):  # what is impossible is not picked
            of_set = -np.log(s.likelihood).ravel()[case]
            of_replicate = -np.log(by_case).ravel()[case * by_case.shape[1] + outcome]
        observed += of_set
        replicated += of_replicate
        excess = 10.0 / np.log(10.0) * float(of_set.mean() - of_replicate.mean())
        if excess >= TELLING_DECIBANS and s.observation is not None:
            drivers.append(MisfitDriver(s.feature.id, s.observation.state or s.observation.written, excess))
    drivers.sort(key=lambda driver: -driver.decibans)
    # Equal up to rounding counts as equally surprising.
    return Misfit(float((replicated >= observed - 1e-9).mean()), tuple(drivers))
