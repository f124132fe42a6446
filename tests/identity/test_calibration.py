"""Answers about simulated sets are right as often as they say.

Productions are drawn with half of their blocks at one stroke, which is not what the prior has (it leaves about five in
six of four blocks at one stroke): the ranges have to hold for factories that are not like the prior.
"""

from __future__ import annotations

import numpy as np
import pytest
from calibration import Plan, brier, by_decile, coverage, family, report, run

from setwright.identity import Assumptions

ENOUGH = 30
"""Bins with fewer statements than this say too little to be held to anything."""


def test_the_simulated_family_is_altered_as_often_as_asked():
    """Nine items in a hundred, over 30 features and four blocks of changes."""
    rates = [Assumptions().alteration_rate(feature) for feature in family().features]
    assert len(rates) == 30
    assert np.mean(rates) == pytest.approx(0.09, abs=0.005)
    assert Assumptions().misread["certain"] == 0.02


def hold_to_what_they_say(outcomes):
    for stated, true in (("stated", "true"), ("applied", "had")):
        for b in by_decile(outcomes, stated, true):
            if b.count >= ENOUGH:
                assert abs(b.observed - b.stated) <= max(0.05, 2.5 * b.error), report(outcomes)


@pytest.mark.parametrize("with_serial", [True, False])
def test_a_few_productions(with_serial):
    """Small, so wide: within three standard errors of 90 %, and better than taking what is seen for what was built."""
    outcomes = run(Plan(sets=5, with_serial=with_serial), range(12))
    share, error = coverage(outcomes)
    assert abs(share - 0.9) <= 3 * error, report(outcomes)
    ours, plain = brier(outcomes)
    assert plain >= 4 * ours, report(outcomes)
    hold_to_what_they_say(outcomes)


@pytest.mark.slow
@pytest.mark.parametrize(("with_serial", "productions"), [(True, 300), (False, 100)])
def test_many_productions(with_serial, productions, capsys):
    """20 held-out sets each: ranges hold 87 to 93 of a hundred cut-ins, every decile of the verdict is right within
    5 points or 2.5 standard errors, applied changes are at least four times better than as seen."""
    outcomes = run(Plan(sets=20, with_serial=with_serial), range(productions))
    with capsys.disabled():
        print("\nwith serial" if with_serial else "\nwithout serial", report(outcomes), sep="\n")
    share, _ = coverage(outcomes)
    assert 0.87 <= share <= 0.93, report(outcomes)
    ours, plain = brier(outcomes)
    assert plain >= 4 * ours, report(outcomes)
    hold_to_what_they_say(outcomes)
