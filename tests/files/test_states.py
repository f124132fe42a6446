"""What was written of a feature, as one of its states, something else, or drift."""

from __future__ import annotations

from math import exp, log, log1p

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from setwright.files.states import StateProblem, read_state
from setwright.identity.model import Feature

TUBE = Feature("tube", "Tube", ("6SB7Y", "6BE6"))
PART = Feature("part", "Part", ("0.02 uF", "0.0047 uF", "absent"), unit="F", values=(2e-8, 4.7e-9, None))
KNOB = Feature("knob", "Knob", ("red",), lines=("main",))


def test_a_listed_state():
    assert read_state(TUBE, "6BE6").state == "6BE6"
    assert read_state(KNOB, "absent").listed


def test_any_other_text_is_something_else():
    seen = read_state(TUBE, "12SA7")
    assert (seen.state, seen.listed) == ("12SA7", False)


@pytest.mark.parametrize("text", ["6be6", "6BE-6", "6BE6 ", "6BA6", "6BE"])
def test_a_near_miss_is_refused_with_the_suggestion(text):
    with pytest.raises(StateProblem) as refused:
        read_state(TUBE, text)
    assert refused.value.suggestion == "6BE6"


@pytest.mark.parametrize("text", ["other: 6BE-6", "other:6BE-6", "Other:  6BE-6 "])
def test_other_insists(text):
    seen = read_state(TUBE, text)
    assert (seen.state, seen.listed) == ("6BE-6", False)


@pytest.mark.parametrize("text", ["other: 6BE6", "other:", "other:  ", " "])
def test_other_must_say_something_not_listed(text):
    with pytest.raises(StateProblem):
        read_state(TUBE, text)


@pytest.mark.parametrize("text", [".02 mfd", "20 nF", "0.02 uF 600 V", ".024 mfd", "0.01667 uF"])
def test_a_number_matches_within_the_tolerance(text):
    assert read_state(PART, text).state == "0.02 uF"


def test_a_marked_number_that_matches_none_is_something_else():
    seen = read_state(PART, ".05 mfd")
    assert (seen.state, seen.listed, seen.drift) == (".05 mfd", False, False)


def test_a_measured_number_that_matches_none_is_drift():
    seen = read_state(PART, "0.031 uF", measured=True)
    assert (seen.state, seen.listed, seen.drift) == (None, False, True)


def test_a_measured_number_that_matches_one_is_that_state():
    assert read_state(PART, "0.021 uF", measured=True).state == "0.02 uF"


def test_words_about_a_numeric_feature_are_something_else():
    assert read_state(PART, "burnt").state == "burnt"
    assert read_state(PART, "absent").listed


def test_a_number_that_cannot_be_read_is_refused():
    with pytest.raises(StateProblem, match="other: 470 apples"):
        read_state(PART, "470 apples")


@given(st.floats(1e-12, 1e-3), st.floats(0.01, 1.0))
def test_matching_is_symmetric_in_the_logarithm(value, tolerance):
    feature = Feature("p", "P", ("listed",), unit="F", values=(1e-8,), tolerance=tolerance)
    distance = abs(log(value / 1e-8))
    assume(abs(distance - log1p(tolerance)) > 1e-6)
    assert read_state(feature, f"{value!r} F").listed == (distance <= log1p(tolerance))


@pytest.mark.parametrize("sign", [1, -1])
def test_the_edge_of_the_tolerance_belongs_to_it(sign):
    text = f"{2e-8 * exp(sign * log1p(0.2)) * 1e12!r} pF"
    assert read_state(PART, text).state == "0.02 uF"
