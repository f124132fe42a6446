"""Which few features tell most about an unknown set of a family: what a quick look at a picture should note."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from setwright.identity.assumptions import Assumptions
from setwright.identity.model import Family, Feature

IN_A_PICTURE = ("outside", "back off")
"""What a picture of a set for sale usually shows."""

MOST_STATES = 12
"""A feature with more states has no row of buttons."""


def telling_features(family: Family, number: int = 3, accesses: Sequence[str] = IN_A_PICTURE) -> tuple[Feature, ...]:
    """The features, at most `number`, that together tell most about which documented version a set is.

    Chosen one after the other, each the one that adds most to the mutual information I(version; features seen), all
    versions equally likely beforehand, an altered item showing any state alike. Of features that add nothing (in a
    family without versions all of them) the most lasting come first. Those of `accesses` come before all others.
    """
    assumptions = Assumptions()
    candidates = [feature for feature in family.features if len(feature.all_states) <= MOST_STATES]
    tables = {feature.id: _table(family, feature, assumptions.alteration_rate(feature)) for feature in candidates}
    versions = max(len(family.versions), 1)
    joint = np.full((versions, 1), 1.0)
    chosen: list[Feature] = []
    while candidates and len(chosen) < number:
        gains = {feature.id: _information(_with(joint, tables[feature.id])) for feature in candidates}
        best = max(
            candidates,
            key=lambda one: (
                one.access in accesses,
                round(gains[one.id], 9),
                -assumptions.alteration_rate(one),
            ),
        )
        joint = _with(joint, tables[best.id])
        chosen.append(best)
        candidates.remove(best)
    return tuple(sorted(chosen, key=family.features.index))


def _table(family: Family, feature: Feature, altered: float) -> np.ndarray:
    """(n_versions, n_states) probabilities of what is seen; a version that is silent shows any state alike."""
    states = feature.all_states
    table = np.full((max(len(family.versions), 1), len(states)), 1.0 / len(states))
    for row, version in enumerate(family.versions):
        documented = version.states.get(feature.id)
        if documented is not None:
            table[row] *= altered
            table[row, states.index(documented)] += 1.0 - altered
    return table


def _with(joint: np.ndarray, table: np.ndarray) -> np.ndarray:
    """(n_versions, n_outcomes) of the features so far and one more, independent given the version."""
    return np.asarray((joint[:, :, None] * table[:, None, :]).reshape(len(joint), -1))


def _information(joint: np.ndarray) -> float:
    """Mutual information of version and outcome in bits."""
    mean = joint.mean(axis=0)
    ratio = np.divide(joint, mean, out=np.ones_like(joint), where=mean > 0)
    terms = joint * np.log2(ratio, out=np.zeros_like(ratio), where=ratio > 0)
    return float(terms.sum() / len(joint))
