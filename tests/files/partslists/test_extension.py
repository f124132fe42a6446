"""A family file extended by parts lists, the rest of it left as it stands."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.files import read_family
from setwright.files.partslists.comparison import compare_lists
from setwright.files.partslists.extension import extend_family
from setwright.files.partslists.proposals import new_family_text
from setwright.files.partslists.reading import read_parts_list
from setwright.files.toml.blocks import TomlBlocks, add_entries

FAMILY = """\
# My notes on the Heron 7.
format = "setwright-family/1"
id = "heron-7"
name = "Heron 7"
kind = "radio"

# what I know of tubes
[[feature]]
id = "converter"          # the pentagrid
label = "Converter"
access = "back off"
permanence = "plugged"
part = "V1"
states = ["6SB7Y",        # seen on two sets
          "6BE6"]

# a stray version among the features
[[version]]
id = "early"
states = { converter = "6SB7Y" }   # first printing

# the tone control
[[feature]]
id = "tone"
label = "Tone capacitor"
access = "underside"
permanence = "consumable"
part = "c-12"
unit = "F"
states = [".05 mfd", ".02 mfd"]

[[version]]
id = "late"
label = "Late production"

[version.states]
converter = "6BE6"
# the tone control is not in the second printing

# bounds
[[cutin]]
feature = "converter"
after = 4000
"""
EARLY = "V1 6SB7-Y\nC12 50 nF\nR7 470K\nR8 1 meg"
LATE = "V1 6BE6\nC12 .02 mfd\nR7 1 meg\nR8 1 meg"
EXPORT = "V1 12BE6\nR7 1 meg\nR8 2.2 meg"


def compared(*named):
    return compare_lists([read_parts_list(text.encode(), label) for label, text in named])


def extended(family, *named, line=None):
    extension = extend_family(read_family(family.encode()), compared(*named), line)
    return extension, read_family(extension.text.encode()).family


def test_known_parts_keep_their_one_feature_and_versions_their_words():
    extension, family = extended(FAMILY, ("Early", EARLY), ("Late", LATE))
    assert [feature.id for feature in family.features] == ["converter", "tone", "r7"]
    assert [version.id for version in family.versions] == ["early", "late"]
    assert family.versions[0].states == {"converter": "6SB7Y", "tone": ".05 mfd", "r7": "470K"}
    assert family.versions[1].states == {"converter": "6BE6", "tone": ".02 mfd", "r7": "1 meg"}
    assert extension.notes == ()


def test_every_line_of_the_file_is_still_there_in_its_order():
    extension, _ = extended(FAMILY, ("Early", EARLY), ("Export", EXPORT))
    after = iter(extension.text.splitlines())
    changed = {
        'states = { converter = "6SB7Y" }   # first printing',
        '          "6BE6"]',
        'states = [".05 mfd", ".02 mfd"]',
    }
    for line in FAMILY.splitlines():
        assert line in changed or line in after, line
    assert '# seen on two sets\n          "6BE6",\n          "12BE6"]' in extension.text
    assert 'states = { converter = "6SB7Y", tone = ".05 mfd", r7 = "470K", r8 = "1 meg" }   # first' in extension.text
    assert 'states = [".05 mfd", ".02 mfd", "absent"]' in extension.text


def test_a_third_printing_adds_states_and_a_version():
    extension, family = extended(FAMILY, ("Late production", LATE), ("Export", EXPORT))
    assert family.feature("converter").states == ("6SB7Y", "6BE6", "12BE6")
    assert family.feature("tone").states == (".05 mfd", ".02 mfd", "absent")
    assert family.versions[-1].id == "export"
    assert family.versions[-1].states == {"converter": "12BE6", "tone": "absent", "r8": "2.2 meg"}
    assert family.versions[1].states["r8"] == "1 meg"
    assert "r8" not in family.versions[0].states
    assert any("new features in early" in note for note in extension.notes)


def test_the_same_lists_again_change_nothing():
    first, _ = extended(FAMILY, ("Early", EARLY), ("Late", LATE))
    again, _ = extended(first.text, ("Early", EARLY), ("Late", LATE))
    assert again.text == first.text
    text = new_family_text(compared(("Early", EARLY), ("Late", LATE)), "f", "F")
    assert extended(text, ("Early", EARLY), ("Late", LATE))[0].text == text


def test_what_a_version_says_is_not_overwritten():
    extension, family = extended(FAMILY, ("Early", "V1 6BE6\nR7 1 k"), ("Late", "V1 6BE6\nR7 10 k"))
    assert family.versions[0].states["converter"] == "6SB7Y"
    assert any('says converter = "6SB7Y", its parts list "6BE6"' in note for note in extension.notes)


def test_a_value_too_close_to_a_listed_one_is_not_added():
    extension, family = extended(FAMILY, ("Early", "C12 .05 mfd"), ("New", "C12 .035 mfd"))
    assert family.feature("tone").states == (".05 mfd", ".02 mfd")
    assert "tone" not in family.versions[-1].states
    assert any("too close" in note for note in extension.notes)


def test_a_value_within_the_tolerance_is_the_listed_state():
    _, family = extended(FAMILY, ("Early", "C12 .047 mfd"), ("New", "C12 .022 mfd"))
    assert [version.states.get("tone") for version in family.versions] == [".05 mfd", None, ".02 mfd"]


def test_a_feature_whose_states_are_of_another_kind_is_left_alone():
    text = FAMILY.replace('["6SB7Y",        # seen on two sets\n          "6BE6"]', '["metal", "glass"]')
    text = text.replace('"6SB7Y"', '"metal"').replace('"6BE6"', '"glass"')
    extension, family = extended(text, ("Early", EARLY), ("Late", LATE))
    assert family.feature("converter").states == ("metal", "glass")
    assert any('"converter" is about V1' in note for note in extension.notes)


def test_a_second_difference_of_a_known_part_is_only_said():
    lists = ("Early", "C12 .05 mfd 400 V\nR1 1 k"), ("Late", "C12 .05 mfd 600 V\nR1 10 k")
    extension, family = extended(FAMILY, *lists)
    assert [feature.id for feature in family.features] == ["converter", "tone", "r1"]
    assert any("400 V / 600 V differ too" in note for note in extension.notes)


def test_ids_that_are_taken_get_a_number():
    text = FAMILY.replace('id = "tone"', 'id = "r7"').replace('part = "c-12"', 'part = "K1"')
    _, family = extended(text, ("Early", EARLY), ("Late", LATE))
    assert [feature.id for feature in family.features] == ["converter", "r7", "c12", "r7-2"]
    assert family.versions[0].states["r7-2"] == "470K"


def test_new_versions_go_to_the_line_asked_for():
    _, family = extended(FAMILY, ("Export", EXPORT), ("Export, 2nd", LATE), line="export")
    assert [version.line for version in family.versions] == ["main", "main", "export", "export"]


def test_a_list_of_changes_builds_on_the_version_before():
    comparison = compare_lists(
        [read_parts_list(EARLY.encode(), "Early"), read_parts_list(b"R7 2.2 meg", "Bulletin 1")], changes_only={1}
    )
    text = extend_family(read_family(FAMILY.encode()), comparison).text
    family = read_family(text.encode()).family
    assert 'based_on = "early"' in text
    assert family.versions[-1].states["r7"] == "2.2 meg"
    assert family.versions[-1].states["tone"] == ".05 mfd"


def test_a_bound_still_means_the_change_it_meant():
    extension, family = extended(FAMILY, ("Late", LATE), ("Export", EXPORT))
    bound = family.cut_in_bounds[0]
    assert (bound.from_state, bound.to_state, bound.after) == ("6SB7Y", "6BE6", 4000)
    assert 'after = 4000\nfrom = "6SB7Y"\nto = "6BE6"\nline = "main"\n' in extension.text


def test_words_are_found_again_and_a_new_wording_is_a_new_state():
    white, yellow = "M1 Label, tube location, white", "M1 Label, yellow, tube location"
    text = new_family_text(compared(("Early", white), ("Late", yellow)), "f", "F")
    assert extended(text, ("Early", white), ("Late", yellow))[0].text == text
    _, family = extended(text, ("Late", yellow), ("Last", "M1 Label, tube location, green"))
    assert family.feature("m1").states[:2] == ("white", "yellow")
    assert [version.states["m1"] for version in family.versions[:2]] == ["white", "yellow"]
    assert "green" in family.versions[2].states["m1"]


def test_line_ends_of_the_file_are_kept():
    text = FAMILY.replace("\n", "\r\n")
    extension, _ = extended(text, ("Early", EARLY), ("Export", EXPORT))
    assert "\n" not in extension.text.replace("\r\n", "")


@pytest.mark.parametrize(
    "text",
    [
        FAMILY,
        "a = 1",
        "",
        '[[a]]\nx = """\n[[not a table]]\n"""\n\n# tail\n[[a]]\n',
        "# only a remark\n",
        "x = 1\n[b]\ny = 2\n[b.c]\nz = 3\n[[d]]\n[[d.e]]\n",
    ],
)
def test_blocks_join_to_the_text_they_were_cut_from(text):
    joined = TomlBlocks(text).text()
    assert joined == text if text.endswith("\n") or not text else joined == text + "\n"


def test_blocks_are_edited_one_at_a_time():
    blocks = TomlBlocks("x = 1\n[[a]]\nn = { p = 1 }  # one\n\n# two\n[[b]]\n[[a]]\nn = {}\n")

    def change(table):
        add_entries(table, "n", {"q": "2", "r": "3"})

    blocks.edit("a", 0, change)
    blocks.edit("a", 1, change)
    blocks.insert_after_last("b", ["[[b]]\nm = 1\n"])
    assert blocks.text() == (
        'x = 1\n[[a]]\nn = { p = 1, q = "2", r = "3" }  # one\n\n'
        '# two\n[[b]]\n\n[[b]]\nm = 1\n\n[[a]]\nn = { q = "2", r = "3" }\n'
    )


lines = st.sampled_from(["C12 .05 mfd", "C12 .02 mfd", "C12 .033 mfd", "C12 .009 mfd", "C12 .007", "C12 paper"]) | (
    st.sampled_from(["V1 6BE6", "V1 12BE6", "R7 470K", "R7 475K", "R7 1 meg", "T1 filter 52-1", "T1 filter 52-2"])
)
a_list = st.lists(lines, min_size=1, max_size=5).map("\n".join)


@given(a_list, a_list, st.sampled_from(["Early", "Late", "Other"]), st.booleans())
def test_whatever_the_lists_say_the_result_passes_the_reader(one, other, label, thousand):
    text = FAMILY.replace('kind = "radio"', 'kind = "radio"\nm_means_thousand = true') if thousand else FAMILY
    text = text.replace('states = [".05 mfd", ".02 mfd"]', 'states = [".05 mfd", ".02 mfd", "absent"]')
    extension, family = extended(text, (label, one), ("New", other))
    before = read_family(text.encode()).family
    for version in before.versions:
        after = next(one for one in family.versions if one.id == version.id)
        assert dict(version.states).items() <= dict(after.states).items()
    for feature in before.features:
        assert family.feature(feature.id).states[: len(feature.states)] == feature.states
    again, _ = extended(extension.text, (label, one), ("New", other))
    assert again.text == extension.text
