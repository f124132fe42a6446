"""The look sheet: every look once, in the order of opening, with its cautions."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.identity import answer as parts
from setwright.identity.cautions import DEFER, cautions_for
from setwright.identity.look_sheet import is_open, look_sheet, opening_order
from setwright.identity.model import ACCESSES, BenchSet, Family, Feature, Observation

FAMILY = Family(
    id="f",
    name="F",
    features=tuple(
        Feature(f"{access.replace(' ', '-')}-{n}", f"The {access} {n}", ("a", "b"), access=access, minutes=float(n))
        for access in ACCESSES
        for n in (1, 2)
    ),
    versions=(),
    kind="television",
)


@pytest.fixture
def answer(full_answer: parts.Answer) -> parts.Answer:
    looks = tuple(parts.Look(f.id, 0.1 * f.minutes, 9.0, 0.01, f.access) for f in FAMILY.features)
    return replace(full_answer, next=looks, batches=(parts.Batch("back off", ("back-off-1",), 0.1, 6.0, 0.02, ()),))


@pytest.mark.parametrize(
    ("open_to", "order"),
    [
        ("outside", "outside, back off, chassis out, underside, powered, lead lifted"),
        ("back off", "outside, back off, chassis out, underside, powered, lead lifted"),
        ("underside", "outside, back off, chassis out, underside, powered, lead lifted"),
        ("powered", "outside, back off, powered, chassis out, underside, lead lifted"),
    ],
)
def test_what_is_open_comes_first_then_the_order_of_opening(open_to: str, order: str) -> None:
    assert ", ".join(opening_order(open_to)) == order


def test_a_sheet_holds_every_look_but_a_lifted_lead(answer: parts.Answer) -> None:
    sheet = look_sheet(FAMILY, BenchSet("s", "f", open_to="back off"), answer)
    assert [step.access for step in sheet.steps] == ["outside", "back off", "chassis out", "underside", "powered"]
    assert [step.open_now for step in sheet.steps] == [True, True, False, False, False]
    assert sheet.left_alone == ("The lead lifted 1", "The lead lifted 2")
    assert sheet.closing == DEFER
    assert sheet.count == 10


def test_each_step_has_its_cautions_and_what_opening_costs_from_the_step_before(answer: parts.Answer) -> None:
    sheet = look_sheet(FAMILY, BenchSet("s", "f", open_to="back off"), answer)
    for step in sheet.steps:
        assert step.cautions == cautions_for(step.access, "television")
    assert [step.opening for step in sheet.steps] == [0.0, 0.0, 25.0, 5.0, 15.0]
    assert sheet.steps[2].minutes == 28.0


def test_within_a_step_what_tells_most_comes_first(answer: parts.Answer) -> None:
    step = look_sheet(FAMILY, BenchSet("s", "f"), answer).steps[1]
    assert [(look.feature, look.proposed) for look in step.looks] == [("back-off-2", False), ("back-off-1", True)]


def test_looks_that_tell_next_to_nothing_get_no_boxes(answer: parts.Answer) -> None:
    slight = replace(answer, next=tuple(replace(look, bits=0.001) for look in answer.next))
    sheet = look_sheet(FAMILY, BenchSet("s", "f"), slight)
    assert sheet.count == 0
    assert [look.feature for look in sheet.steps[0].slight] == ["outside-1", "outside-2"]


def test_a_set_is_not_opened_for_next_to_nothing(answer: parts.Answer) -> None:
    little = replace(answer, next=tuple(replace(look, bits=0.02) for look in answer.next))
    sheet = look_sheet(FAMILY, BenchSet("s", "f", open_to="back off"), little)
    assert [(step.access, len(step.looks)) for step in sheet.steps if step.looks] == [("outside", 2), ("back off", 2)]
    inside = replace(little, next=tuple(replace(look, bits=0.03) for look in little.next if look.access != "back off"))
    sheet = look_sheet(FAMILY, BenchSet("s", "f"), inside)
    opened = {step.access: step.opening for step in sheet.steps if step.looks}
    assert opened == {"outside": 0.0, "chassis out": 30.0, "underside": 5.0, "powered": 15.0}


def test_a_lifted_lead_that_was_seen_is_not_named(answer: parts.Answer) -> None:
    seen = BenchSet("s", "f", observations=(Observation("lead-lifted-1", "a"),))
    assert look_sheet(FAMILY, seen, answer).left_alone == ("The lead lifted 2",)


@given(st.sampled_from(ACCESSES), st.sampled_from(ACCESSES))
def test_nothing_closed_stands_before_what_is_open(open_to: str, access: str) -> None:
    order = opening_order(open_to)
    assert sorted(order) == sorted(ACCESSES)
    opened = [is_open(each, open_to) for each in order]
    assert opened == sorted(opened, reverse=True)
    assert is_open(access, access)
