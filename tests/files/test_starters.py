"""Starter files pass the readers as they are written."""

import re

import pytest

from setwright.files import FileProblems, read_family, read_set
from setwright.files.starters import family_starter, set_starter
from setwright.identity import identify

FAMILY = """\
format = "setwright-family/1"
id = "heron-7"
name = "Heron 7"
kind = "television"
[[feature]]
id = "tube"
access = "back off"
permanence = "plugged"
states = ["6SB7Y", "6BE6"]
[[feature]]
id = "stamp"
label = "Letter stamped on the rear of the chassis, beside the aerial terminals, above the maker's label, half hidden"
access = "outside"
permanence = "stamped"
states = ["A", "B"]
[[version]]
id = "early"
states = { tube = "6SB7Y", stamp = "A" }
[[version]]
id = "late"
states = { tube = "6BE6", stamp = "B" }
"""


def test_the_family_starter_passes_and_explains_every_key():
    text = family_starter()
    family = read_family(text.encode()).family
    assert {feature.permanence for feature in family.features} == {
        "stamped",
        "riveted",
        "soldered",
        "plugged",
        "consumable",
    }
    for word in ("outside", "lead lifted", "strongest", "weakest", "absent", "serial_block", "cutin", "470M"):
        assert word in text


def test_the_starters_go_together_and_give_an_answer():
    family = read_family(family_starter().encode()).family
    bench = read_set(set_starter().encode(), family).set
    answer = identify(family, bench)
    assert sum(entry.probability for entry in answer.verdict) == pytest.approx(1)


def test_a_set_starter_for_a_family_lists_its_features_the_easiest_first():
    family = read_family(FAMILY.encode()).family
    text = set_starter(family)
    assert read_set(text.encode(), family).set.observations == ()
    assert text.index('feature = "stamp"') < text.index('feature = "tube"')
    assert text.index("CAUTION") < text.index('feature = "tube"')
    assert "implode" in text
    assert '"6SB7Y", "6BE6"' in text


def test_within_one_access_the_strongest_evidence_comes_first():
    text = set_starter(read_family(FAMILY.replace('access = "outside"', 'access = "back off"').encode()).family)
    assert text.index('feature = "stamp"') < text.index('feature = "tube"')


def test_a_remark_taken_away_and_a_state_put_in_is_an_observation():
    family = read_family(FAMILY.encode()).family
    text = set_starter(family)
    filled, count = re.subn(r'# (\[\[observation\]\]\n)# (feature = "tube"\n)# state = ""', r'\1\2state = "6BE6"', text)
    assert count == 1
    assert read_set(filled.encode(), family).set.observations[0].state == "6BE6"
    empty = re.sub(r"# (\[\[observation|feature =|state =)", r"\1", text)
    with pytest.raises(FileProblems):
        read_set(empty.encode(), family)
