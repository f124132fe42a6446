"""The whole answer: the first day, what is warned of, what is said in sentences."""

from dataclasses import replace

import numpy as np
import pytest

from setwright.identity import BenchSet, Family, ImpossibleHistory, Observation, Survivors, identify
from setwright.identity.model import NOT_SEEN, CutInBound, Feature, Line, Version, seen_code

FEATURES = (
    Feature("stamp", "Stamped number", ("A", "B"), permanence="stamped"),
    Feature("bracket", "Bracket", ("flat", "ribbed"), access="back off", permanence="riveted"),
    Feature("tube", "First tube", ("6AB9", "6CD9"), access="back off", permanence="plugged"),
    Feature("value", "Tone capacitor", ("10 nF", "47 nF"), access="underside", permanence="consumable"),
)
FAMILY = Family(
    "f",
    "Family",
    FEATURES,
    (
        Version("early", "Early", states={"stamp": "A", "bracket": "flat", "tube": "6AB9", "value": "10 nF"}),
        Version("late", "Late", states={"stamp": "B", "bracket": "ribbed", "tube": "6CD9", "value": "47 nF"}),
    ),
)


def bench(*observations, **more):
    return BenchSet("bench", "f", observations=observations, **more)


def survivors(*rows):
    """Rows of (line, position, {feature: state index})."""
    columns = {
        f.id: np.array([seen_code(seen[f.id], 0) if f.id in seen else NOT_SEEN for _, _, seen in rows], dtype=np.int16)
        for f in FEATURES
    }
    return Survivors(
        ids=[f"s{i}" for i in range(len(rows))],
        line=np.array([line for line, _, _ in rows], dtype=np.int64),
        position=np.array([position for _, position, _ in rows], dtype=np.int64),
        seen=columns,
    )


def test_the_first_day_one_set_no_serial_no_survivors():
    answer = identify(FAMILY, bench(Observation("stamp", "A"), Observation("bracket", "flat")))
    assert answer.verdict[0].label == "Early"
    assert sum(entry.probability for entry in answer.verdict) == pytest.approx(1.0)
    assert 0.0 <= answer.serial.low <= answer.serial.median <= answer.serial.high <= 1.0
    assert all(0.0 <= change.cut_in.low <= 1.0 for change in answer.changes)
    assert any("fractions" in warning for warning in answer.warnings)
    assert answer.groups == ()
    assert answer.learned == ()


def test_a_set_with_details_of_both_versions_stands_between_them():
    answer = identify(FAMILY, bench(Observation("stamp", "B"), Observation("bracket", "flat")))
    assert answer.verdict[0].between == ("early", "late")
    assert answer.explanations[0].startswith(("The set is", "Nothing is settled yet"))
    assert any("already has: Stamped number (B)" in sentence for sentence in answer.explanations)


def test_what_a_plugged_tube_says_against_a_stamp_is_an_alteration():
    early = (Observation("stamp", "A"), Observation("bracket", "flat"), Observation("value", "10 nF"))
    answer = identify(FAMILY, bench(*early, Observation("tube", "6CD9")))
    by_feature = {o.feature: o for o in answer.observations}
    assert by_feature["tube"].altered_probability > 0.5 > by_feature["stamp"].altered_probability
    other = identify(FAMILY, bench(*early, Observation("tube", "12XY7")))
    assert {o.feature: o for o in other.observations}["tube"].altered_probability == pytest.approx(1.0)


def test_a_serial_before_every_survivor_with_the_change_is_early():
    known = survivors(*((0, 100 * i, {"stamp": int(i >= 10), "bracket": int(i >= 10)}) for i in range(1, 21)))
    assert identify(FAMILY, bench(serial="150"), known).verdict[0].version == "early"
    assert identify(FAMILY, bench(serial="1950"), known).verdict[0].version == "late"
    change = identify(FAMILY, bench(serial="150"), known).changes[0]
    assert 900 <= change.cut_in.median <= 1001


def test_what_is_left_out_is_named():
    two_lines = replace(FAMILY, lines=(Line("main"), Line("export")), last_serial=500)
    rows = survivors((0, -1, {"stamp": 1}), (-1, 30, {"stamp": 1}), (0, 40, {"stamp": 0}))
    answer = identify(two_lines, bench(line="main"), rows, exact=True)
    text = " ".join(answer.warnings)
    assert "1 survivor without a full serial" in text
    assert "1 survivor of unknown line" in text
    alone = identify(two_lines, bench(line="main"), survivors((0, 40, {"stamp": 0})), exact=True)
    assert [c.applied_probability for c in answer.changes] == [c.applied_probability for c in alone.changes]


