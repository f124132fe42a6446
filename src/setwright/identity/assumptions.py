"""What the computation assumes where nothing better is known.

Every rate here is common practice without a source; whoever shows an answer says so beside it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache

from scipy.optimize import brentq

from setwright.identity.model import Feature

CONDITIONS = ("untouched", "repaired", "heavily rebuilt")


def _default_altered() -> dict[str, float]:
    return {"stamped": 0.005, "riveted": 0.02, "soldered": 0.06, "plugged": 0.15, "consumable": 0.35}


def _default_misread() -> dict[str, float]:
    return {"certain": 0.02, "likely": 0.08, "guess": 0.25}


@dataclass(frozen=True, slots=True)
class Assumptions:
    """Rates and priors of the identity model.

    altered : probability that an item of each permanence was altered since the factory.
    misread : probability that an unaltered item was read as another listed state, by how sure one was.
    condition_prior, condition_odds : share of sets of each condition, and the factor by which the odds of
        alteration differ there.
    one_stroke : prior weight of a block made at one serial, against one spread over any window. Windows of several
        blocks leave each other little room, so the probability itself is higher: 67 % for one block, 84 % for four.
    listed_share : of altered items, the share that shows a listed state; the rest shows something else.
    level : probability held by the ranges of the answer.
    married : prior probability that one other group of a set's features came from elsewhere.
    free_shares : prior probabilities that a feature no document mentions changed, stayed, or was mixed throughout.
    """

    altered: Mapping[str, float] = field(default_factory=_default_altered)
    misread: Mapping[str, float] = field(default_factory=_default_misread)
    condition_prior: tuple[float, float, float] = (0.45, 0.40, 0.15)
    condition_odds: tuple[float, float, float] = (0.2, 1.0, 6.0)
    one_stroke: float = 0.5
    listed_share: float = 0.7
    level: float = 0.9
    married: float = 0.02
    free_shares: tuple[float, float, float] = (0.5, 0.25, 0.25)

    def alteration_rate(self, feature: Feature) -> float:
        """Marginal probability that this feature was altered: the family's own figure, else by permanence."""
        return self.altered[feature.permanence] if feature.altered is None else feature.altered

    def rates_by_condition(self, rate: float) -> tuple[float, ...]:
        """Probability of alteration in each condition, such that their mean over the prior is `rate`.

        In condition c the odds are `condition_odds[c] * t * rate / (1 - rate)`; t is solved for.
        """
        return _rates_by_condition(rate, self.condition_prior, self.condition_odds)


@lru_cache(maxsize=512)
def _rates_by_condition(rate: float, prior: tuple[float, ...], odds: tuple[float, ...]) -> tuple[float, ...]:
    base = rate / (1.0 - rate)

    def rates(t: float) -> list[float]:
        return [m * t * base / (1.0 + m * t * base) for m in odds]

    def excess(t: float) -> float:
        return sum(p * r for p, r in zip(prior, rates(t), strict=True)) - rate

    # At t = 1/max(odds) every rate is at most `rate`, at t = 1/min(odds) at least: the root lies between.
    low, high = 1.0 / max(odds), 1.0 / min(odds)
    t = low if low == high else float(brentq(excess, low, high, xtol=1e-15, rtol=1e-14))
    return tuple(rates(t))
