"""Newton's method for the operating points of many variants of one network at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from setwright.circuits.devices import TubeState
from setwright.circuits.network import OPEN_SIEMENS, Network, Variants
from setwright.circuits.problems import NoConvergence
from setwright.circuits.tubes.equations import Values

CLOSE_VOLTS = 1e-6
"""A step smaller than this at every node ends the search; the error left is of second order in it."""
BALANCED_AMPS, FLOATING_VOLTS = 1e-13, 0.02
"""Where currents balance to so little, what is left open is the voltage of a floating node, and known this well."""
LONGEST_STEP = 100.0
"""Volts by which a node moves at most in one step."""
LEAST_SHARE = 0.1
"""A step is cut to no less than this share."""
CHUNK = 1000
"""Variants that go through one step together; so many numbers stay near the processor."""
FIRST_STEPS, MOST_STEPS, MOST_STEPS_ALONE = 9, 40, 200
_SCALES = (0.02, 0.05, 0.1, 0.2, 0.35, 0.5, 0.7, 0.85, 1.0)


@dataclass(frozen=True)
class Solved:
    """Voltages (nodes, variants), and which variants have an operating point. steps : the most that one needed."""

    volts: Values
    converged: np.ndarray
    steps: int


def solve(network: Network, variants: Variants, start: Values | None = None) -> Solved:
    """The operating point of every variant.

    start : voltages (nodes, 1) or (nodes, variants) to begin from, such as those of the circuit as drawn. Variants
    that do not settle in `MOST_STEPS` go one by one by continuation: damped steps while all sources rise from nought.
    """
    count = variants.count
    first = np.zeros((len(network.nodes), 1)) if start is None else start
    volts = np.repeat(first, count, axis=1) if first.shape[1] == 1 else first.copy()
    converged = np.zeros(count, dtype=bool)
    steps = 0
    # Most have settled after a few steps; those that have not go on together, so that no chunk waits for its last one.
    for most in (FIRST_STEPS, MOST_STEPS):
        waiting = np.flatnonzero(~converged)
        for begin in range(0, len(waiting), CHUNK):
            chosen = waiting[begin : begin + CHUNK]
            steps = max(steps, _together(network, variants, volts, chosen, converged, most))
    for number in np.flatnonzero(~converged):
        one = variants.columns(np.array([number]))
        found = _alone(network, one, first[:, [0]] if start is not None else None)
        if found is not None:
            volts[:, number], converged[number] = found[:, 0], True
    return Solved(volts, converged, steps)


def solve_one(network: Network, variants: Variants, start: Values | None = None) -> Values:
    """The operating point of one variant, shape (nodes, 1). Raises NoConvergence with the node that stays open."""
    found = solve(network, variants, start)
    if not found.converged[0]:
        raise _no_convergence(network, variants, found.volts)
    return found.volts


def residual(
    network: Network, variants: Variants, volts: Values, scale: float = 1.0
) -> tuple[Values, tuple[list[Values], list[Values]]]:
    """Current that leaves each node too much, (nodes, variants), and what the devices gave for it.

    scale : factor on every source.
    """
    stamps = network.stamps
    across = stamps.branches @ volts - scale * variants.volts
    left = stamps.currents @ (variants.siemens * across) + OPEN_SIEMENS * volts
    currents, slopes = device_currents(network, volts, variants.tubes)
    if currents:
        left += stamps.device_currents @ _stack(currents, volts.shape[1])
    if network.boundary:
        edge = list(network.boundary)
        left[edge] += np.einsum("ijv,jv->iv", *_alike(variants.supply_siemens, volts[edge]))
        left[edge] -= scale * variants.supply_amps
    return left, (currents, slopes)


def device_currents(network: Network, volts: Values, tubes: TubeState) -> tuple[list[Values], list[Values]]:
    """Currents of all device branches and their slopes, as blocks of rows in the order of the groups."""
    pairs = network.stamps.pairs @ volts
    currents: list[Values] = []
    slopes: list[Values] = []
    begin = 0
    for group in network.groups:
        end = begin + len(group.pairs)
        state = tubes_of(tubes, group.tubes)
        i, g = group.evaluate(pairs[begin:end], state)
        currents += i
        slopes += g
        begin = end
    return currents, slopes


def tubes_of(tubes: TubeState, numbers: list[int]) -> TubeState:
    """The states of a group's tubes; parts without a tube (number -1) are as new."""
    if not numbers:
        return tubes
    if min(numbers) >= 0:
        return tubes.of(numbers)
    new = TubeState.as_new(1)
    padded = TubeState(
        *(
            np.concatenate([own, np.broadcast_to(fill, (1, own.shape[1]))])
            for own, fill in zip(tubes.arrays, new.arrays, strict=True)
        )
    )
    return padded.of(numbers)


