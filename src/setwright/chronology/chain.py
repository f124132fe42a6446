"""The serial-date chain: exact sums over all non-decreasing histories of weeks.

Positions stand in ascending order; each has a week, none earlier than that of the position before it. Prior: the
process of `pace`; the week of the first position is uniform over the grid. Evidence: any likelihood of the week of a
position.

The pace of every epoch is summed over its grid, step by step with the weeks. The clumping b of the run is summed over
its own, each value weighed by how well it foretells every position's evidence from all the others. By the likelihood
of all evidence together a change of pace would pass for clumping, and ranges between well-dated sets would come out
too wide.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from setwright.chronology.pace import Kernel, Paces

SMALLEST = 1e-300

NEGLIGIBLE = 1e-13
"""Parameters of less weight than this are left out where one position is asked for."""


@dataclass(frozen=True)
class Chain:
    """A run of production with its messages.

    position : (N,) nodes, ascending. likelihood : (N, count). before, after : (N, B, M, count) forward and backward
    messages, both without the node's own likelihood, each scaled for its b.
    epochs : positions behind which the pace may have changed; each is a node. weight : (B,) of each b.
    """

    paces: Paces
    epochs: frozenset[int]
    position: np.ndarray
    likelihood: np.ndarray
    before: np.ndarray
    after: np.ndarray
    weight: np.ndarray

    @property
    def count(self) -> int:
        """Steps of the grid of weeks."""
        return int(self.likelihood.shape[1])

    def joint(self, node: int) -> np.ndarray:
        """(B, M, count) posterior of b, of the pace in the epoch that ends at a node, and of its week."""
        return self._weighed(self.before[node] * self.after[node] * self.likelihood[node])

    def pace_weight(self, node: int) -> np.ndarray:
        """(B, M) posterior of b and of the pace in the epoch that ends at a node."""
        joint = np.einsum("bmw,bmw,w->bm", self.before[node], self.after[node], self.likelihood[node])
        total = joint.sum(axis=1, keepdims=True)
        return np.where(total > 0.0, joint / np.where(total > 0.0, total, 1.0), 0.0) * self.weight[:, None]

    def week(self, node: int) -> np.ndarray:
        """(count,) posterior of a node's week."""
        return self.joint(node).sum(axis=(0, 1))

    def cavity(self, node: int) -> np.ndarray:
        """(count,) probability of a node's week from the rest of the chain, its own likelihood left out.

        (The weights of b stay as they are with it.)
        """
        return self._weighed(self.before[node] * self.after[node]).sum(axis=(0, 1))

    def week_at(self, position: int) -> np.ndarray:
        """(count,) posterior of the week of any position, also beyond the nodes."""
        nodes = self.position
        if len(nodes) == 0:
            return np.full(self.count, 1.0 / self.count)
        index = int(np.searchsorted(nodes, position))
        if index < len(nodes) and nodes[index] == position:
            return self.week(index)
        # Between two nodes the pace is that of the epoch which ends at the later one.
        weight = self.pace_weight(index) if index < len(nodes) else np.ones(self.paces.shape)
        clump, pace = (np.flatnonzero(weight.max(axis=axis) > NEGLIGIBLE) for axis in (1, 0))
        live = np.ix_(clump, pace)
        paces = self.paces.only(clump, pace)
        reached = np.ones((*paces.shape, self.count))
        if index > 0:
            kernel = Kernel(paces, int(position - nodes[index - 1]), self.count)
            reached = kernel.forward(self._into_next_epoch(index - 1)[live])
        if index < len(nodes):
            kernel = Kernel(paces, int(nodes[index] - position), self.count)
            reached = reached * kernel.backward(self.likelihood[index] * self.after[index][live])
        week = (_normal_by_clump(reached) * self.weight[clump, None, None]).sum(axis=(0, 1))
        return np.asarray(week / week.sum())

    def _into_next_epoch(self, node: int) -> np.ndarray:
        message = self.before[node] * self.likelihood[node]
        return _drifted(self.paces.drift, message) if int(self.position[node]) in self.epochs else message

    def _weighed(self, joint: np.ndarray) -> np.ndarray:
        """Joint masses, normalised for each b and weighed by it."""
        return _normal_by_clump(joint) * self.weight[:, None, None]


