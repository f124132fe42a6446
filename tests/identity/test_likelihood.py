"""What was seen given what was built, and the rates behind it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.identity import Assumptions
from setwright.identity.likelihood import altered_to, seen_given_built
from setwright.identity.model import Feature

RATES = st.floats(0.001, 0.95)


@given(st.integers(1, 6), RATES, st.floats(0.0, 0.5))
def test_everything_seen_has_a_place(states, rate, misread):
    table = seen_given_built(states, rate, misread, 0.7)
    assert table.shape == (states + 1, states)
    assert table.sum(axis=0) == pytest.approx(np.ones(states))
    assert table[-1] == pytest.approx(np.full(states, 0.3 * rate))


def test_service_practice_follows_the_later_states():
    """Listed states share 0.7, each twice as likely as the one before: 0.1, 0.2, 0.4, and 0.3 something else."""
    assert altered_to(3, 0.7) == pytest.approx([0.1, 0.2, 0.4, 0.3])


def test_a_small_table_worked_by_hand():
    """Two states, altered 10 %, misread 2 %: seen new, built old = 0.1 x 0.7 x 2/3 + 0.9 x 0.02."""
    table = seen_given_built(2, 0.1, 0.02, 0.7)
    assert table[1, 0] == pytest.approx(0.1 * 0.7 * 2 / 3 + 0.9 * 0.02)
    assert table[0, 0] == pytest.approx(0.1 * 0.7 / 3 + 0.9 * 0.98)
    assert table[2, 0] == pytest.approx(0.03)


@given(RATES)
def test_the_mean_rate_over_conditions_is_the_marginal_rate(rate):
    assumptions = Assumptions()
    rates = assumptions.rates_by_condition(rate)
    assert np.dot(rates, assumptions.condition_prior) == pytest.approx(rate, abs=1e-12)
    odds = [r / (1 - r) for r in rates]
    assert odds[1] / odds[0] == pytest.approx(5.0)
    assert odds[2] / odds[1] == pytest.approx(6.0)


def test_a_condition_that_is_certain_has_the_marginal_rate():
    assumptions = Assumptions(condition_prior=(0.0, 1.0, 0.0))
    assert assumptions.rates_by_condition(0.06)[1] == pytest.approx(0.06)


def test_a_feature_s_own_rate_goes_before_its_permanence():
    assert Assumptions().alteration_rate(Feature("a", "A", ("x", "y"), permanence="plugged")) == 0.15
    assert Assumptions().alteration_rate(Feature("a", "A", ("x", "y"), permanence="plugged", altered=0.05)) == 0.05
