"""What holds for every family, set and register, however odd."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from setwright.identity import Answer, BenchSet, Family, Observation, Survivors, identify
from setwright.identity.model import ABSENT, SURENESSES, CutInBound, Feature, Line, Version
from setwright.identity.simulate import OTHER_STATE, bench_set_of, draw_production, draw_sets, survivors_of

PERMANENCES = ("stamped", "riveted", "soldered", "plugged", "consumable")
CLOSE = 1e-9


@st.composite
def families(draw: st.DrawFn, most_lines: int, most_serials: int, plain: bool = True) -> Family:
    """Up to two lines, up to five versions each, any changes between them, there and back too; variants; bounds."""
    lines = tuple(Line(name) for name in ("main", "export")[: draw(st.integers(1, most_lines))])
    features = []
    for i in range(draw(st.integers(0, 6))):
        limited = len(lines) > 1 and draw(st.booleans())
        features.append(
            Feature(
                f"f{i}",
                f"F{i}",
                tuple(f"s{k}" for k in range(draw(st.integers(2, 4)))),
                access=draw(st.sampled_from(["outside", "back off", "underside", "powered"])),
                permanence=draw(st.sampled_from(PERMANENCES)),
                altered=draw(st.sampled_from([None, None, 0.001, 0.4, 0.9])),
                role=draw(st.sampled_from(["change", "change", "change", "variant"])),
                lines=("export",) if limited else None,
            )
        )
    versions = []
    for line in lines:
        for number in range(draw(st.integers(int(plain), 5))):
            states = {
                f.id: draw(st.sampled_from(f.all_states))
                for f in features
                if f.in_line(line.id) and f.role == "change" and (plain or draw(st.integers(0, 9)) > 0)
            }
            versions.append(Version(f"{line.id}-{number}", f"{line.id} {number}", line.id, states))
    last = draw(st.sampled_from([n for n in (1, 2, 3, 17, 90, 400, 3000, 250_000) if n <= most_serials]))
    return Family("family", "Family", tuple(features), tuple(versions), lines=lines, last_serial=last)


@st.composite
def cases(
    draw: st.DrawFn, most_lines: int = 2, most_serials: int = 250_000, plain: bool = True
) -> tuple[Family, BenchSet, Survivors]:
    """A family with sets of one of its productions: up to 25 survivors, and the set on the bench."""
    family = draw(families(most_lines, most_serials, plain))
    rng = np.random.default_rng(draw(st.integers(0, 10**6)))
    production = draw_production(family, rng, simultaneous=None)
    known = draw_sets(production, draw(st.integers(0, 25)), rng, sureness=(0.6, 0.3, 0.1), noticed=0.2)
    held_out = draw_sets(production, 1, rng, not_seen=draw(st.sampled_from([0.0, 0.4, 1.0])), noticed=0.2)
    bench = bench_set_of(held_out, 0, with_serial=draw(st.booleans()), with_line=draw(st.booleans()))
    return family, bench, survivors_of(known)


def is_probability(value: float) -> bool:
    return -1e-12 <= value <= 1.0 + 1e-9


def check_answer(answer: Answer) -> None:
    """Probabilities are probabilities, alternatives sum to 1, ranges are in order, nothing is not a number."""
    assert sum(entry.probability for entry in answer.verdict) == pytest.approx(1.0, abs=CLOSE)
    assert sum(answer.condition.values()) == pytest.approx(1.0, abs=CLOSE)
    assert sum(axis.probability for axis in answer.axes) == pytest.approx(1.0, abs=CLOSE)
    for entry in answer.verdict:
        assert is_probability(entry.probability)
        assert all(is_probability(p) for p in entry.applied.values())
    for change in answer.changes:
        assert is_probability(change.applied_probability)
        assert (change.mass >= 0.0).all()
        assert change.mass.sum() == pytest.approx(1.0, abs=CLOSE)
        assert change.cut_in.low <= change.cut_in.median <= change.cut_in.high
    for axis in answer.axes:
        assert (axis.position_mass >= 0.0).all()
        assert axis.position_mass.sum() == pytest.approx(1.0, abs=CLOSE)
        assert (np.diff(axis.edges) > 0).all()
    for seen in answer.observations:
        assert is_probability(seen.altered_probability)
        assert is_probability(seen.altered_probability + seen.misread_probability)
        assert math.isfinite(seen.decibans)
    for prediction in answer.predicted:
        assert sum(prediction.states.values()) == pytest.approx(1.0, abs=CLOSE)
        assert all(is_probability(p) for p in prediction.states.values())
    for look in answer.next:
        assert look.bits >= 0.0
        assert look.minutes > 0.0
    for batch in answer.batches:
        assert batch.bits >= 0.0
        assert len(set(batch.features)) == len(batch.features) > 0
    assert is_probability(answer.misfit_p_value)
    assert answer.serial.low <= answer.serial.median <= answer.serial.high


def figures(answer: Answer, names: dict[str, str] | None = None) -> dict[tuple, float]:
    """Every exact figure of an answer; `names` gives features other names."""
    names = names or {}

    def change(identifier: str) -> str:
        line, feature, number = identifier.split(":")
        return f"{line}:{names.get(feature, feature)}:{number}"

    table: dict[tuple, float] = {}
    for e in answer.verdict:
        table["verdict", e.line, e.version, e.between] = e.probability
    for c in answer.changes:
        table["applied", change(c.id)] = c.applied_probability
        for cell, mass in enumerate(c.mass):
            table["cut in", change(c.id), cell] = mass
    for o in answer.observations:
        feature = names.get(o.feature, o.feature)
        table["altered", feature], table["misread", feature] = o.altered_probability, o.misread_probability
    for p in answer.predicted:
        table |= {("built", names.get(p.feature, p.feature), s): value for s, value in p.states.items()}
    table |= {("condition", c): p for c, p in answer.condition.items()}
    return table


def same(first: dict[tuple, float], second: dict[tuple, float]) -> None:
    assert first.keys() == second.keys()
    for key, value in first.items():
        assert value == pytest.approx(second[key], abs=CLOSE), key


@pytest.mark.filterwarnings("error")
@settings(max_examples=150)
@given(cases())
def test_probabilities_are_probabilities(case: tuple[Family, BenchSet, Survivors]) -> None:
    check_answer(identify(*case, exact=True))


@pytest.mark.filterwarnings("error")
@settings(max_examples=40)
@given(cases(plain=False))
def test_probabilities_of_drawn_answers_are_probabilities(case: tuple[Family, BenchSet, Survivors]) -> None:
    check_answer(identify(*case, draws=100))


@settings(max_examples=40)
@given(cases(), st.randoms(use_true_random=False))
def test_names_and_order_of_features_do_not_matter(case: tuple[Family, BenchSet, Survivors], random) -> None:
    family, bench, survivors = case
    ids = [f.id for f in family.features]
    new = [f"renamed-{i}" for i in range(len(ids))]
    random.shuffle(new)
    names = dict(zip(ids, new, strict=True))
    features = [replace(f, id=names[f.id]) for f in family.features]
    random.shuffle(features)
    renamed = replace(
        family,
        features=tuple(features),
        versions=tuple(replace(v, states={names[f]: s for f, s in v.states.items()}) for v in family.versions),
    )
    observations = [replace(o, feature=names[o.feature]) for o in bench.observations]
    random.shuffle(observations)
    others = replace(survivors, seen={names[f]: codes for f, codes in survivors.seen.items()})
    same(
        figures(identify(family, bench, survivors, exact=True), names),
        figures(identify(renamed, replace(bench, observations=tuple(observations)), others, exact=True)),
    )


@settings(max_examples=40)
@given(cases(), st.integers(0, 10**6))
def test_the_order_of_survivors_does_not_matter(case: tuple[Family, BenchSet, Survivors], seed: int) -> None:
    family, bench, survivors = case
    order = np.random.default_rng(seed).permutation(len(survivors))
    shuffled = Survivors(
        tuple(survivors.ids[i] for i in order),
        survivors.line[order],
        survivors.position[order],
        {f: codes[order] for f, codes in survivors.seen.items()},
    )
    same(
        figures(identify(family, bench, survivors, exact=True)), figures(identify(family, bench, shuffled, exact=True))
    )


@settings(max_examples=40)
@given(cases(most_lines=1), st.sampled_from(["same in all versions", "variant"]))
def test_a_feature_nobody_saw_and_that_never_changes_changes_nothing(
    case: tuple[Family, BenchSet, Survivors], kind: str
) -> None:
    family, bench, survivors = case
    role = "variant" if kind == "variant" else "change"
    extra = Feature("extra", "Extra", ("one", "other"), role=role)
    versions = family.versions
    if role == "change":
        versions = tuple(replace(v, states={**v.states, "extra": "one"}) for v in versions)
    larger = replace(family, features=(*family.features, extra), versions=versions)
    before, after = (
        figures(identify(family, bench, survivors, exact=True)),
        figures(identify(larger, bench, survivors, exact=True)),
    )
    same(before, {key: value for key, value in after.items() if key[1] != "extra"})


@settings(max_examples=40, suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow])
@given(cases(most_lines=1, most_serials=90))
def test_a_change_nobody_saw_leaves_the_others_as_they_were(case: tuple[Family, BenchSet, Survivors]) -> None:
    """The verdict may change, for a set can now stand between two versions by the new change alone.

    Only on short axes, whose cells are single serials: elsewhere the new change has its say in where cells lie.
    """
    family, bench, survivors = case
    assume(len(family.versions) > 1)
    extra = Feature("extra", "Extra", ("one", "other"))
    versions = tuple(
        replace(v, states={**v.states, "extra": "one" if i == 0 else "other"}) for i, v in enumerate(family.versions)
    )
    before = identify(family, bench, survivors, exact=True)
    # Otherwise the new change would make a block of its own, and that does bear on the others.
    assume(any(change.block == 1 for change in before.changes))
    after = identify(
        replace(family, features=(*family.features, extra), versions=versions), bench, survivors, exact=True
    )

    def kept(answer: Answer) -> dict[tuple, float]:
        return {k: p for k, p in figures(answer).items() if k[0] != "verdict" and "extra" not in k[1]}

    same(kept(before), kept(after))


@settings(max_examples=30)
@given(cases(most_lines=1), st.integers(1, 10**6))
def test_where_serials_begin_does_not_matter(case: tuple[Family, BenchSet, Survivors], shift: int) -> None:
    family, bench, survivors = case
    moved = replace(family, first_serial=1 + shift, last_serial=family.last_serial + shift)
    there = replace(bench, serial=None if bench.serial is None else str(int(bench.serial) + shift))
    others = replace(survivors, position=survivors.position + shift)
    here, beyond = identify(family, bench, survivors, exact=True), identify(moved, there, others, exact=True)
    same(figures(here), figures(beyond))
    for one, other in zip(here.changes, beyond.changes, strict=True):
        assert other.cut_in.low - one.cut_in.low == shift


@settings(max_examples=30)
@given(cases())
def test_looking_without_being_able_to_tell_changes_nothing(case: tuple[Family, BenchSet, Survivors]) -> None:
    family, bench, survivors = case
    unseen = [f.id for f in family.features if f.id not in bench.latest]
    undecided = replace(
        bench,
        observations=(*bench.observations, *(Observation(f, None, cannot_tell=True) for f in unseen)),
    )
    before, after = identify(family, bench, survivors, exact=True), identify(family, undecided, survivors, exact=True)
    same(figures(before), figures(after))
    assert not {look.feature for look in after.next} & set(unseen)


ODD = {
    "no features": ((), ({}, {})),
    "one version": ((Feature("a", "A", ("x", "y")),), ({"a": "x"},)),
    "no version": ((Feature("a", "A", ("x", "y")),), ()),
    "variants only": ((Feature("a", "A", ("x", "y"), role="variant"),), ({}, {})),
    "one state": ((Feature("a", "A", ("x",)),), ({"a": "x"}, {"a": "x"})),
    "there and back": ((Feature("a", "A", ("x", "y")),), ({"a": "x"}, {"a": "y"}, {"a": "x"})),
    "absent at first": ((Feature("a", "A", (ABSENT, "y")),), ({"a": ABSENT}, {"a": "y"})),
}


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("last", [1, 2, 40, None])
@pytest.mark.parametrize("name", ODD)
def test_odd_families_have_answers(name: str, last: int | None) -> None:
    features, states = ODD[name]
    versions = tuple(Version(f"v{i}", f"V{i}", states=s) for i, s in enumerate(states))
    family = Family("family", "Family", features, versions, last_serial=last)
    for seen in (None, "x", "y", OTHER_STATE, ABSENT):
        for sure in SURENESSES:
            observations = tuple(Observation(f.id, seen, sure) for f in features) if seen else ()
            for serial in (None, "1"):
                check_answer(identify(family, BenchSet("b", "family", serial, observations=observations)))


@pytest.mark.filterwarnings("error")
@given(st.integers(1, 60), st.integers(0, 59))
def test_bounds_that_leave_one_serial(last: int, at: int) -> None:
    """In no set up to the one before, in every set from that serial on: the change is there and nowhere else."""
    at = at % last + 1
    features = (Feature("a", "A", ("x", "y")), Feature("b", "B", ("x", "y")))
    versions = (Version("v0", "V0", states={"a": "x", "b": "x"}), Version("v1", "V1", states={"a": "y", "b": "y"}))
    family = Family(
        "family",
        "Family",
        features,
        versions,
        last_serial=last,
        cut_in_bounds=(CutInBound("a", "x", "y", after=at - 1, before=at),),
    )
    for serial in (None, 1, last):
        answer = identify(family, BenchSet("s", "family", None if serial is None else str(serial)))
        check_answer(answer)
        (change,) = [c for c in answer.changes if c.feature == "a"]
        assert change.cut_in.low == change.cut_in.high == at
        if serial is not None:
            assert change.applied_probability == pytest.approx(float(serial >= at), abs=CLOSE)
