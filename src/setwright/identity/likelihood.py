"""What was seen, given what left the factory."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from setwright.identity.assumptions import Assumptions
from setwright.identity.model import SURENESSES, Feature


def altered_to(states: int, listed_share: float) -> np.ndarray:
    """What an altered item shows: (states + 1,) probabilities, the last for anything not listed.

    Listed states share `listed_share`, each twice as likely as the one before it in the list, because
    service practice follows the later bulletins; the factory's own state is among them.
    """
    weights = 2.0 ** np.arange(states)
    return np.append(listed_share * weights / weights.sum(), 1.0 - listed_share)


def seen_given_built(states: int, rate: float, misread: float, listed_share: float) -> np.ndarray:
    """P(seen | built): (states + 1, states), rows what is seen (last: not listed), columns the factory state.

    rate : probability that the item was altered; misread : that an unaltered item was read as another
    listed state, shared equally. What is not listed is never a misread.
    """
    if states == 1:
        misread = 0.0
    as_built = np.full((states, states), misread / max(states - 1, 1))
    np.fill_diagonal(as_built, 1.0 - misread)
    table = rate * np.repeat(altered_to(states, listed_share)[:, None], states, axis=1)
    table[:-1] += (1.0 - rate) * as_built
    return table


@lru_cache(maxsize=4096)
def _cached_table(states: int, rate: float, misread: float, listed_share: float) -> np.ndarray:
    table = seen_given_built(states, rate, misread, listed_share)
    table.setflags(write=False)
    return table


def table_for(feature: Feature, sure: str, rate: float, assumptions: Assumptions) -> np.ndarray:
    """`seen_given_built` of a feature seen as `sure`, its alteration rate being `rate`; read-only."""
    return _cached_table(len(feature.all_states), rate, assumptions.misread[sure], assumptions.listed_share)


def log_likelihood_by_code(feature: Feature, assumptions: Assumptions) -> np.ndarray:
    """(codes, states): log P(seen | built) at the marginal rate for every `seen_code` of a feature."""
    states = len(feature.all_states)
    rate = assumptions.alteration_rate(feature)
    tables = [np.log(table_for(feature, sure, rate, assumptions)) for sure in SURENESSES]
    return np.stack(tables, axis=1).reshape((states + 1) * len(SURENESSES), states)
