"""Which features a quick look should note."""

from __future__ import annotations

from pathlib import Path

import pytest

from setwright.files import read_family
from setwright.identity.model import Family
from setwright.workbench.survivors.telling import telling_features

HEAD = 'format = "setwright-family/1"\nid = "f"\nname = "F"\nkind = "radio"\n'


def family(features: list[tuple[str, str, str]], versions: list[str]) -> Family:
    """features : id, access, permanence. versions : for each feature in turn the letter of its state, - for silent."""
    text = HEAD
    for name, access, permanence in features:
        text += (
            f'[[feature]]\nid = "{name}"\naccess = "{access}"\npermanence = "{permanence}"\nstates = ["a", "b", "c"]\n'
        )
    for number, letters in enumerate(versions):
        said = ", ".join(f'{features[n][0]} = "{c}"' for n, c in enumerate(letters) if c != "-")
        text += f'[[version]]\nid = "v{number}"\nstates = {{ {said} }}\n'
    return read_family(text.encode()).family


def ids(found: tuple) -> list[str]:
    return [feature.id for feature in found]


def test_what_parts_the_versions_comes_first_and_what_repeats_it_does_not() -> None:
    features = [
        ("x", "outside", "stamped"),
        ("same-as-x", "outside", "stamped"),
        ("y", "outside", "stamped"),
        ("still", "outside", "stamped"),
    ]
    found = telling_features(family(features, ["aaaa", "aaba", "bbaa", "bbba"]), 2)
    assert sorted(ids(found)) == ["x", "y"]


def test_a_lasting_feature_tells_more_than_one_that_is_often_replaced() -> None:
    features = [("knob", "outside", "consumable"), ("stamp", "outside", "stamped")]
    assert ids(telling_features(family(features, ["aa", "bb"]), 1)) == ["stamp"]


def test_what_a_picture_shows_comes_before_what_it_does_not() -> None:
    features = [("below", "underside", "stamped"), ("tube", "back off", "plugged")]
    assert ids(telling_features(family(features, ["aa", "bb"]), 1)) == ["tube"]
    assert ids(telling_features(family(features, ["aa", "bb"]), 3)) == ["below", "tube"]


@pytest.mark.parametrize("versions", [[], ["--"], ["a-"]])
def test_without_documents_the_most_lasting_come_first(versions: list[str]) -> None:
    features = [("knob", "outside", "consumable"), ("stamp", "outside", "stamped")]
    assert ids(telling_features(family(features, versions), 1)) == ["stamp"]


def test_of_the_cast() -> None:
    heron = read_family(Path(__file__).parent.parent.parent / "cast" / "heron.toml").family
    found = telling_features(heron)
    assert len(found) == 3
    assert {"label", "dial-lamp"} <= set(ids(found))
    assert all(feature.access in ("outside", "back off") for feature in found)
