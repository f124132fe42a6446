"""Identity finds out what the generator knows."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import pytest

from setwright.demo import FamilyScenario, generate
from setwright.files import read_set, read_survivors
from setwright.identity import Answer, BenchSet, Survivors, identify
from setwright.identity.assumptions import Assumptions

SEEDS = (1951, 1952, 1953)


@lru_cache(maxsize=4)
def inputs(seed: int) -> tuple[FamilyScenario, BenchSet, Survivors]:
    family = generate(seed).families[0]
    bench = read_set(family.set_file.encode(), family.family, "set").set
    return family, bench, read_survivors(family.survivors_file.encode(), family.family, "s", bench=bench).survivors


@lru_cache(maxsize=4)
def answer_of(seed: int) -> Answer:
    family, bench, survivors = inputs(seed)
    return identify(family.family, bench, survivors)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_transitional_set_is_recognised(seed: int) -> None:
    truth = inputs(seed)[0].bench
    leading = answer_of(seed).verdict[0]
    assert (leading.line, leading.between) == (truth.line, truth.between)
    assert leading.probability > 0.5


@pytest.mark.parametrize("seed", SEEDS)
def test_altered_parts_and_the_misreading_stand_out(seed: int) -> None:
    family = inputs(seed)[0]
    found = {o.feature: o for o in answer_of(seed).observations}
    for feature in family.bench.altered:
        usual = Assumptions().alteration_rate(family.family.feature(feature))
        assert found[feature].altered_probability > max(0.5, 3 * usual)
    assert family.bench.misread is not None
    assert found[family.bench.misread].misread_probability > 0.5
    suspects = {f for f, o in found.items() if o.altered_probability + o.misread_probability > 0.5}
    assert suspects == {*family.bench.altered, family.bench.misread, *family.bench.touched}


@pytest.mark.parametrize("seed", SEEDS)
def test_without_the_two_most_telling_observations_the_verdict_changes(seed: int) -> None:
    family, bench, survivors = inputs(seed)
    telling = sorted(answer_of(seed).observations, key=lambda o: -o.decibans)[:2]
    left = tuple(o for o in bench.observations if o.feature not in {t.feature for t in telling})
    assert len(left) == len(bench.observations) - 2
    after = identify(family.family, replace(bench, observations=left), survivors).verdict[0]
    before = answer_of(seed).verdict[0]
    assert (after.line, after.version, after.between) != (before.line, before.version, before.between)


@pytest.mark.parametrize("seed", SEEDS)
def test_there_is_something_left_to_look_at_and_no_lead_is_lifted(seed: int) -> None:
    answer = answer_of(seed)
    _, bench, _ = inputs(seed)
    assert answer.next
    assert all(look.access != "lead lifted" for look in answer.next)
    undecided = {o.feature for o in bench.observations if o.cannot_tell}
    assert not undecided & {look.feature for look in answer.next}


@pytest.mark.parametrize("seed", SEEDS)
def test_the_true_cut_ins_are_mostly_in_their_ranges(seed: int) -> None:
    family, answer = inputs(seed)[0], answer_of(seed)
    inside = [c.cut_in.low <= family.cut_ins[c.id] <= c.cut_in.high for c in answer.changes]
    # Ranges of 90 %; the changes of one production hang together, hence the room.
    assert sum(inside) / len(inside) > 0.7


@pytest.mark.parametrize("seed", SEEDS)
def test_the_table_radio_is_recognised(seed: int) -> None:
    family = generate(seed).families[1]
    bench = read_set(family.set_file.encode(), family.family, "set").set
    survivors = read_survivors(family.survivors_file.encode(), family.family, "s", bench=bench).survivors
    answer = identify(family.family, bench, survivors)
    assert answer.verdict[0].version == family.bench.version
    found = {o.feature: o for o in answer.observations}
    assert all(found[feature].altered_probability > 0.5 for feature in family.bench.altered)


@pytest.mark.slow
def test_most_other_seeds_do_as_well() -> None:
    """Survivors are altered and misread too, so the truth need not always lead; it mostly does."""
    right = changed = 0
    for seed in range(60):
        family, bench, survivors = inputs(seed)
        answer = identify(family.family, bench, survivors)
        right += answer.verdict[0].between == family.bench.between
        telling = {o.feature for o in sorted(answer.observations, key=lambda o: -o.decibans)[:2]}
        left = tuple(o for o in bench.observations if o.feature not in telling)
        after = identify(family.family, replace(bench, observations=left), survivors).verdict[0]
        changed += (after.line, after.between) != (answer.verdict[0].line, answer.verdict[0].between)
    assert right >= 54
    assert changed >= 54
