"""Parts lists side by side: what differs, what becomes of it."""

from math import log

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.files import read_family
from setwright.files.partslists.comparison import compare_lists
from setwright.files.partslists.proposals import new_family_text
from setwright.files.partslists.reading import read_parts_list
from setwright.notation import format_modern, format_period


def lists(*texts):
    return [read_parts_list(text.encode(), f"Printing {number}") for number, text in enumerate(texts, start=1)]


def proposals(*texts, **options):
    return {one.reference: one for one in compare_lists(lists(*texts), **options).proposals}


def only(*texts):
    found = proposals(*texts)
    assert len(found) == 1, found
    return next(iter(found.values()))


ALIKE = [
    ("C12 .05 mfd 400 V", "C12 50 nF 400 V"),
    ("C12 500 mmf", "C12 .0005"),
    ("R7 470K 1/2 watt", "R7 470,000 ohms ½ W"),
    ("R7 2.2 meg", "R7 2M2"),
    ("V3 6BE6 converter", "V3 Converter, 6-BE-6"),
    ("T1 Power transformer", "T1 Transformer, power"),
    ("T3 Output trans.", "T3 Output transformer"),
    ("T2 2nd I.F. trans. 455 kc", "T2 2nd IF transformer"),
    ("T1 Power transformer 52-1140", "T1 power transformer, 60 cycles 52-1140"),
    ("S1 band switch", "S1 band switch, 3 position"),
    ("C1 20-20 mfd 450 V", "C1 20/20 uF 450 V"),
    ("L2 choke 10 H", "L2 10 henries, choke 320 ohms"),
    ("C9 40-20 mfd 150 V", "C9A 40 mfd 150 V\nC9B 20 mfd 150 V"),
    ("C1A, C1B tuning gang", "C1 tuning gang, 2 section"),
    ("C1a,b Gang condenser", "C1A-B gang"),
    ('SP1 Speaker, 5" p.m. 49-100', "SP1 Speaker, 5 inch PM 49-100"),
]


@pytest.mark.parametrize(("one", "other"), ALIKE)
def test_another_way_of_writing_is_no_difference(one, other):
    assert proposals(one, other) == {}
    assert proposals(other, one) == {}


@pytest.mark.parametrize(
    ("one", "other", "unit", "states", "access", "permanence"),
    [
        ("C12 .05 mfd 400 V", "C12 .02 mfd 400 V", "F", (".05 mfd", ".02 mfd"), "underside", "consumable"),
        ("C12 .05 mfd 400 V", "C12 .05 mfd 600 V", "V", ("400 V", "600 V"), "underside", "consumable"),
        ("C12 500 mmf mica", "C12 500 mmf ceramic", None, ("mica", "ceramic"), "underside", "soldered"),
        ("R7 470K", "R7 1 meg", "ohm", ("470K", "1 meg"), "underside", "soldered"),
        ("R7 1000 ohms 1 W", "R7 1000 ohms 2 W", "W", ("1 W", "2 W"), "underside", "soldered"),
        ("V1 6SB7Y", "V1 6BE6", None, ("6SB7Y", "6BE6"), "back off", "plugged"),
        ("T1 output transformer 52-1", "T1 output transformer 52-2", None, ("52-1", "52-2"), "chassis out", "riveted"),
        ("M1 label, white", "M1 label, yellow", None, ("white", "yellow"), "outside", "stamped"),
        ("L1 choke 10 H", "L1 choke 20 H", "H", ("10 H", "20 H"), "chassis out", "riveted"),
        ("C1 20-20 mfd", "C1 40-20 mfd", None, ("20-20 mfd", "40-20 mfd"), "chassis out", "consumable"),
    ],
)
def test_a_difference_becomes_a_feature(one, other, unit, states, access, permanence):
    found = only(one, other)
    assert (found.unit, found.kind.access, found.kind.permanence) == (unit, access, permanence)
    assert tuple(state.replace(",", "") for state in found.states) == states
    assert found.by_list == found.states


def test_a_missing_reference_is_absent():
    found = proposals("R7 1 meg\nC12 .05 mfd", "R7 1 meg\nV9 6AL5")
    assert (found["C12"].states, found["C12"].unit) == ((".05 mfd", "absent"), "F")
    assert found["V9"].states == ("absent", "6AL5")
    assert only("R7 1 meg\nT3 choke", "R7 1 meg").states == ("present", "absent")


def test_a_line_that_was_not_understood_makes_nothing_absent():
    comparison = compare_lists(lists("R7 1 meg\nR8 470M", "R7 1 meg\nR8 470k"))
    assert comparison.proposals == ()
    assert any("R8" in note and "not understood" in note for note in comparison.notes)
    found = proposals("R8 470M\nR7 1 k", "R8 470k\nR7 1 k", "R8 1 meg\nR7 1 k")["R8"]
    assert found.by_list == (None, "470k", "1 meg")


def test_a_part_that_changes_twice_and_back():
    found = only("R7 1 meg", "R7 470k", "R7 1,000,000 ohms")
    assert (found.states, found.by_list) == (("1 meg", "470k"), ("1 meg", "470k", "1 meg"))


def test_one_part_makes_one_feature_however_much_of_it_changed():
    found = only("C12 .05 mfd 400 V paper", "C12 .02 mfd 600 V ceramic")
    assert found.aspect == "value"
    assert any("rated voltage differs too: 400 V / 600 V" in note for note in found.notes)
    found = only("C12 .05 mfd 400 V", "C12 .05 mfd 600 V", "C12 .02 mfd 1000 V")
    assert (found.aspect, found.states) == ("volts", ("400 V", "600 V", "1 kV"))