def jacobian(network: Network, variants: Variants, slopes: list[Values], count: int) -> Values:
    """Entries of the matrix of every variant, (entries, variants), in the order of the elimination's pattern."""
    stamps = network.stamps
    linear = stamps.linear @ variants.siemens
    matrix = np.repeat(linear, count, axis=1) if linear.shape[1] == 1 else linear
    if slopes:
        matrix += stamps.slopes @ _stack(slopes, count)
    matrix[stamps.diagonal] += OPEN_SIEMENS
    if network.boundary:
        edges = len(network.boundary)
        matrix[stamps.supply] += variants.supply_siemens.reshape(edges * edges, -1)
    return matrix


def dense(network: Network, matrix: Values) -> Values:
    """The matrices as (variants, nodes, nodes)."""
    size, plan = len(network.nodes), network.elimination
    full = np.zeros((matrix.shape[1], size, size))
    full[:, plan.rows, plan.columns] = matrix.T
    return full


def _stack(blocks: list[Values], count: int) -> Values:
    return np.concatenate([np.broadcast_to(b, (b.shape[0], count)) for b in blocks])


def _alike(a: Values, b: Values) -> tuple[Values, Values]:
    """Both with as many variants as the second."""
    return np.broadcast_to(a, (*a.shape[:-1], b.shape[-1])), b


def _together(
    network: Network, variants: Variants, volts: Values, chosen: np.ndarray, converged: np.ndarray, most: int
) -> int:
    """Newton for a chunk; who has settled drops out. Returns the number of steps.

    A variant whose steps turn back and do not shrink goes to and fro across a corner, such as that of a plate at nought
    volts; it takes half the step next.
    """
    open_ones = chosen
    share, last = np.ones(len(chosen)), np.zeros((len(network.nodes), len(chosen)))
    for step in range(1, most + 1):
        part = variants.columns(open_ones)
        now = volts[:, open_ones]
        left, (_, slopes) = residual(network, part, now)
        balanced = np.abs(left).max(axis=0, initial=0.0) < BALANCED_AMPS
        matrix = jacobian(network, part, slopes, len(open_ones))
        with np.errstate(all="ignore"):  # a pivot of nought shows as a step that is no number
            change = network.elimination.solve(matrix, left)
        longest = np.abs(change).max(axis=0, initial=0.0)
        good = np.isfinite(longest)
        change = np.where(good, change * np.minimum(1.0, LONGEST_STEP / np.maximum(longest, 1e-300)), 0.0)
        back = np.einsum("ij,ij->j", change, last)
        stuck = back < -0.3 * np.einsum("ij,ij->j", last, last)
        share = np.where(stuck, np.maximum(0.5 * share, LEAST_SHARE), np.minimum(1.0, 1.5 * share))
        volts[:, open_ones] = now - change * share
        done = (longest < CLOSE_VOLTS) | (balanced & (longest < FLOATING_VOLTS))
        converged[open_ones[done]] = True
        keep = good & ~done
        open_ones, share, last = open_ones[keep], share[keep], change[:, keep]
        if not len(open_ones):
            return step
    return most


def _alone(network: Network, one: Variants, start: Values | None) -> Values | None:
    """Damped Newton with full pivoting, first from `start`, then by raising all sources from nought."""
    size = len(network.nodes)
    for begin in (start, np.zeros((size, 1))):
        if begin is not None and (found := _damped(network, one, begin, 1.0)) is not None:
            return found
    volts = np.zeros((size, 1))
    for scale in _SCALES:
        found = _damped(network, one, volts, scale)
        if found is None:
            return None
        volts = found
    return volts


def _damped(network: Network, one: Variants, start: Values, scale: float) -> Values | None:
    volts = start.copy()
    left, (_, slopes) = residual(network, one, volts, scale)
    for _ in range(MOST_STEPS_ALONE):
        matrix = dense(network, jacobian(network, one, slopes, 1))[0]
        try:
            change = np.linalg.solve(matrix, left)
        except np.linalg.LinAlgError:
            return None
        longest = float(np.abs(change).max(initial=0.0))
        change *= min(1.0, LONGEST_STEP / max(longest, 1e-300))
        size, balanced = _size(left), np.abs(left).max(initial=0.0) < BALANCED_AMPS
        for _ in range(12):
            trial = volts - change
            left, (_, slopes) = residual(network, one, trial, scale)
            if _size(left) < size or longest < CLOSE_VOLTS:
                break
            change *= 0.5
        volts = trial
        if longest < CLOSE_VOLTS or (balanced and longest < FLOATING_VOLTS):
            return volts
    return None


def _size(left: Values) -> float:
    return float(np.sqrt(np.sum(left * left)))


def _no_convergence(network: Network, variants: Variants, volts: Values) -> NoConvergence:
    left, _ = residual(network, variants, volts)
    worst = int(np.argmax(np.abs(np.nan_to_num(left[:, 0], nan=np.inf))))
    node = network.nodes[worst]
    return NoConvergence(
        node,
        f"no operating point was found: the currents at {node} do not balance. The likely reason is a value that is "
        f"wrong by a factor of a thousand, or a part connected to the wrong node, at {node} or beside it",
    )
