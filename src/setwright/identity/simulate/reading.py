"""What items show after years of service, and what was read of them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from setwright.identity.assumptions import Assumptions
from setwright.identity.likelihood import altered_to
from setwright.identity.model import SURENESSES, Feature

OTHER_STATE = "something else"
"""What an altered item shows that is none of the listed states."""


@dataclass(frozen=True, slots=True)
class Shown:
    """What items show and what was read: columns of n. `code` is the `seen_code`."""

    code: np.ndarray
    altered: np.ndarray
    misread: np.ndarray


def observe(
    feature: Feature,
    built: np.ndarray,
    rates: np.ndarray,
    sure: np.ndarray,
    rng: np.random.Generator,
    assumptions: Assumptions,
) -> Shown:
    """Alter items and read them.

    built : (n,) index into all_states. rates : (n,) probability that each was altered. sure : (n,) index into
    SURENESSES. An altered item shows what `altered_to` says, the factory state included, and is read as it is;
    an unaltered one is misread as any other listed state, at the rate of its sureness.
    """
    count, states = len(built), len(feature.all_states)
    altered = rng.random(count) < rates
    replacement = rng.choice(states + 1, size=count, p=altered_to(states, assumptions.listed_share))
    slips = np.array([assumptions.misread[name] for name in SURENESSES])[sure]
    misread = (rng.random(count) < slips) & ~altered & (states > 1)
    another = (built + rng.integers(1, max(states, 2), size=count)) % states
    read = np.where(altered, replacement, np.where(misread, another, built))
    return Shown(read * len(SURENESSES) + sure, altered, misread)