@pytest.mark.parametrize(
    ("one", "other", "tolerance"),
    [(".05", ".02", None), (".05", ".04", 0.1), (".05", ".047", 0.02), (".05", ".049", 0.01)],
)
def test_states_that_lie_close_get_a_narrower_tolerance(one, other, tolerance):
    proposal = only(f"C1 {one} mfd", f"C1 {other} mfd")
    assert proposal.tolerance == tolerance
    assert ("only the marking tells them apart" in " ".join(proposal.notes)) == (tolerance is not None)


def test_states_that_no_marking_tells_apart_are_left_out():
    comparison = compare_lists(lists("R1 470k", "R1 472k"))
    assert comparison.proposals == ()
    assert "too close to tell apart" in comparison.differences[0].notes[0]


def test_the_rating_of_a_replacement_does_not_pass_for_the_one_documented():
    found = only("C12 .05 mfd 400 V", "C12 .05 mfd 600 V")
    assert abs(log(450 / 400)) > log(1 + found.tolerance)


def test_the_sections_of_one_can_are_one_piece_of_evidence():
    comparison = compare_lists(lists("C9 40-20 mfd\nR1 1 k", "C9A 80 mfd\nC9B 50 mfd\nR1 1 k"))
    assert [one.reference for one in comparison.proposals] == ["C9A"]
    assert "same part as C9A" in comparison.differences[1].notes[-1]
    apart = proposals("C9A 40 mfd\nC9B 20 mfd", "C9A 80 mfd\nC9B 20 mfd", "C9A 80 mfd\nC9B 50 mfd")
    assert set(apart) == {"C9A", "C9B"}


def test_what_is_not_proposed_is_said():
    one = "R1 1 k 10%\nR2 1 k part no. 5-1\nC3 .05 mfd bypass"
    other = "R1 1 k 20%\nR2 1 k part no. 5-2\nC3 .05 mfd coupling"
    notes = compare_lists(lists(one, other)).notes
    assert [note.rpartition(": ")[2] for note in notes] == ["R1.", "R2.", "C3."]


def test_a_list_of_changes_is_as_the_one_before_in_all_else():
    base = "\n".join(f"R{number} 1 k" for number in range(1, 11))
    bulletin = "R3 10 k"
    comparison = compare_lists(lists(base, bulletin), changes_only={1})
    assert [one.reference for one in comparison.proposals] == ["R3"]
    assert comparison.notes == ()
    careless = compare_lists(lists(base, bulletin))
    assert len(careless.proposals) == 10
    assert "--changes-only" in careless.notes[0]
    text = new_family_text(comparison, "f", "F")
    assert 'based_on = "printing-1"' in text
    assert read_family(text.encode()).family.versions[1].states == {"r3": "10 k"}


@pytest.mark.parametrize("words", ["Not used", "omitted", "(deleted)", "- not used.", "None"])
def test_a_part_that_is_said_to_be_left_out_is_absent(words):
    feature = only("R8 33 ohms\nR9 220K", f"R8 {words}\nR9 220K")
    assert (feature.reference, feature.by_list) == ("R8", ("33 ohms", "absent"))
    changes = compare_lists(lists("R8 33 ohms\nR9 220K", f"R8 {words}"), changes_only={1})
    assert [(one.reference, one.by_list) for one in changes.proposals] == [("R8", ("33 ohms", "absent"))]


def test_a_part_cannot_be_there_and_left_out():
    unread = lists("R8 33 ohms\nR8 not used")[0].unread
    assert [line.why for line in unread] == ["R8 stands on line 1 already, with something else; keep one of them"]


def test_words_that_only_begin_alike_are_no_abbreviation():
    assert only("T3 Output trans", "T3 Output transistor").aspect == "words"


def test_a_new_reference_for_an_old_part_is_noticed():
    notes = compare_lists(lists("R1 1 k\nC12 .05 mfd 400 V", "R1 1 k\nC52 .05 mfd 400 V")).notes
    assert any("C12 is gone where C52 appears" in note for note in notes)


capacitance = st.sampled_from([1e-10, 4.7e-10, 1e-9, 2e-9, 1e-8, 2e-8, 2.2e-8, 4.7e-8, 5e-8, 1e-7, 2e-5])
resistance = st.sampled_from([47.0, 470.0, 1e3, 4.7e3, 470e3, 500e3, 1e6, 2.2e6])
references = st.sampled_from(["C1", "C2", "C3", "R1", "R2"])
entries = st.dictionaries(references, st.tuples(capacitance, resistance), min_size=1)


def written(parts, write):
    return "\n".join(
        f"{reference} " + (write(values[0], "F") if reference[0] == "C" else write(values[1], "ohm"))
        for reference, values in parts.items()
    )


@given(entries)
def test_a_list_in_the_other_notation_is_the_same_list(parts):
    comparison = compare_lists(lists(written(parts, format_modern), written(parts, format_period)))
    assert comparison.differences == ()
    assert comparison.same == len(parts)


@given(st.lists(entries, min_size=2, max_size=4), st.booleans())
def test_every_proposed_family_passes_the_reader_and_says_what_the_lists_say(many, period):
    write = format_period if period else format_modern
    compared = lists(*(written(parts, write) for parts in many))
    comparison = compare_lists(compared)
    family = read_family(new_family_text(comparison, "f", "F").encode()).family
    assert [version.label for version in family.versions] == [one.label for one in compared]
    assert {feature.part for feature in family.features} == {one.reference for one in comparison.proposals}
    for version, parts in zip(family.versions, many, strict=True):
        for feature in family.features:
            state = version.states[feature.id]
            assert (state == "absent") == (feature.part not in parts)
            if state != "absent":
                value = feature.values[feature.states.index(state)]
                assert value == parts[feature.part][0 if feature.part[0] == "C" else 1]
