"""Several steps at one family file: read once they are all done, order and comments kept, nothing half done."""

# ruff: noqa: E501

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from setwright.files import FileProblems, read_family
from setwright.files.editing import FamilyEdit, edit_family

TEXT = """\
format = "setwright-family/1"
id = "f"
name = "F"   # as on the back
kind = "radio"

# what can be seen

# the stamp
[[feature]]
id = "stamp"
access = "outside"
permanence = "stamped"
states = ["A", "B"]

# the tube
[[feature]]
id = "tube"
access = "outside"
permanence = "plugged"
states = ["6SA7", "6BE6"]   # in that order

[[version]]
id = "early"
states = { stamp = "A", tube = "6SA7" }

# from the bulletin
[[version]]
id = "late"
based_on = "early"

[version.states]
tube = "6BE6"   # sure

[[cutin]]
feature = "tube"
after = 100
"""


@pytest.fixture
def file():
    return read_family(TEXT.encode(), "f.toml")


def test_steps_that_are_whole_only_together(file):
    new = {"id": "third", "based_on": "late", "states": {"tube": "12BE6"}}
    with pytest.raises(FileProblems):
        edit_family(file, [FamilyEdit("add", "version", values=new)])
    edited = edit_family(
        file,
        [
            FamilyEdit("add", "version", values=new),
            FamilyEdit("change", "feature", "tube", {"states": ["6SA7", "6BE6", "12BE6"]}),
            FamilyEdit("change", "cutin", 0, {"from": "6SA7", "to": "6BE6"}),
            FamilyEdit("top", values={"last_serial": 900}),
        ],
    )
    assert [version.id for version in edited.family.versions] == ["early", "late", "third"]
    assert edited.family.feature("tube").states == ("6SA7", "6BE6", "12BE6")
    assert edited.family.last_serial == 900
    assert 'name = "F"   # as on the back' in edited.text
    assert 'tube = "6BE6"   # sure' in edited.text


def test_a_step_that_breaks_the_file_leaves_it_as_it_was(file):
    with pytest.raises(FileProblems, match='there is no feature "tube"'):
        edit_family(file, [FamilyEdit("remove", "feature", "tube")])
    assert file.text == TEXT


def test_tables_change_places_with_the_comments_above_them(file):
    edited = edit_family(file, [FamilyEdit("swap", "feature", "tube", other=0)])
    assert [feature.id for feature in edited.family.features] == ["tube", "stamp"]
    assert edited.text.index("# what can be seen") < edited.text.index("# the tube") < edited.text.index('id = "tube"')
    assert edited.text.index('id = "tube"') < edited.text.index("# the stamp") < edited.text.index('id = "stamp"')
    assert sorted(edited.text.split()) == sorted(TEXT.split())


def test_swapping_twice_gives_the_file_back(file):
    there = edit_family(file, [FamilyEdit("swap", "version", 0, other=1)])
    assert there.text != TEXT
    assert edit_family(there, [FamilyEdit("swap", "version", 0, other=1)]).text == TEXT


def test_tables_in_one_list_change_places_too():
    text = 'format = "setwright-family/1"\nid = "f"\nname = "F"\nkind = "radio"\nsource = [{id = "a", title = "A"}, {id = "b", title = "B"}]\n'
    edited = edit_family(read_family(text.encode()), [FamilyEdit("swap", "source", "a", other=1)])
    assert [source.id for source in edited.family.sources] == ["b", "a"]


def test_what_is_not_there_is_named(file):
    with pytest.raises(FileProblems, match='there is no version "never" to change'):
        edit_family(file, [FamilyEdit("change", "version", "never", {"label": "x"})])


@settings(max_examples=40)
@given(st.lists(st.tuples(st.integers(0, 4), st.integers(0, 4)), max_size=6), st.booleans())
def test_any_swaps_keep_every_word_and_every_comment(swaps, crlf):
    text = TEXT.split("[[version]]")[0]
    text += "".join(f'# about {n}\n[[source]]\nid = "s{n}"\ntitle = "T{n}"   # t{n}\n\n' for n in range(5))
    text = text.replace("\n", "\r\n") if crlf else text
    order = list(range(5))
    for one, other in swaps:
        order[one], order[other] = order[other], order[one]
    edited = edit_family(read_family(text.encode()), [FamilyEdit("swap", "source", a, other=b) for a, b in swaps])
    assert [source.id for source in edited.family.sources] == [f"s{n}" for n in order]
    assert sorted(edited.text.split()) == sorted(text.split())
    for n in range(5):
        about = edited.text.index(f"# about {n}")
        assert edited.text.index("[[source]]", about) < edited.text.index(f'id = "s{n}"') < about + 40


@pytest.mark.parametrize(
    "before",
    [
        "",
        '[access_minutes]\n"back off" = 3   # two screws\npowered = 9\n',
        'access_minutes = { "back off" = 3, powered = 9 }\n',
    ],
)
def test_a_table_of_which_there_is_one(before):
    text = TEXT.replace("# what can be seen\n", before + "# what can be seen\n")
    edit = FamilyEdit("sole", "access_minutes", values={"back off": 4, "powered": None, "chassis out": 30})
    edited = edit_family(read_family(text.encode()), [edit])
    assert edited.family.access_minutes == {"back off": 4, "chassis out": 30}
    assert ("# two screws" in edited.text) == ("# two screws" in before)
    assert "# what can be seen" in edited.text


def test_states_that_grow_too_long_for_a_line_get_a_header_of_their_own(file):
    features = [f"feature-number-{n}" for n in range(8)]
    new = {"access": "outside", "permanence": "stamped", "states": ["one", "two"]}
    steps = [FamilyEdit("add", "feature", values={"id": name, **new}) for name in features]
    steps.append(FamilyEdit("change", "version", "early", {"states": dict.fromkeys(features, "one")}))
    steps.append(FamilyEdit("change", "version", "early", {"label": "Early ones"}))
    tight = file.text.replace('{ stamp = "A", tube = "6SA7" }', '{stamp="A",tube="6SA7"}   # all of it')
    edited = edit_family(read_family(tight.encode()), steps)
    assert edited.text.count("# all of it") == 1
    assert edited.family.versions[0].states == {"stamp": "A", "tube": "6SA7", **dict.fromkeys(features, "one")}
    assert edited.family.versions[0].label == "Early ones"
    assert max(map(len, edited.text.splitlines())) < 120
    again = edit_family(edited, [FamilyEdit("change", "version", "early", {"states": {"stamp": None}, "line": "main"})])
    assert "stamp" not in again.family.versions[0].states
    assert "# from the bulletin" in again.text


@settings(max_examples=30)
@given(st.lists(st.tuples(st.integers(0, 11), st.sampled_from(["one", "two", None])), max_size=30), st.booleans())
def test_any_changes_of_states_leave_what_they_say(changes, crlf):
    text = TEXT.replace("\n", "\r\n") if crlf else TEXT
    new = {"access": "outside", "permanence": "stamped", "states": ["one", "two"]}
    steps = [FamilyEdit("add", "feature", values={"id": f"feature-number-{n}", **new}) for n in range(12)]
    expected = {"stamp": "A", "tube": "6SA7"}
    for number, state in changes:
        name = f"feature-number-{number}"
        steps.append(FamilyEdit("change", "version", "early", {"states": {name: state}}))
        expected = {**expected, name: state} if state else {k: v for k, v in expected.items() if k != name}
    assert edit_family(read_family(text.encode()), steps).family.versions[0].states == expected
