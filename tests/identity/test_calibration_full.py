"""Answers from untidy registers are right as often as they say: see `calibration_full` for what is untidy."""

from __future__ import annotations

import numpy as np
import pytest
from calibration import by_decile, coverage
from calibration_full import (
    ALTERNATING,
    CABINET,
    CHANGED,
    OVERLAP,
    TUNER,
    Untidy,
    area_under_roc,
    family,
    free_coverage,
    held,
    marriages,
    report,
    run,
)

ENOUGH = 30
"""Bins with fewer statements than this say too little to be held to anything."""


def test_the_simulated_family_is_as_untidy_as_asked():
    made = family()
    assert OVERLAP / made.last_serial == 0.05
    assert all(feature.overlap == OVERLAP for feature in made.features[:28])
    groups = [feature.group for feature in made.features]
    assert (groups.count("cabinet"), groups.count("tuner")) == (CABINET, TUNER)
    mentioned = {feature for version in made.versions for feature in version.states}
    assert {f.id for f in made.features if f.role == "change"} - mentioned == {CHANGED, ALTERNATING}


def test_area_under_the_roc_curve():
    """By counting pairs: 1 against 0 and 0.5, 0.5 against 0 and a tie: 3.5 of 4."""
    assert area_under_roc(np.array([1.0, 0.5]), np.array([0.0, 0.5])) == 0.875


@pytest.mark.slow
def test_untidy_productions(capsys):
    """Ranges hold what they say within 3 points, or what 60 productions can tell; groups of another version are told
    from those that stayed; deciles of the verdict are right within 5 points or 2.5 standard errors.
    """
    outcomes = run(Untidy(with_serial=True), range(60), workers=2)
    figures = report(outcomes)
    with capsys.disabled():
        print("", figures, sep="\n")
    share, error = coverage(held(outcomes))
    assert abs(share - 0.9) <= max(0.03, 2.5 * error), figures
    free, error, _ = free_coverage(outcomes)
    assert abs(free - 0.9) <= max(0.03, 3 * error), figures
    found = marriages(outcomes)
    assert found.area >= 0.9, figures
    assert found.false < 0.03, figures
    for stated, true in (("stated", "true"), ("applied", "had")):
        for b in by_decile(held(outcomes), stated, true):
            if b.count >= ENOUGH:
                assert abs(b.observed - b.stated) <= max(0.05, 2.5 * b.error), figures
