"""Features that no document of a line mentions: how each ran through production, drawn at random."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np

from setwright.identity.model import Feature
from setwright.identity.places import Axis

FreeKind = Literal["changes", "throughout", "mixed"]
CHANGES, THROUGHOUT, MIXED = FREE_KINDS = get_args(FreeKind)


@dataclass(frozen=True, slots=True)
class FreeRun:
    """How a feature that no document mentions ran through production.

    kind : "changes" (through all states of `order`, one cut-in between each two), "throughout" (the one state of
        `order`) or "mixed" (`shares` of the feature's states, every set by itself).
    """

    kind: FreeKind
    order: tuple[str, ...] = ()
    cut_ins: tuple[int, ...] = ()
    shares: tuple[float, ...] = ()


def draw_free_run(
    feature: Feature, axis: Axis, rng: np.random.Generator, prior: tuple[float, float, float], kind: FreeKind | None
) -> FreeRun:
    """Draw one: its kind from `prior` unless given; every order, state, row of cut-ins, shares equally likely."""
    states = feature.states
    if kind is None:
        kind = FREE_KINDS[int(rng.choice(3, p=np.array(prior) / sum(prior)))]
    if kind == THROUGHOUT:
        return FreeRun(kind, (states[int(rng.integers(len(states)))],))
    if kind == MIXED:
        return FreeRun(kind, shares=tuple(float(share) for share in rng.dirichlet(np.ones(len(states)))))
    order = tuple(states[i] for i in rng.permutation(len(states)))
    changes = len(states) - 1
    # Ordered cut-ins with ties become distinct places once each is moved up by how many come before it.
    places = np.sort(rng.choice(axis.count + max(changes - 1, 0), size=changes, replace=False))
    return FreeRun(kind, order, tuple(int(place) - i + axis.first for i, place in enumerate(places)))
