"""Opening costs, batches and cautions."""

import pytest

from setwright.identity import BenchSet, Family, Observation, identify
from setwright.identity.cautions import DEFER, cautions_for
from setwright.identity.looks import opening_minutes
from setwright.identity.model import ACCESSES, Feature, Version


@pytest.mark.parametrize(
    ("access", "open_to", "minutes"),
    [
        ("outside", "outside", 0),
        ("back off", "outside", 5),
        ("chassis out", "outside", 30),
        ("underside", "outside", 35),
        ("underside", "back off", 30),
        ("underside", "underside", 0),
        ("back off", "underside", 0),
        ("powered", "outside", 20),
        ("powered", "back off", 15),
        ("powered", "underside", 15),
        ("powered", "powered", 0),
        ("chassis out", "powered", 25),
    ],
)
def test_opening_costs_count_from_how_far_the_set_is_open(access, open_to, minutes):
    """Back off 5, chassis out 25, underside 5, powered 15 minutes: common practice, no source."""
    assert opening_minutes(access, open_to, {}) == minutes


def test_a_family_states_its_own_opening_costs():
    assert opening_minutes("underside", "outside", {"chassis out": 10, "underside": 2}) == 17


def small_family(*features):
    return Family(
        "f",
        "Family",
        features,
        (
            Version("early", "Early", states={f.id: "old" for f in features}),
            Version("late", "Late", states={f.id: "new" for f in features}),
        ),
        last_serial=1000,
    )


def look_at(family, **more):
    return identify(family, BenchSet("b", "f", **more))


def test_looks_are_proposed_only_where_they_can_be_made():
    family = small_family(
        Feature("stamp", "Stamp", ("old", "new"), access="outside", permanence="stamped"),
        Feature("lead", "Lead", ("old", "new"), access="lead lifted"),
        Feature("seen", "Seen", ("old", "new"), access="outside"),
        Feature("unclear", "Unclear", ("old", "new"), access="outside"),
        Feature("redone", "Redone", ("old", "new"), access="outside"),
    )
    seen = (
        Observation("seen", "old", sure="guess"),
        Observation("unclear", None, cannot_tell=True),
        Observation("redone", "new", serviced=True),
    )
    answer = look_at(family, observations=seen)
    assert [look.feature for look in answer.next] == ["stamp"]
    assert {p.feature for p in answer.predicted} == {"stamp", "lead", "unclear", "redone"}


def test_a_lasting_feature_tells_more_than_a_plugged_tube():
    family = small_family(
        Feature("tube", "Tube", ("old", "new"), access="back off", permanence="plugged"),
        Feature("rivet", "Rivet", ("old", "new"), access="back off", permanence="stamped"),
    )
    first, second = look_at(family).next
    assert (first.feature, second.feature) == ("rivet", "tube")
    assert first.bits > second.bits > 0.0


def test_what_is_opened_once_is_used_together():
    """Behind a back cover the second look costs a minute, not the opening again."""
    family = small_family(
        *(Feature(f"f{i}", f"F{i}", ("old", "new"), access="back off", permanence="riveted") for i in range(3))
    )
    (batch,) = look_at(family).batches
    assert len(batch.features) >= 2
    assert batch.minutes == 5.0 + len(batch.features)
    assert batch.bits <= sum(look.bits for look in look_at(family).next) + 1e-9


def test_many_looks_of_one_access_still_make_a_batch():
    family = small_family(
        *(Feature(f"f{i}", f"F{i}", ("old", "new"), access="underside", permanence="soldered") for i in range(12))
    )
    answer = look_at(family)
    (batch,) = answer.batches
    assert len(batch.features) >= 6
    assert batch.bits_per_minute >= max(look.bits_per_minute for look in answer.next)
    assert batch.bits > max(look.bits for look in answer.next)


@pytest.mark.parametrize("access", [a for a in ACCESSES if a != "outside"])
@pytest.mark.parametrize("kind", ["radio", "television"])
def test_every_opening_carries_its_cautions(access, kind):
    cautions = cautions_for(access, kind)
    assert cautions[-1] == DEFER
    text = " ".join(cautions)
    assert "line" in text
    assert ("implode" in text) == (kind == "television")
    if access != "powered":
        assert "Discharge" in text
        assert ("outer coating" in text) == (kind == "television")
    else:
        assert "selenium" in text
        assert ("X-rays" in text and "0.5 mR/h" in text) == (kind == "television")


def test_looking_from_outside_needs_no_caution():
    assert cautions_for("outside", "television") == ()


@pytest.mark.parametrize("seed", range(3))
def test_a_batch_agrees_with_its_single_looks(seed):
    """With many open changes the joint bits come from a sample of histories, corrected by the single looks."""
    features = tuple(
        Feature(
            f"f{block}-{i}",
            f"F{block} {i}",
            ("old", "new"),
            access=("outside", "back off", "underside")[i % 3],
            minutes=1.0 if i else 0.1,
            permanence=("stamped", "riveted", "plugged")[i % 3],
        )
        for block in range(2)
        for i in range(12)
    )
    versions = tuple(
        Version(f"v{j}", f"V{j}", states={f.id: "new" if int(f.id[1]) < j else "old" for f in features})
        for j in range(3)
    )
    family = Family("f", "Family", features, versions, last_serial=3000)
    seen = tuple(Observation(f"f{i % 2}-{i}", ("old", "new")[(i + seed) % 2]) for i in range(1, 9))
    answer = identify(family, BenchSet("b", "f", observations=seen), seed=seed)
    single = {look.feature: look.bits for look in answer.next}
    assert answer.batches
    for batch in answer.batches:
        together = sum(single[feature] for feature in batch.features)
        assert batch.bits <= together + 1e-9
        if len(batch.features) == 1:
            assert batch.bits == pytest.approx(together, rel=1e-9)
