"""What an observation changed, in sentences: chosen answers, and real ones before and after."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from setwright.files import read_family, read_set
from setwright.identity import Answer, Observation
from setwright.identity.answer import Interval, Method, ObservationAnswer
from setwright.identity.quick import quick_identify
from setwright.workbench.sets.bench.told import looked_at
from setwright.workbench.sets.bench.what_changed import LEFT_ASIDE, UNMOVED, what_changed


@pytest.fixture(scope="module")
def heron():
    from pathlib import Path

    cast = Path(__file__).parents[2] / "cast"
    family = read_family(cast / "heron.toml").family
    return family, read_set(cast / "bench-1.toml", family).set


@pytest.fixture(scope="module")
def answer(heron) -> Answer:
    return quick_identify(*heron)


def with_verdict(answer: Answer, *probabilities: float) -> Answer:
    """The first possibilities with these probabilities, in reading order."""
    entries = [replace(entry, probability=p) for entry, p in zip(answer.verdict, probabilities, strict=False)]
    return replace(answer, verdict=tuple(sorted(entries, key=lambda entry: -entry.probability)))


def text(*sentences: str) -> list[str]:
    return [sentence.replace("\N{NO-BREAK SPACE}", " ") for sentence in sentences]


def test_the_same_answer_tells_that_nothing_moves(heron, answer: Answer) -> None:
    assert what_changed(heron[0], answer, answer) == (UNMOVED,)


def test_a_feature_that_no_document_mentions_is_left_to_the_full_answer(plover) -> None:
    family, bench, survivors = plover
    seen = replace(bench, observations=(*bench.observations, Observation("knob-inserts", "painted")))
    answers = quick_identify(family, bench, survivors), quick_identify(family, seen, survivors)
    assert what_changed(family, *answers, feature="knob-inserts") == (LEFT_ASIDE,)
    assert what_changed(family, answers[0], answers[0], feature="rear-stamp") == (UNMOVED,)


def test_a_verdict_that_gains_is_told_from_and_to(heron, answer: Answer) -> None:
    before, after = with_verdict(answer, 0.62, 0.38), with_verdict(answer, 0.91, 0.09)
    told = text(*what_changed(heron[0], before, after))
    assert told[0].endswith(": 62 % → 91 %.")
    assert told[0][0].isupper()
    assert len(told) == 1


def test_another_verdict_is_told_with_the_one_that_led_before(heron, answer: Answer) -> None:
    before, after = with_verdict(answer, 0.7, 0.3), with_verdict(answer, 0.2, 0.8)
    told = text(*what_changed(heron[0], before, after))
    assert told[0].startswith("Now most probably ")
    assert told[0].endswith(": 30 % → 80 %.")
    assert told[1].endswith(" led: 70 % → 20 %.")


def test_a_range_is_told_once_it_moved_and_its_own_feature_first(heron, answer: Answer) -> None:
    def narrowed(change):
        cut = change.cut_in
        return replace(change, cut_in=replace(cut, low=cut.low + 0.4 * (cut.high - cut.low)))

    after = replace(answer, changes=tuple(narrowed(change) for change in answer.changes))
    told = what_changed(heron[0], answer, after, feature="tone-capacitor")
    assert len(told) == 2, "no more than two"
    assert told[0].startswith("Tone control capacitor, cut-in of 0.0047 uF now ")
    assert "(before, " in told[0]
    slightly = replace(
        answer,
        changes=tuple(replace(c, cut_in=replace(c.cut_in, low=c.cut_in.low + 1e-9)) for c in answer.changes),
    )
    assert what_changed(heron[0], answer, slightly) == (UNMOVED,)


def test_where_histories_are_drawn_small_movements_are_chance(heron, answer: Answer) -> None:
    drawn = replace(answer, method=Method("weighted", 200, 150.0, 0, 64))
    cut = drawn.serial
    after = replace(drawn, serial=replace(cut, low=cut.low + 0.2 * (cut.high - cut.low)))
    assert what_changed(heron[0], drawn, after) == (UNMOVED,)
    exact = replace(after, method=answer.method)
    assert what_changed(heron[0], answer, exact)[0].startswith("It now stands at ")


def test_what_does_not_fit_and_what_explains_nothing_is_told(heron, answer: Answer) -> None:
    odd = ObservationAnswer("converter", "6BE6", -12.0, 0.8, 0.1)
    after = replace(answer, observations=(odd,), misfit_p_value=0.001)
    told = text(*what_changed(heron[0], replace(answer, misfit_p_value=0.4), after, feature="converter"))
    assert told[0] == "Converter tube does not fit the rest: probably altered since the factory (80 %)."
    assert told[1] == "Take care: no documented history explains the set any more."
    assert "explains the set again" in " ".join(what_changed(heron[0], after, replace(answer, misfit_p_value=0.4)))


def test_a_group_and_a_condition_that_turn_are_told(plover, full_answer: Answer) -> None:
    before = replace(full_answer, groups=(), condition={"untouched": 0.8, "repaired": 0.1, "heavily rebuilt": 0.1})
    after = replace(full_answer, condition={"untouched": 0.1, "repaired": 0.2, "heavily rebuilt": 0.7})
    told = text(*what_changed(plover[0], before, after))
    assert "The cabinet most probably came from another set: 0 % → 93 %." in told
    assert "As a whole it now looks heavily rebuilt (70 %)." in told


@settings(max_examples=15)
@given(state=st.sampled_from(["printed", "stamped over", "something else"]), sure=st.sampled_from(["certain", "guess"]))
def test_any_observation_is_told_in_whole_sentences(heron, state: str, sure: str) -> None:
    family, bench = heron
    before = quick_identify(family, replace(bench, observations=()))
    seen = replace(bench, observations=(Observation("label", state, sure=sure),))
    told = what_changed(family, before, quick_identify(family, seen), feature="label")
    assert told
    assert all(sentence.endswith(".") and sentence[0].isupper() for sentence in told)
    assert len(set(told)) == len(told)


def test_what_was_looked_at_is_what_counts_differently(heron) -> None:
    bench = heron[1]
    assert looked_at(bench, bench) is None
    fewer = replace(bench, observations=bench.observations[1:])
    assert looked_at(bench, fewer) == looked_at(fewer, bench) == bench.observations[0].feature
    again = replace(bench, observations=(*bench.observations, Observation("converter", "6SA7")))
    assert looked_at(bench, again) == "converter"


def test_ranges_of_no_width_move_when_they_move(heron, answer: Answer) -> None:
    at = Interval(100.0, 100.0, 100.0, 0.9)
    before, after = replace(answer, serial=at), replace(answer, serial=Interval(101.0, 101.0, 101.0, 0.9))
    assert what_changed(heron[0], before, after)[0] == "It now stands at H101 (before, H100)."
