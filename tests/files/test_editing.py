"""Changes keep the user's comments and order, never break a file, and reach the disk whole or not at all."""

# A table of cases reads best with one case a line.
# ruff: noqa: E501

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.files import FileProblems, editing, read_family, read_set

NOTES = """\
# my set, bought in June
format = "setwright-set/1"   # do not touch
id = "bench-1"
family = "heron-7"
serial = "41?08"             # the fourth one is rubbed

# --- seen so far ---
[[observation]]
feature = "converter"
state = "6SB7Y"              # type on the side
note = "dusty"

[[observation]]   # with the lamp
feature = 'tone-capacitor'
how = "measured"
state = ".02 mfd"

# the stamp is on the chassis
[[date_evidence]]
kind = "stamp"
date = "1948-08-17"
"""


@pytest.fixture
def bench(family):
    return read_set(NOTES.encode(), family, "bench.toml")


def lines_changed(before: str, after: str) -> tuple[list[str], list[str]]:
    old, new = before.splitlines(), after.splitlines()
    return [line for line in old if line not in new], [line for line in new if line not in old]


def test_changing_an_observation_touches_only_its_line(bench, family):
    changed = editing.change_observation(bench, family, 0, {"state": "6BE6"})
    assert changed.set.observations[0].state == "6BE6"
    gone, new = lines_changed(NOTES, changed.text)
    assert gone == ['state = "6SB7Y"              # type on the side']
    assert new == ['state = "6BE6"              # type on the side']


def test_taking_a_key_out_and_putting_one_in(bench, family):
    changed = editing.change_observation(bench, family, 0, {"note": None, "sure": "likely"})
    assert lines_changed(NOTES, changed.text) == (['note = "dusty"'], ['sure = "likely"'])


def test_adding_an_observation_behind_the_last(bench, family):
    changed = editing.add_observation(
        bench, family, {"feature": "finish", "state": "walnut", "serviced": True, "note": None}
    )
    assert lines_changed(NOTES, changed.text) == ([], ['feature = "finish"', 'state = "walnut"', "serviced = true"])
    assert [seen.feature for seen in changed.set.observations] == ["converter", "tone-capacitor", "finish"]
    assert changed.text.index('"finish"') < changed.text.index("# the stamp is on the chassis")


def test_adding_the_first_observation(set_text, family):
    bench = read_set(set_text.encode(), family)
    changed = editing.add_observation(bench, family, {"feature": "converter", "cannot_tell": True})
    assert changed.text.startswith(set_text)
    assert changed.set.observations[0].cannot_tell


def test_removing_an_observation_leaves_comments_around_it(bench, family):
    changed = editing.remove_observation(bench, family, 1)
    assert [seen.feature for seen in changed.set.observations] == ["converter"]
    for comment in ("# my set", "# --- seen so far ---", "# the stamp is on the chassis", "# type on the side"):
        assert comment in changed.text


def test_changing_the_head(bench, family):
    changed = editing.change_set(bench, family, {"serial": "41108", "open_to": "back off"})
    assert 'serial = "41108"             # the fourth one is rubbed' in changed.text
    assert (changed.set.serial, changed.set.open_to) == ("41108", "back off")
    assert changed.text.index("open_to") < changed.text.index("[[observation]]")


def test_observations_in_one_list_are_edited_in_place(family):
    head = NOTES[: NOTES.index("# --- seen")]
    text = (
        head
        + 'observation = [\n  { feature = "converter", state = "6SB7Y" },  # first\n  { feature = "finish", state = "walnut" },\n]\n'
    )
    bench = read_set(text.encode(), family)
    changed = editing.change_observation(bench, family, 0, {"state": "6BE6"})
    assert changed.set.observations[0].state == "6BE6"
    assert "# first" in changed.text
    assert len(editing.remove_observation(changed, family, 1).set.observations) == 1


