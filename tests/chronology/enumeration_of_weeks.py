"""The chain's answers by enumeration: every history of weeks, every path of paces, every clumping."""

from __future__ import annotations

from itertools import combinations_with_replacement, pairwise, product

import numpy as np
from scipy.stats import nbinom

from setwright.chronology.pace import Paces


def joint(paces: Paces, position, likelihood, epochs=(), leave_out=None) -> np.ndarray:
    """(B, count, … one axis a node) unnormalised mass of every history, for each b by itself.

    epochs : positions behind which the pace changes; each must be a node. leave_out : a node whose evidence is ignored.
    """
    nodes, count = len(position), likelihood.shape[1]  # weeks never decrease
    mass = np.zeros((len(paces.clump), *(count,) * nodes))
    stretch = np.cumsum([0, *(position[i] in epochs for i in range(nodes - 1))])[1:]
    paths = list(product(range(len(paces.pace)), repeat=int(max(stretch, default=0)) + 1))
    steps = {
        (i, b, m): nbinom.pmf(np.arange(count), (position[i + 1] - position[i]) * pace / (clump - 1.0), 1.0 / clump)
        for i in range(nodes - 1)
        for b, clump in enumerate(paces.clump)
        for m, pace in enumerate(paces.pace)
    }
    for weeks in combinations_with_replacement(range(count), nodes):
        evidence = np.prod([likelihood[i, week] for i, week in enumerate(weeks) if i != leave_out])
        for b in range(len(paces.clump)):
            total = 0.0
            for path in paths:
                prior = 1.0 / len(paces.pace)
                for before, now in pairwise(path):
                    prior *= paces.drift[now, before]
                for i in range(nodes - 1):
                    prior *= steps[i, b, path[stretch[i]]][weeks[i + 1] - weeks[i]]
                total += prior
            mass[(b, *weeks)] = evidence * total
    return mass


def clump_weights(paces: Paces, position, likelihood, epochs=()) -> np.ndarray:
    """(B,) weight of each b: its prior times how well it foretells every node's evidence from the others."""
    weight = paces.weight.copy()
    whole = joint(paces, position, likelihood, epochs).reshape(len(weight), -1).sum(axis=1)
    for node in range(len(position)):
        weight = weight * whole / joint(paces, position, likelihood, epochs, node).reshape(len(weight), -1).sum(axis=1)
    return weight / weight.sum()


def week(paces: Paces, position, likelihood, node, epochs=()) -> np.ndarray:
    """(count,) posterior of a node's week."""
    mass = joint(paces, position, likelihood, epochs)
    axes = tuple(axis for axis in range(1, mass.ndim) if axis != node + 1)
    by_clump = mass.sum(axis=axes)
    by_clump /= by_clump.sum(axis=1, keepdims=True)
    return clump_weights(paces, position, likelihood, epochs) @ by_clump
