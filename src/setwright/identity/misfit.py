"""Does any documented history explain the set? A posterior predictive check."""

from __future__ import annotations

import numpy as np

from setwright.identity.assumptions import Assumptions
from setwright.identity.factors import SeenFeature
from setwright.identity.histories import Histories
from setwright.identity.likelihood import table_for

REPLICATES = 4000


def misfit_p_value(
    histories: Histories, seen: list[SeenFeature], assumptions: Assumptions, rng: np.random.Generator
) -> float:
    """Share of replicate sets at least as surprising as this one.

    D = -log p(observations | factory states, condition) of the set is compared, history by history drawn
    from the posterior, with D of observations made of that history at the same features.
    """
    columns = [column for column, s in enumerate(seen) if s.informative]
    if not columns:
        return 1.0
    cumulative = np.cumsum(histories.weight)
    rows = np.searchsorted(cumulative, rng.random(REPLICATES) * cumulative[-1], side="right")
    rows = np.minimum(rows, len(cumulative) - 1)
    by_condition = np.cumsum(histories.condition[rows], axis=1)
    condition = (rng.random(REPLICATES)[:, None] * by_condition[:, -1:] > by_condition).sum(axis=1)
    observed, replicated = np.zeros(REPLICATES), np.zeros(REPLICATES)
    for column in columns:
        s = seen[column]
        built = histories.states[rows, column]
        sure = s.observation.sure if s.observation is not None else "certain"
        table = np.stack([table_for(s.feature, sure, rate, assumptions) for rate in s.rates])[condition, :, built]
        outcome = (rng.random(REPLICATES)[:, None] * table.sum(axis=1, keepdims=True) > np.cumsum(table, axis=1)).sum(1)
        observed -= np.log(s.likelihood[condition, built])
        replicated -= np.log(table[np.arange(REPLICATES), np.minimum(outcome, table.shape[1] - 1)])
    # Equal up to rounding counts as equally surprising.
    return float((replicated >= observed - 1e-9).mean())