def test_drift_is_reported_and_says_nothing():
    drifted = Observation("value", None, drift=True, written="61 nF")
    answer = identify(FAMILY, bench(drifted))
    assert answer.observations == ()
    assert any("61 nF" in warning and "drift" in warning for warning in answer.warnings)


def test_a_serial_that_fits_nowhere_is_refused():
    with pytest.raises(ImpossibleHistory, match="fits no serial"):
        identify(replace(FAMILY, last_serial=500), bench(serial="501"))


def test_a_bound_beyond_the_run_is_refused():
    bounded = replace(FAMILY, last_serial=500, cut_in_bounds=(CutInBound("stamp", "A", "B", after=500),))
    with pytest.raises(ImpossibleHistory, match="no serial between 1 and 500"):
        identify(bounded, bench(serial="5"))


def test_a_set_that_no_history_explains_is_called_so():
    """Every lasting detail contradicts the next: neither alteration nor misreading is likely so often."""
    features = tuple(Feature(f"f{i}", f"Detail {i}", ("old", "new"), permanence="stamped") for i in range(12))
    family = Family(
        "f",
        "Family",
        features,
        tuple(
            Version(f"v{j}", f"Version {j}", states={f.id: "new" if i < j else "old" for i, f in enumerate(features)})
            for j in range(13)
        ),
        last_serial=5000,
    )
    odd = tuple(Observation(f.id, "new" if i % 2 else "old") for i, f in enumerate(features))
    answer = identify(family, BenchSet("b", "f", observations=odd))
    assert answer.misfit_p_value < 0.01
    assert any(sentence.startswith("No documented history") for sentence in answer.explanations)
    plain = tuple(Observation(f.id, "new" if i < 6 else "old") for i, f in enumerate(features))
    assert identify(family, BenchSet("b", "f", observations=plain)).misfit_p_value > 0.05


def test_the_same_input_gives_the_same_answer():
    first, second = (identify(FAMILY, bench(Observation("stamp", "B")), seed=4) for _ in range(2))
    assert repr(first) == repr(second)


def test_a_fragment_is_answered_with_serials_it_fits():
    """Of *50 up to 950 the range names 50, 150, …, not places between them."""
    answer = identify(replace(FAMILY, last_serial=1000), bench(Observation("stamp", "B"), serial="*50"))
    for end in (answer.serial.low, answer.serial.median, answer.serial.high):
        assert end % 100 == 50


def test_a_fragment_needs_no_documented_end():
    """Its ten readings are one set, not ten known serials, and none of them is taken to be read in full."""
    answer = identify(FAMILY, bench(Observation("stamp", "B"), serial="71?08"))
    assert answer.axes[0].edges[-1] == 2 * 71908 - 1
    assert answer.serial.low < answer.serial.high
    opened = identify(FAMILY, bench(Observation("stamp", "B"), serial="71*"))
    assert opened.axes[0].unit == "fraction of the run"
    assert any("71* is not used" in warning for warning in opened.warnings)
    nothing = identify(FAMILY, bench(Observation("stamp", "B")))
    assert [e.probability for e in opened.verdict] == [e.probability for e in nothing.verdict]


def test_a_first_serial_alone_leaves_the_run_in_fractions():
    numbered = replace(FAMILY, first_serial=10_001)
    answer = identify(numbered, bench(Observation("stamp", "B")))
    plain = identify(FAMILY, bench(Observation("stamp", "B")))
    assert [e.probability for e in answer.verdict] == [e.probability for e in plain.verdict]


def test_a_line_without_documents_is_one_undocumented_version():
    """What the line lacks is absent there; of the rest every state is equally likely."""
    lid = Feature("lid", "Lid", ("plain", "hinged"), role="variant", lines=("main",))
    two_lines = replace(FAMILY, features=(*FEATURES, lid), lines=(Line("main"), Line("export")), last_serial=500)
    answer = identify(two_lines, bench(Observation("stamp", "A"), line="export"))
    (entry,) = answer.verdict
    assert (entry.version, entry.between, entry.label) == (None, None, "Undocumented version")
    assert entry.states["lid"] == "absent"
    predicted = {p.feature: p.states for p in answer.predicted}
    assert predicted["lid"] == {"absent": 1.0, "plain": 0.0, "hinged": 0.0}
    assert predicted["bracket"] == pytest.approx({"flat": 0.5, "ribbed": 0.5})
    absent = identify(two_lines, bench(Observation("lid", "absent"))).verdict
    hinged = identify(two_lines, bench(Observation("lid", "hinged"))).verdict
    of_export = [sum(e.probability for e in v if e.line == "export") for v in (absent, hinged)]
    assert of_export[0] > 0.9 > 0.1 > of_export[1]
