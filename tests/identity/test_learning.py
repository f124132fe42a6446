"""Alteration rates learnt from survivors."""

import numpy as np
import pytest

from setwright.identity import Assumptions, identify
from setwright.identity.answer import RateEvidence
from setwright.identity.learning import RATES, learn_rates, with_learned
from setwright.identity.model import PERMANENCES, BenchSet, Family, Feature, Version
from setwright.identity.simulate import draw_production, draw_sets, survivors_of

SOLDERED = {"soldered": 0.2}


def family(name="f", own=None):
    features = tuple(Feature(f"f{i}", f"F {i}", ("old", "new"), permanence="soldered", altered=own) for i in range(10))
    versions = tuple(
        Version(f"v{n}", f"V {n}", states={f"f{i}": "new" if i < 5 * n else "old" for i in range(10)}) for n in range(3)
    )
    return Family(name, "Family", features, versions, last_serial=1000)


def register(seed, count=40, **rates):
    made = family()
    rng = np.random.default_rng(seed)
    production = draw_production(made, rng)
    truth = Assumptions(altered={**Assumptions().altered, **rates})
    return made, survivors_of(draw_sets(production, count, rng, assumptions=truth))


def counted(altered, items, name="f"):
    """Evidence as if it were known of every soldered item whether it was altered."""
    nothing = {p: np.zeros(len(RATES)) for p in PERMANENCES}
    log = altered * np.log(RATES) + (items - altered) * np.log(1.0 - RATES)
    return RateEvidence(name, {**nothing, "soldered": log}, {**dict.fromkeys(PERMANENCES, 0), "soldered": items})


def soldered(learned):
    return next(rate for rate in learned if rate.what == "soldered")


def test_the_true_rate_is_found_where_the_default_is_far_off():
    made, survivors = register(1, count=60, **SOLDERED)
    rate = soldered(identify(made, BenchSet("b", "f"), survivors, draws=400).learned)
    assert rate.default == 0.06
    assert rate.low <= 0.2 <= rate.high
    assert rate.value == pytest.approx(0.2, abs=0.06)
    assert rate.items > 300


@pytest.mark.slow
def test_ranges_cover_the_truth_about_as_often_as_they_say():
    """24 registers drawn from the model: of 90 % ranges all but a few hold the true rate."""
    covered = 0
    for seed in range(24):
        rng = np.random.default_rng([9, seed])
        true = float(rng.beta(0.6, 9.4))
        true = min(max(true, 0.005), 0.5)
        made, survivors = register(100 + seed, count=30, soldered=true)
        rate = soldered(identify(made, BenchSet("b", "f"), survivors, draws=200).learned)
        covered += rate.low <= true <= rate.high
    assert covered >= 18


def test_learnt_rates_are_used_only_when_asked_for():
    made, survivors = register(2, **SOLDERED)
    bench = BenchSet("b", "f", serial="500")
    plain, used = (identify(made, bench, survivors, draws=200, learned=learned) for learned in (False, True))
    assert plain.learned == used.learned
    again = identify(made, bench, survivors, draws=200, assumptions=with_learned(Assumptions(), used.learned))
    assert [e.probability for e in again.verdict] == [e.probability for e in used.verdict]


def test_features_with_a_rate_of_their_own_teach_nothing():
    _, survivors = register(3)
    rate = soldered(identify(family(own=0.3), BenchSet("b", "f"), survivors, draws=200).learned)
    assert rate.items == 0
    assert rate.value == pytest.approx(rate.default, rel=0.25)


def test_known_counts_give_what_counting_gives():
    """60 of 300 items altered: near the share itself, with the beta distribution's spread."""
    rate = soldered(learn_rates(counted(60, 300), (), Assumptions()))
    assert rate.value == pytest.approx(0.2, abs=0.015)
    assert rate.high - rate.low == pytest.approx(2 * 1.645 * np.sqrt(0.2 * 0.8 / 300), rel=0.15)


def test_other_families_draw_a_thin_one_towards_them():
    thin = counted(1, 5)
    alone = soldered(learn_rates(thin, (), Assumptions())).value
    others = [counted(100, 400, f"other-{n}") for n in range(4)]
    beside = soldered(learn_rates(thin, others, Assumptions())).value
    assert alone < beside < 0.27
    assert soldered(learn_rates(counted(4, 400), others, Assumptions())).value < 0.03


def test_a_family_does_not_count_twice():
    own = counted(10, 50)
    assert learn_rates(own, [own], Assumptions()) == learn_rates(own, (), Assumptions())
