"""Features learnt from the columns of a table of survivors."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from setwright.files import read_family, read_survivors
from setwright.files.learning import LearntFeature, feature_table, learn_features
from setwright.files.partslists.proposals import quoted_toml
from setwright.identity.model import ACCESSES, PERMANENCES, Family

HEAD = 'format = "setwright-family/1"\nid = "f"\nname = "F"\nkind = "radio"\n'


def learnt(columns: Mapping[str, Sequence[str]], name: str) -> LearntFeature:
    return next(one for one in learn_features(columns).features if one.column == name)


def reason(columns: Mapping[str, Sequence[str]], name: str) -> str:
    return dict(learn_features(columns).passed_over)[name]


def family_of(features: Sequence[LearntFeature]) -> Family:
    """The proposals as a family file, read."""
    text = HEAD
    for feature in features:
        text += "[[feature]]\n"
        for key, value in feature_table(feature).items():
            shown = f"[{', '.join(map(quoted_toml, value))}]" if isinstance(value, list) else quoted_toml(value)
            text += f"{key} = {shown if not isinstance(value, float) else value}\n"
    return read_family(text.encode()).family


def test_text_becomes_states_in_the_order_of_their_serials() -> None:
    columns = {
        "id": list("abcdef"),
        "serial": ["9000", "8000", "200", "100", "7500", ""],
        "tube chart": ["paper", "paper", "foil", "foil", "paper", "foil"],
    }
    feature = learnt(columns, "tube chart")
    assert feature.shown == (("foil", 3), ("paper", 3))
    assert (feature.id, feature.label) == ("tube-chart", "Tube chart")
    assert feature.notes == ()


def test_without_serials_the_order_is_said_to_be_open() -> None:
    feature = learnt({"lamp": ["one", "two", "two", "two", "one"]}, "lamp")
    assert feature.shown == (("two", 3), ("one", 2))
    assert "the table does not tell in which order the states came" in feature.notes


def test_values_become_numeric_states_however_they_are_written() -> None:
    feature = learnt({"C40": [".02 mfd", "20 nF", ".02 mfd", "4700 pF", ".0047 mfd", "absent", "?"]}, "C40")
    assert feature.unit == "F"
    assert dict(feature.shown) == {".02 mfd": 3, "4700 pF": 2, "absent": 1}
    assert feature.part == "C40"
    assert (feature.access, feature.permanence, feature.guessed) == ("underside", "consumable", False)
    assert feature.tolerance is None


def test_values_that_lie_close_get_a_narrower_tolerance() -> None:
    feature = learnt({"R5": ["470k", "470k", "560k", "560k"]}, "R5")
    assert feature.tolerance == 0.05
    assert "tolerance is 0.05" in " ".join(feature.notes)
    assert family_of([feature]).features[0].values == (470e3, 560e3)


def test_values_that_run_into_each_other_are_no_states() -> None:
    cells = [f"{value} ohms" for value in range(1000, 1100, 5) for _ in range(2)]
    assert "run into each other" in reason({"R1": cells}, "R1")


def test_a_rare_value_joins_the_state_it_is_near_or_is_left_out_between_two() -> None:
    feature = learnt({"R5": ["100k"] * 3 + ["220k"] * 3 + ["110k", "140k"]}, "R5")
    assert dict(feature.shown) == {"100k": 4, "220k": 3}
    assert '"140k" will count as something not listed' in feature.notes


def test_bare_numbers_are_words_and_not_values() -> None:
    assert learnt({"holes": ["2", "2", "4", "4", "4"]}, "holes").unit is None


def test_slips_of_the_pen_are_told_and_not_made_states() -> None:
    feature = learnt({"V1": ["6BE6"] * 4 + ["6SA7"] * 3 + ["6be-6", "6BF6"]}, "V1")
    assert dict(feature.shown) == {"6BE6": 6, "6SA7": 3}
    assert '"6BF6" is taken for "6BE6"' in feature.notes
    assert '"6be-6" is taken for "6BE6"' in feature.notes


def test_a_near_word_that_several_sets_show_is_a_state_of_its_own() -> None:
    feature = learnt({"V1": ["6BE6"] * 4 + ["6BA6"] * 3}, "V1")
    assert dict(feature.shown) == {"6BE6": 4, "6BA6": 3}


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        (["brown"] * 5, "every set shows"),
        (["", "?", "n/a"], "no set shows anything"),
        ([f"remark {n} on {n * 7}" for n in range(12)], "an entry of its own"),
        ([f"kind {n % 15}" for n in range(200)], "15 different entries"),
    ],
)
def test_columns_that_make_no_feature_are_named_with_the_reason(cells: list[str], words: str) -> None:
    assert words in reason({"column": cells}, "column")


def test_what_the_family_has_and_what_is_no_feature_is_passed_over_in_silence() -> None:
    family = family_of([learnt({"lamp": ["one", "two"] * 2}, "lamp")])
    columns = {
        name: ["a", "b"] * 3
        for name in ("id", "serial", "line", "note", "lamp", "x-photos", "part_date.speaker", "knob.sure", "stamp_date")
    }
    learning = learn_features(columns, family)
    assert (learning.features, learning.passed_over, learning.sets) == ((), (), 6)


def test_ids_are_free_and_free_columns_may_become_features() -> None:
    learning = learn_features({"x-Knob type": ["a", "b"] * 3, "knob type": ["c", "d"] * 3, "Line": ["p", "q"] * 3})
    assert [one.id for one in learning.features] == ["knob-type", "knob-type-2", "line-2"]


def test_a_name_that_tells_nothing_says_that_access_and_permanence_are_to_be_chosen() -> None:
    assert learnt({"oddity": ["a", "b"] * 2}, "oddity").guessed
    assert not learnt({"chassis label": ["a", "b"] * 2}, "chassis label").guessed
    assert learnt({"chassis label": ["a", "b"] * 2}, "chassis label").permanence == "stamped"


def test_over_four_states_are_a_variant_until_versions_name_them() -> None:
    feature = learnt({"cloth": list("abcde") * 4}, "cloth")
    assert feature.role == "variant"
    assert any("variant" in note for note in feature.notes)


def test_the_table_reads_against_the_features_learnt_from_it() -> None:
    rows = [("a", "12", "6BE6", ".02 mfd"), ("b", "40", "6SA7", "4700 pF"), ("c", "90", "6SA7", "20 nF")]
    columns = dict(zip(("id", "serial", "V1", "C40"), map(list, zip(*rows, strict=True)), strict=True))
    family = family_of(learn_features(columns).features)
    text = "id,serial,v1,c40\n" + "".join(",".join(row) + "\n" for row in rows)
    survivors = read_survivors(text.encode(), family).survivors
    states = {feature.id: feature.states for feature in family.features}
    assert [states["c40"][code // 3] for code in survivors.seen["c40"]] == ["20 nF", "4700 pF", "20 nF"]


_CELL = st.one_of(
    st.sampled_from(
        ["6BE6", "6SA7", "absent", "", "?", "470k", "500k", ".02 mfd", "20 nF", "=A1", "1-2-48", "other: x"]
    ),
    st.text(max_size=12),
)


@settings(max_examples=60)
@given(st.dictionaries(st.text(max_size=10), st.lists(_CELL, min_size=12, max_size=12), max_size=4))
def test_whatever_is_proposed_makes_a_family_that_can_be_read(columns: dict[str, list[str]]) -> None:
    learning = learn_features(columns)
    for feature in learning.features:
        assert feature.access in ACCESSES
        assert feature.permanence in PERMANENCES
        assert sum(feature.counts) <= 12
        assert not any(feature.column == name for name, _ in learning.passed_over)
    family = family_of(learning.features)
    assert [one.id for one in family.features] == [one.id for one in learning.features]
