"""How many blocks were not made at one stroke, and what ranges of cut-ins owe to that.

The prior of ordered windows leaves little room to several spread-out blocks at a time: of four blocks five in six are
made at one stroke. Where survivors say little, for lost labels and old stock among them, ranges would be too narrow
for factories that made half of their blocks bit by bit. Ranges of documented cut-ins are therefore taken from the same
histories weighed so that, beforehand and each block for itself, a block is as likely spread out as made at one stroke.
Everything else in the answer stays with the prior.
"""

from __future__ import annotations

import numpy as np
from scipy.special import gammaln

from setwright.identity.drawn.events import Draws
from setwright.identity.drawn.runs import Run


def log_even(blocks: int, positions: int, one_stroke: float) -> np.ndarray:
    """(blocks + 1,) log of what a history counts, by how many of its blocks are spread out, up to a constant.

    Of histories with k spread blocks there are comb(blocks, k) comb(positions + blocks - 1, blocks + k) windows, each
    with prior weight one_stroke^(blocks - k) ((1 - one_stroke) / (positions - 1))^k. All choices of spread blocks
    alike would be comb(blocks, k); -inf where so many do not fit. All 0 where the prior leaves no choice.
    """
    k = np.arange(blocks + 1)
    if positions < 2 or not 0.0 < one_stroke < 1.0:
        return np.zeros(blocks + 1)
    fits = k <= positions - 1
    rest = np.where(fits, positions - 1 - k, 0)
    windows = gammaln(positions + blocks) - gammaln(blocks + k + 1) - gammaln(rest + 1)
    step = np.log1p(-one_stroke) - np.log(positions - 1)
    prior = windows + (blocks - k) * np.log(one_stroke) + k * step
    return np.where(fits, prior[0] - prior, -np.inf)


def log_even_weight(run: Run, draws: Draws, number: int, one_stroke: float) -> np.ndarray:
    """(n,) log of what each history counts in the ranges of one run's cut-ins, up to a constant."""
    blocks = len(run.block_sizes)
    weights: np.ndarray = log_even(blocks, run.axis.count, one_stroke)[draws.spread[number]]
    return weights
