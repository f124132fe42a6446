"""The negative-binomial process: distances add up, kernels keep their mass."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import nbinom

from setwright.chronology.pace import Kernel, Paces, log_negative_binomial


@given(st.floats(1e-3, 500.0), st.floats(0.01, 0.95))
def test_terms_are_those_of_the_distribution(shape, p):
    wanted = nbinom.logpmf(np.arange(60), shape, p)
    np.testing.assert_allclose(log_negative_binomial(np.array(shape), np.array(p), 60), wanted, atol=1e-8)


@given(st.integers(1, 500), st.integers(1, 500))
def test_two_distances_are_one_of_their_sum(first, second):
    paces = Paces.around(0.05, (1.2, 4.0, 32.0), 3)
    start = np.zeros((*paces.shape, 64))
    start[..., 3] = 1.0
    twice = Kernel(paces, second, 64).forward(Kernel(paces, first, 64).forward(start))
    np.testing.assert_allclose(Kernel(paces, first + second, 64).forward(start), twice, atol=1e-12)


def test_backward_is_the_transpose_of_forward():
    paces = Paces.around(0.1, (2.0,), 1)
    kernel = Kernel(paces, 40, 16)
    rng = np.random.default_rng(1)
    left, right = rng.random((2, *paces.shape, 16))
    np.testing.assert_allclose((kernel.forward(left) * right).sum(), (left * kernel.backward(right)).sum())


def test_the_pace_drifts_to_something():
    paces = Paces.around(0.3)
    np.testing.assert_allclose(paces.drift.sum(axis=0), 1.0)
    np.testing.assert_allclose(paces.weight.sum(), 1.0)
    assert (np.diff(np.log2(paces.pace)) == 1.0).all()