def make_chain(
    paces: Paces, position: Sequence[int] | np.ndarray, likelihood: np.ndarray, epochs: Sequence[int] = ()
) -> Chain:
    """The chain over nodes with their likelihoods.

    position : (N,) distinct, ascending. likelihood : (N, count), none of them nought everywhere.
    epochs : positions where the pace may change; those between the first and the last node become nodes.
    """
    nodes, rows, inner = _with_epochs(np.asarray(position, dtype=np.int64), likelihood, epochs)
    count = likelihood.shape[1]
    shape = (len(nodes), *paces.shape, count)
    before, after = np.empty(shape), np.empty(shape)
    if len(nodes):
        before[0] = after[-1] = 1.0
    gaps = np.diff(nodes)
    made = {int(gap): Kernel(paces, int(gap), count) for gap in np.unique(gaps)}
    kernels = [made[int(gap)] for gap in gaps]
    for index in range(1, len(nodes)):
        message = before[index - 1] * rows[index - 1]
        if int(nodes[index - 1]) in inner:
            message = _drifted(paces.drift, message)
        before[index] = _scaled(kernels[index - 1].forward(_scaled(message)))
    for index in range(len(nodes) - 1, 0, -1):
        message = kernels[index - 1].backward(_scaled(after[index] * rows[index]))
        if int(nodes[index - 1]) in inner:
            message = _drifted(paces.drift.T, message)
        after[index - 1] = _scaled(message)
    return Chain(paces, inner, nodes, rows, before, after, _clump_weights(paces, before, after, rows))


def _clump_weights(paces: Paces, before: np.ndarray, after: np.ndarray, likelihood: np.ndarray) -> np.ndarray:
    """(B,) weight of each b: its prior times the probability of each node's evidence given all the others."""
    log_weight = np.log(paces.weight)
    for node, row in enumerate(likelihood):
        cavity = np.einsum("bmw,bmw->bw", before[node], after[node])
        foretold = cavity @ row / np.maximum(cavity.sum(axis=1), SMALLEST)
        log_weight = log_weight + np.log(np.maximum(foretold, SMALLEST))
    weight = np.exp(log_weight - log_weight.max())
    return np.asarray(weight / weight.sum())


def _with_epochs(
    position: np.ndarray, likelihood: np.ndarray, epochs: Sequence[int]
) -> tuple[np.ndarray, np.ndarray, frozenset[int]]:
    """Nodes with those of the epochs among them, their likelihoods, and the epochs that lie inside."""
    if len(position) == 0:
        return position, likelihood, frozenset()
    inner = [epoch for epoch in sorted(set(epochs)) if position[0] <= epoch < position[-1]]
    known = set(position.tolist())
    new = [epoch for epoch in inner if epoch not in known]
    nodes = np.concatenate([position, np.array(new, dtype=np.int64)])
    rows = np.concatenate([likelihood, np.ones((len(new), likelihood.shape[1]))])
    order = np.argsort(nodes, kind="stable")
    return nodes[order], rows[order], frozenset(inner)


def _drifted(drift: np.ndarray, message: np.ndarray) -> np.ndarray:
    return np.matmul(drift, message)


def _scaled(message: np.ndarray) -> np.ndarray:
    """A message with its largest value 1 for each b; all alike where rounding has left nothing of it."""
    largest = message.max(axis=(1, 2), keepdims=True)
    if largest.min() > SMALLEST:
        return np.asarray(message / largest)
    return np.where(largest > SMALLEST, message / np.maximum(largest, SMALLEST), 1.0)


def _normal_by_clump(joint: np.ndarray) -> np.ndarray:
    total = joint.sum(axis=(1, 2), keepdims=True)
    return np.where(total > 0.0, joint / np.where(total > 0.0, total, 1.0), 1.0 / joint[0].size)
