"""Bench screens: what is asked, in which order, and what is never asked."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from setwright.files import read_family, read_set
from setwright.identity import Observation
from setwright.identity.model import ACCESSES
from setwright.identity.quick import quick_identify
from setwright.workbench.sets.bench.screens import AT_ONCE, access_of, first_access, screen_of, slug_of

CAST = Path(__file__).parents[2] / "cast"


@pytest.fixture(scope="module")
def heron():
    family = read_family(CAST / "heron.toml").family
    return family, read_set(CAST / "bench-1.toml", family).set


def answered(family, bench):
    return quick_identify(family, bench)


def test_the_most_telling_stands_first_and_what_was_seen_is_asked_no_more(plover) -> None:
    family, bench, _ = plover
    bench = replace(bench, observations=(), open_to="underside")
    answer = answered(family, bench)
    worth = {look.feature: look.bits for look in answer.next}
    proposed = {feature for batch in answer.batches for feature in batch.features}
    for access in ("outside", "back off", "underside"):
        screen = screen_of(family, bench, answer, access)
        asked = [look.feature for look in (*screen.looks, *screen.more)]
        assert set(asked) == {f.id for f in family.features if f.access == access}
        ranks = [(name not in proposed, -worth.get(name, 0.0)) for name in asked]
        assert ranks == sorted(ranks)
        assert len(screen.looks) <= AT_ONCE
    first = screen_of(family, bench, answer, "outside").looks[0]
    seen = replace(bench, observations=(Observation(first.feature, None, cannot_tell=True),))
    screen = screen_of(family, seen, answer, "outside")
    assert first.feature not in {look.feature for look in (*screen.looks, *screen.more)}
    assert [(row.feature, row.words, row.number) for row in screen.seen] == [(first.feature, "cannot tell", 0)]


def test_a_screen_leads_nobody_to_a_state(heron) -> None:
    family, bench = heron
    screen = screen_of(family, replace(bench, observations=()), answered(family, bench), "back off")
    for look in screen.looks:
        assert look.states == family.feature(look.feature).all_states, "in the order of the file, not of likelihood"


def test_cautions_stand_on_every_screen_that_sends_a_hand_inside(heron) -> None:
    family, bench = heron
    answer = answered(family, bench)
    for access in ACCESSES:
        if access != "lead lifted":
            assert bool(screen_of(family, bench, answer, access).cautions) is (access != "outside")


def test_what_destroys_evidence_has_no_screen(heron) -> None:
    assert access_of("lead-lifted") is None
    assert access_of("nowhere") is None
    assert [access_of(slug_of(access)) for access in ACCESSES[:-1]] == [*ACCESSES[:-1]]
    family, bench = heron
    lifted = tuple(replace(f, access="lead lifted") for f in family.features)
    screen = screen_of(replace(family, features=lifted), bench, answered(family, bench), "outside")
    assert [level.access for level in screen.levels] == ["outside"]
    assert screen.looks == screen.more == ()


def test_it_begins_at_what_is_open_now(heron) -> None:
    family, bench = heron
    nothing = replace(bench, observations=(), open_to="back off")
    assert first_access(family, nothing, answered(family, nothing)) in {"outside", "back off"}
    seen = [Observation(f.id, f.states[0]) for f in family.features if f.access in {"outside", "back off"}]
    deeper = replace(bench, observations=tuple(seen), open_to="back off")
    assert first_access(family, deeper, answered(family, deeper)) in {"chassis out", "underside", "back off"}


def test_a_set_that_is_not_open_so_far_is_told_how_long_it_takes(heron) -> None:
    family, bench = heron
    screen = screen_of(family, bench, answered(family, bench), "chassis out")
    assert (screen.open_now, screen.opening, screen.opened) == (False, "25 minutes", "The chassis is out")
    assert screen_of(family, bench, answered(family, bench), "back off").opening == ""


def test_the_last_observation_of_a_feature_is_the_one_to_change(heron) -> None:
    family, bench = heron
    twice = replace(bench, observations=(*bench.observations, Observation("label", "stamped over", written="x")))
    rows = screen_of(family, twice, answered(family, bench), "back off").seen
    assert {row.feature: row.number for row in rows}["label"] == len(twice.observations) - 1


def test_a_set_of_a_known_line_is_asked_only_what_its_line_has(heron) -> None:
    family, bench = heron
    only = tuple(replace(f, lines=("export",)) if f.id == "knobs" else f for f in family.features)
    family = replace(family, features=only)
    bench = replace(bench, observations=(), line="main", serial=None)
    asked = screen_of(family, bench, answered(family, bench), "outside")
    assert "knobs" not in {look.feature for look in asked.looks}
