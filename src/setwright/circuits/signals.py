"""Small signals about an operating point: admittances at a frequency, gains, impedances, time constants."""

from __future__ import annotations

from math import pi

import numpy as np
from numpy.typing import NDArray

from setwright.circuits.drawing import Part
from setwright.circuits.network import Network, Variants
from setwright.circuits.newton import dense, jacobian, residual
from setwright.circuits.tubes.equations import Values

Complex = NDArray[np.complex128]


def admittances(network: Network, variants: Variants, volts: Values, hertz: float) -> Complex:
    """The small-signal matrix of the direct side, (nodes, nodes), at the operating point `volts` (nodes, 1).

    Coils count with their reactance, capacitors of the direct side with theirs; what a supply delivers counts as the
    variants hold it.
    """
    _, (_, slopes) = residual(network, variants, volts)
    matrix = dense(network, jacobian(network, variants, slopes, 1))[0].astype(complex)
    omega = 2.0 * pi * hertz
    for part, ends in network.capacitors:
        _add(matrix, ends, 1j * omega * (part.value or 0.0))
    for part in network.circuit.parts:
        if part.kind == "inductor" and (part.ref, "") in network.branch:
            n = network.branch[part.ref, ""]
            siemens = float(variants.siemens[n, 0])
            if siemens > 0.0:
                with_core = 1.0 / (1.0 / siemens + _core_ohms(part, omega))
                _add(matrix, network.branches[n].ends, with_core - siemens)
    return matrix


def _core_ohms(part: Part, omega: float) -> complex:
    """What a coil puts in series with its resistance: its reactance, and beside that what loads it."""
    if omega == 0.0 or not (part.value or part.load_ohms):
        return 0.0
    across = 1.0 / (1j * omega * part.value) if part.value else 0.0
    return 1.0 / (across + 1.0 / part.load_ohms) if part.load_ohms else 1.0 / across


def seen_from(matrix: Complex, edges: tuple[int, ...]) -> Complex:
    """The admittance matrix that a network shows at some of its nodes, (edges, edges), nothing else connected."""
    inside = [i for i in range(len(matrix)) if i not in edges]
    outside = list(edges)
    if not inside:
        return matrix[np.ix_(outside, outside)]
    across = np.linalg.solve(matrix[np.ix_(inside, inside)], matrix[np.ix_(inside, outside)])
    seen: Complex = matrix[np.ix_(outside, outside)] - matrix[np.ix_(outside, inside)] @ across
    return seen


def gain(network: Network, variants: Variants, volts: Values, hertz: float, source: str, output: str) -> complex:
    """Voltage at `output` for a small voltage held at `source` (both nodes) at a frequency."""
    matrix = admittances(network, variants, volts, hertz)
    i, o = network.number[source], network.number[output]
    column = -matrix[:, i].copy()
    matrix[i, :] = 0.0
    matrix[:, i] = 0.0
    matrix[i, i] = 1.0
    column[i] = 1.0
    return complex(np.linalg.solve(matrix, column)[o])


def impedance(network: Network, variants: Variants, volts: Values, hertz: float, ends: tuple[int, int]) -> complex:
    """The impedance between two unknowns (one may be ground) at a frequency, in ohms."""
    matrix = admittances(network, variants, volts, hertz)
    drive = np.zeros(len(matrix), dtype=complex)
    for node, sign in zip(ends, (1.0, -1.0), strict=True):
        if node >= 0:
            drive[node] += sign
    answer = np.linalg.solve(matrix, drive)
    return complex(sum(sign * answer[n] for n, sign in zip(ends, (1.0, -1.0), strict=True) if n >= 0))


def _add(matrix: Complex, ends: tuple[int, int], value: complex) -> None:
    for i, one in zip(ends, (1.0, -1.0), strict=True):
        for j, other in zip(ends, (1.0, -1.0), strict=True):
            if i >= 0 and j >= 0:
                matrix[i, j] += one * other * value
