"""Letters to the owners of other sets: who is asked, what, and in which words."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from setwright.identity import answer as parts
from setwright.identity.cautions import cautions_for
from setwright.identity.letter import MOST_FEATURES, letters
from setwright.identity.model import ACCESSES, BenchSet, Family, Feature, Survivors

FAMILY = Family(
    id="f",
    name="Wren 4",
    features=tuple(
        Feature(f"{access.replace(' ', '-')}-{n}", f"The {access} {n}", ("a", "b"), access=access)
        for access in ACCESSES
        for n in range(1, 9)
    ),
    versions=(),
)
BENCH = BenchSet("s", "f", serial="4?7")
SURVIVORS = Survivors(
    ids=("one", "two", "three"),
    line=np.array([0, -1, 0]),
    position=np.array([812, -1, -1]),
    seen={},
    serial={2: "9??"},
)


def asking(answer: parts.Answer, *questions: tuple[str, str, float]) -> parts.Answer:
    access = {feature.id: feature.access for feature in FAMILY.features}
    return replace(answer, ask=tuple(parts.Question(name, f, bits, access[f]) for name, f, bits in questions))


@pytest.fixture
def answer(full_answer: parts.Answer) -> parts.Answer:
    return replace(full_answer, ask=())


def test_nobody_is_asked_where_nothing_would_tell(answer: parts.Answer) -> None:
    assert letters(FAMILY, BENCH, SURVIVORS, answer) == ()


def test_the_set_that_tells_most_comes_first(answer: parts.Answer) -> None:
    asked = asking(answer, ("one", "outside-1", 0.1), ("two", "outside-2", 0.3), ("one", "outside-3", 0.2))
    first, second = letters(FAMILY, BENCH, SURVIVORS, asked)
    assert (first.set, first.bits, first.features) == ("two", 0.3, ("outside-2",))
    assert (second.set, second.bits, second.features) == ("one", 0.2, ("outside-3", "outside-1"))


def test_a_set_is_named_with_what_is_known_of_its_serial(answer: parts.Answer) -> None:
    asked = asking(answer, *((name, "outside-1", 0.1) for name in SURVIVORS.ids))
    texts = {letter.set: letter.text(None) for letter in letters(FAMILY, BENCH, SURVIVORS, asked)}
    assert "Your set, listed as one, serial 812, is" in texts["one"]
    assert "Your set, listed as two, is" in texts["two"]
    assert "Your set, listed as three, serial 9??, is" in texts["three"]
    for text in texts.values():
        assert "the Wren 4 I have, serial 4?7 (I cannot read what stands at ? or *)" in text


@pytest.mark.parametrize(("serial", "words"), [("447", "I have, serial 447. "), (None, "I have, whose serial is not")])
def test_my_own_serial(answer: parts.Answer, serial: str | None, words: str) -> None:
    asked = asking(answer, ("one", "outside-1", 0.1))
    (letter,) = letters(FAMILY, replace(BENCH, serial=serial), SURVIVORS, asked)
    assert words in letter.text(None)


def test_only_easy_looks_are_asked_for_unless_stated(answer: parts.Answer) -> None:
    asked = asking(answer, *(("one", f"{access.replace(' ', '-')}-1", 0.1) for access in ACCESSES))
    (easy,) = letters(FAMILY, BENCH, SURVIVORS, asked)
    assert easy.features == ("outside-1", "back-off-1")
    (every,) = letters(FAMILY, BENCH, SURVIVORS, asked, accesses=ACCESSES)
    assert every.features == ("outside-1", "back-off-1", "chassis-out-1", "underside-1", "powered-1")
    assert "lead lifted" not in every.text()


def test_nobody_is_asked_to_open_a_set_and_cautions_go_with_the_deepest_look(answer: parts.Answer) -> None:
    (outside,) = letters(FAMILY, BENCH, SURVIVORS, asking(answer, ("one", "outside-1", 0.1)))
    assert "You need not open the set for this, nor switch it on" in outside.text(None)
    assert "usual cautions" not in outside.text(None)
    (inside,) = letters(FAMILY, BENCH, SURVIVORS, asking(answer, ("one", "back-off-1", 0.1)))
    assert "You need not open the set for this, nor switch it on" in inside.text(None)
    for caution in cautions_for("back off", FAMILY.kind):
        assert f"- {caution}" in inside.text(None)


def test_questions_stand_by_worth_under_their_access_with_their_states(answer: parts.Answer) -> None:
    worth = {"back-off-1": 0.5, "outside-1": 0.1, "outside-2": 0.3, "back-off-2": 0.2}
    asked = asking(answer, *(("one", feature, bits) for feature, bits in worth.items()))
    (letter,) = letters(FAMILY, BENCH, SURVIVORS, asked)
    lines = [line for line in letter.text(None).splitlines() if line[:1].isdigit()]
    assert lines == [
        "1. The outside 2: a, b, or something else?",
        "2. The outside 1: a, b, or something else?",
        "3. The back off 1: a, b, or something else?",
        "4. The back off 2: a, b, or something else?",
    ]
    assert "Under each heading, what helps most stands first." in letter.text(None)


def test_a_letter_stays_short_and_keeps_what_tells_most(answer: parts.Answer) -> None:
    asked = asking(answer, *(("one", f"outside-{n}", n / 10) for n in range(1, 9)))
    (letter,) = letters(FAMILY, BENCH, SURVIVORS, asked)
    assert letter.features == tuple(f"outside-{n}" for n in range(8, 8 - MOST_FEATURES, -1))


def test_plain_text_keeps_to_its_width_and_hangs_its_lists(full_answer: parts.Answer, plover) -> None:
    family, bench, survivors = plover
    for letter in letters(family, bench, survivors, full_answer, accesses=ACCESSES):
        wrapped = letter.text(60)
        assert max(map(len, wrapped.splitlines())) <= 60
        assert " ".join(wrapped.split()) == " ".join(letter.text(None).split())
    assert "\n  " in letters(family, bench, survivors, full_answer)[0].text(60)
