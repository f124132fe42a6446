"""How many weeks a stretch of serials took: the negative-binomial process, its grid of parameters, its kernels.

Between two serials d apart pass k weeks with probability NB(k; r, p) = Γ(r + k) / (Γ(r) k!) p^r (1 - p)^k, of shape
r = d μ / (b - 1) and p = 1 / b. So the mean is d μ weeks and the variance b times that: μ is the pace in weeks a
serial, b says how much production went by fits and starts (near 1 it is a Poisson process; idle weeks come in runs of
about b). Shapes add up when distances do, so the process is the same however finely the serials are looked at.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import fft

CLUMPS = (1.1, 1.5, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0, 128.0)
"""b in steps of the grid of weeks, beforehand the less likely the larger, as 1 / b: common practice, no source."""

OCTAVES = 6
"""The pace may differ by so many doublings up and down from the mean of the whole run, all equally likely."""

PACE_STEPS = (0.02, 0.13, 0.7, 0.13, 0.02)
"""From one epoch to the next the pace falls to a quarter or half, stays, doubles or quadruples with these
probabilities: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Paces:
    """The grid of parameters over which dating sums.

    clump : (B,) values of b, weight : (B,) their prior. pace : (M,) values of μ in steps of the grid of weeks a
    position, ascending by doublings. drift : (M, M) probability of the pace in one epoch (row) given the one before
    (column).
    """

    clump: np.ndarray
    weight: np.ndarray
    pace: np.ndarray
    drift: np.ndarray

    @staticmethod
    def around(mean_pace: float, clumps: tuple[float, ...] = CLUMPS, octaves: int = OCTAVES) -> Paces:
        """The usual grid around a mean pace (steps a position), which is taken to the nearest power of two."""
        pace = 2.0 ** (np.round(np.log2(mean_pace)) + np.arange(-octaves, octaves + 1))
        count = len(pace)
        drift = np.zeros((count, count))
        for change, probability in zip(range(-2, 3), PACE_STEPS, strict=True):
            for before in range(count):
                drift[min(max(before + change, 0), count - 1), before] += probability
        clump = np.array(clumps)
        return Paces(clump, (1.0 / clump) / (1.0 / clump).sum(), pace, drift)

    @property
    def shape(self) -> tuple[int, int]:
        """B and M."""
        return len(self.clump), len(self.pace)

    def only(self, clump: np.ndarray, pace: np.ndarray) -> Paces:
        """The grid cut down to some values of b and μ, by index."""
        return Paces(self.clump[clump], self.weight[clump], self.pace[pace], self.drift[np.ix_(pace, pace)])


def log_negative_binomial(shape: np.ndarray, p: np.ndarray, count: int) -> np.ndarray:
    """(…, count) log NB(k; shape, p) for k = 0 … count - 1, by the ratio of neighbours; both arguments (…).

    >>> np.exp(log_negative_binomial(np.array(1.0), np.array(0.5), 3)).round(6).tolist()
    [0.5, 0.25, 0.125]
    """
    k = np.arange(count - 1)
    ratio = (shape[..., None] + k) / (k + 1.0) * (1.0 - p[..., None])
    steps = np.concatenate([(shape * np.log(p))[..., None], np.log(ratio)], axis=-1)
    return np.asarray(np.cumsum(steps, axis=-1))


class Kernel:
    """How a message moves over a distance of serials: one kernel for each b and μ, applied by fast transforms."""

    def __init__(self, paces: Paces, distance: int, count: int) -> None:
        """distance : positions between the two ends, at least 1. count : steps of the grid of weeks."""
        clump = paces.clump[:, None]
        shape = distance * paces.pace[None, :] / (clump - 1.0)
        steps = np.exp(log_negative_binomial(shape, np.broadcast_to(1.0 / clump, shape.shape), count))
        self._length = fft.next_fast_len(2 * count - 1, real=True)
        self._transform = fft.rfft(steps, self._length)

    def forward(self, message: np.ndarray) -> np.ndarray:
        """(B, M, count) message of the later position: sums over the weeks of the earlier one."""
        moved = fft.irfft(fft.rfft(message, self._length) * self._transform, self._length)[..., : message.shape[-1]]
        # Terms are not negative; what falls below nought is the transforms' rounding.
        return np.maximum(moved, 0.0)

    def backward(self, message: np.ndarray) -> np.ndarray:
        """(B, M, count) message of the earlier position: sums over the weeks of the later one."""
        return self.forward(message[..., ::-1])[..., ::-1]
