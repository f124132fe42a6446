"""How often items were altered, learnt from a family's survivors, and from other families beside it.

Every survivor's item says something of the rate of its permanence: whether what it shows is what left the factory at
its place in the run. Rates of one permanence differ between families, but not wildly: each family's rate is drawn from
a distribution that all share (empirical Bayes: what the families together say of that distribution is the prior of
each).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np

from setwright.identity.answer import LearnedRate, RateEvidence
from setwright.identity.assumptions import Assumptions
from setwright.identity.model import PERMANENCES

LOG_ODDS = np.linspace(-11.0, 1.5, 160)
RATES = 1.0 / (1.0 + np.exp(-LOG_ODDS))
"""Rates at which evidence is kept, evenly spaced in log odds from 0.00002 to 0.8."""

SPREAD = 1.0
"""Standard deviation of log odds around the default rate, of what families have in common: two in three families lie
within a factor of three of it. Common practice, no source."""

SPREADS = (0.2, 0.5, 1.0)
"""How far families lie apart, the same way; each equally likely beforehand."""


def learn_rates(own: RateEvidence, others: Sequence[RateEvidence], assumptions: Assumptions) -> tuple[LearnedRate, ...]:
    """The rate of each permanence in one family, with its central range, beside the default."""
    learned = []
    for permanence in PERMANENCES:
        default = assumptions.altered[permanence]
        lots = [own, *(other for other in others if other.family != own.family)]
        posterior = _posterior([lot.log_likelihood[permanence] for lot in lots], default)
        cumulative = np.cumsum(posterior)
        tail = (1.0 - assumptions.level) / 2.0
        low, high = (float(np.interp(p, cumulative, RATES)) for p in (tail, 1.0 - tail))
        learned.append(
            LearnedRate(
                what=permanence,
                value=float(np.interp(0.5, cumulative, RATES)),
                low=low,
                high=high,
                default=default,
                items=own.items[permanence],
                level=assumptions.level,
            )
        )
    return tuple(learned)


def with_learned(assumptions: Assumptions, learned: Sequence[LearnedRate]) -> Assumptions:
    """The assumptions with learnt rates in place of the default ones."""
    return replace(assumptions, altered={rate.what: rate.value for rate in learned})


def _posterior(log_likelihoods: Sequence[np.ndarray], default: float) -> np.ndarray:
    """(RATES,) probability of the first family's rate, all families together."""
    centre = _weights(float(np.log(default / (1.0 - default))), SPREAD)  # of the middle of all families
    posterior = np.zeros(len(RATES))
    log_each, parts = [], []
    for spread in SPREADS:
        family_prior = _family_priors(spread)
        log_evidence = np.log(centre) - np.log(len(SPREADS))
        for log_likelihood in log_likelihoods:
            scaled = np.exp(log_likelihood - log_likelihood.max())
            log_evidence = log_evidence + np.log(family_prior @ scaled) + log_likelihood.max()
        own = family_prior * np.exp(log_likelihoods[0] - log_likelihoods[0].max())
        log_each.append(log_evidence)
        parts.append(own / own.sum(axis=1, keepdims=True))
    top = max(float(log.max()) for log in log_each)
    for log_evidence, part in zip(log_each, parts, strict=True):
        posterior += np.exp(log_evidence - top) @ part
    result: np.ndarray = posterior / posterior.sum()
    return result


@lru_cache(maxsize=8)
def _family_priors(spread: float) -> np.ndarray:
    """(middles, RATES) a family's prior for every middle; read-only."""
    priors = np.stack([_weights(float(middle), spread) for middle in LOG_ODDS])
    priors.setflags(write=False)
    return priors


def _weights(middle: float, spread: float) -> np.ndarray:
    """(RATES,) probabilities of log odds that are normal around a middle."""
    weights = np.maximum(np.exp(-0.5 * np.square((LOG_ODDS - middle) / spread)), np.finfo(float).tiny)
    normalised: np.ndarray = weights / weights.sum()
    return normalised