def test_line_ends_are_kept(family):
    bench = read_set(NOTES.replace("\n", "\r\n").encode(), family)
    changed = editing.add_observation(bench, family, {"feature": "finish", "state": "walnut"})
    changed = editing.change_observation(changed, family, 0, {"state": "6BE6"})
    assert changed.text.replace("\r\n", "").count("\n") == 0


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        (lambda b, f: editing.change_observation(b, f, 0, {"state": "6BE-6"}), 'Did you mean "6BE6"?'),
        (lambda b, f: editing.add_observation(b, f, {"feature": "nothing", "state": "x"}), 'no feature "nothing"'),
        (lambda b, f: editing.change_observation(b, f, 7, {"state": "6BE6"}), "there is no observation number 8"),
        (lambda b, f: editing.remove_observation(b, f, 2), "there is no observation number 3; the file has 2"),
        (lambda b, f: editing.change_set(b, f, {"serial": "99999"}), 'no set of the family has the serial "99999"'),
    ],
)
def test_a_change_that_would_break_the_file_is_refused(change, expected, bench, family):
    with pytest.raises(FileProblems) as refused:
        change(bench, family)
    assert expected in str(refused.value)


texts = st.text(st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), max_size=30)


@given(st.lists(st.tuples(st.sampled_from(["add", "change", "remove"]), st.integers(0, 4), texts), max_size=6))
def test_any_row_of_edits_gives_the_observations_a_list_would(family, edits):
    file = read_set(NOTES.encode(), family)
    notes = [seen.note for seen in file.set.observations]
    for what, number, note in edits:
        if what == "add":
            file = editing.add_observation(file, family, {"feature": "finish", "state": "walnut", "note": note})
            notes.append(note)
        elif number < len(notes) and what == "change":
            file = editing.change_observation(file, family, number, {"note": note})
            notes[number] = note
        elif number < len(notes):
            file = editing.remove_observation(file, family, number)
            del notes[number]
        assert [seen.note for seen in file.set.observations] == notes
    assert file.text.startswith(NOTES[: NOTES.index("# --- seen")])
    assert "# the stamp is on the chassis\n[[date_evidence]]" in file.text


# Family files


def test_editing_a_family(family_text):
    commented = family_text.replace("[[version]]", "# from the second printing\n[[version]]", 1)
    file = read_family(commented.encode())
    file = editing.change_in_family(file, "feature", "converter", {"minutes": 3, "altered": 0.1})
    file = editing.add_to_family(
        file,
        "feature",
        {"id": "knob", "access": "outside", "permanence": "plugged", "states": ["red", "black"]},
    )
    file = editing.change_in_family(file, "version", "late", {"states": {"knob": "black", "converter": None}})
    file = editing.change_family(file, {"last_serial": 50000})
    assert "# from the second printing" in file.text
    assert file.family.last_serial == 50000
    assert file.family.feature("converter").altered == 0.1
    assert [feature.id for feature in file.family.features][-1] == "knob"
    assert file.family.versions[1].states == {"converter": "6SB7Y", "tone-capacitor": "0.02 uF", "knob": "black"}
    assert file.text.index('id = "knob"') < file.text.index("# from the second printing")


def test_a_new_table_of_a_new_kind_goes_before_the_later_ones(family_text):
    file = editing.add_to_family(
        read_family(family_text.encode()), "serial_block", {"prefix": "A", "first": 1, "last": 9}
    )
    assert file.text.index("[[serial_block]]") < file.text.index("[[source]]")
    file = editing.add_to_family(file, "cutin", {"feature": "converter", "after": 3})
    assert file.text.rstrip().endswith("after = 3")


def test_what_is_still_named_cannot_be_removed(family_text):
    file = read_family(family_text.encode())
    with pytest.raises(FileProblems, match='there is no feature "converter"'):
        editing.remove_from_family(file, "feature", "converter")
    with pytest.raises(FileProblems, match='there is no feature "nothing" to change'):
        editing.remove_from_family(file, "feature", "nothing")
    assert len(editing.remove_from_family(file, "version", "late").family.versions) == 1
