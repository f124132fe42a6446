"""The quick answer: plain families are answered as exactly as ever, others nearly so, and nothing is drawn."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from setwright.files import read_family, read_set, read_survivors
from setwright.identity import BenchSet, Family, Observation, identify
from setwright.identity.misfit import MISFIT_LIMIT
from setwright.identity.model import Feature, Line, Version
from setwright.identity.quick import WARNING, plain_family, quick_answer, quick_groundwork, quick_identify

CAST = Path(__file__).parent.parent / "cast"
VERSIONS = (Version("v1", "V 1", states={"stamp": "A"}), Version("v2", "V 2", states={"stamp": "B"}))


def leading(answer):
    entry = answer.verdict[0]
    return entry.line, entry.version, entry.between


def test_a_plain_family_is_answered_as_exactly_as_by_identify() -> None:
    family = read_family(CAST / "heron.toml").family
    bench = read_set(CAST / "bench-1.toml", family).set
    survivors = read_survivors(CAST / "survivors.csv", family, bench=bench).survivors
    quick, exact = quick_identify(family, bench, survivors), identify(family, bench, survivors, exact=True)
    assert quick.method.kind == "exact"
    assert leading(quick) == leading(exact)
    for one, other in zip(quick.verdict, exact.verdict, strict=True):
        assert one.probability == pytest.approx(other.probability, abs=0.02)
    assert quick.warnings[0] == WARNING


def test_what_asks_for_drawing_is_left_out(plover) -> None:
    family, bench, survivors = plover
    free = {f.id for f in family.features} - {f.id for f in plain_family(family).features}
    assert free == {"knob-inserts"}
    seen = replace(bench, observations=(*bench.observations, Observation("knob-inserts", "brass")))
    quick = quick_identify(family, seen, survivors)
    assert quick.method.kind == "exact"
    assert quick.method.draws is None
    assert "knob-inserts" not in {look.feature for look in quick.next}
    assert quick.groups == ()


def test_old_stock_and_shared_cut_ins_do_not_stand_in_the_way() -> None:
    stamp = Feature("stamp", "Stamp", ("A", "B"), permanence="stamped", overlap=40)
    versions = [
        Version(f"{line}-{state}", state, line, {"stamp": state}) for line in ("main", "trim") for state in "AB"
    ]
    family = Family(
        "f",
        "F",
        (stamp,),
        tuple(versions),
        lines=(Line("main"), Line("trim", shares_cutins_with="main")),
        first_serial=1,
        last_serial=400,
    )
    quick = quick_identify(family, BenchSet("b", "f", "200", "main", observations=(Observation("stamp", "B"),)))
    assert quick.method.kind == "exact"
    assert sum(entry.probability for entry in quick.verdict) == pytest.approx(1.0)
    assert quick.verdict[0].version == "main-B"


def test_groundwork_serves_whatever_is_seen_later(plover) -> None:
    """What was made before the looks gives the same answers as what is made anew for each, digit for digit."""
    family, bench, survivors = plover
    groundwork = quick_groundwork(family, survivors, bench.serial, bench.line)
    for count in range(len(bench.observations) + 1):
        seen = replace(bench, observations=bench.observations[:count])
        kept, anew = quick_answer(groundwork, seen), quick_identify(family, seen, survivors)
        assert kept.verdict == anew.verdict
        assert kept.observations == anew.observations
        assert (kept.next, kept.batches) == (anew.next, anew.batches)
        assert [change.cut_in for change in kept.changes] == [change.cut_in for change in anew.changes]
        assert kept.misfit_p_value == anew.misfit_p_value


def test_groundwork_is_that_of_one_serial(plover) -> None:
    family, bench, survivors = plover
    groundwork = quick_groundwork(family, survivors, bench.serial, bench.line)
    with pytest.raises(ValueError, match="another serial"):
        quick_answer(groundwork, replace(bench, serial=None))


def test_groundwork_is_settled_where_the_looks_make_no_difference_to_it() -> None:
    family = Family("f", "F", (Feature("stamp", "Stamp", ("A", "B")),), VERSIONS, last_serial=5000)
    assert quick_groundwork(family, None, "200").is_settled
    # Where the place is unknown a rougher answer says first where the cells belong.
    assert not quick_groundwork(family, None, None).is_settled
    # Where a version is silent on a change, histories are drawn.
    both = Feature("label", "Label", ("1", "2", "3"))
    states = ({"stamp": "A", "label": "1"}, {"label": "2"}, {"stamp": "B", "label": "3"})
    versions = tuple(Version(f"v{number}", f"V {number}", states=told) for number, told in enumerate(states))
    silent = replace(family, features=(*family.features, both), versions=versions)
    assert not quick_groundwork(silent, None, "200").is_settled


def test_a_misfit_is_told_and_its_causes_are_left_to_the_full_answer() -> None:
    names = [f"f{number}" for number in range(6)]
    features = tuple(Feature(name, name, ("A", "B"), permanence="riveted") for name in names)
    versions = tuple(Version(f"v{s}", s, states=dict.fromkeys(names, s)) for s in ("A", "B"))
    family = Family("f", "F", features, versions, last_serial=1000)
    odd = BenchSet("b", "f", "500", observations=tuple(Observation(n, "AB"[i % 2]) for i, n in enumerate(names)))
    apart = replace(odd, observations=tuple(Observation(n, "written in") for n in names))
    assert quick_identify(family, apart).misfit_p_value < MISFIT_LIMIT
    assert quick_identify(family, apart).misfit_suggestions == ()
    assert identify(family, apart).misfit_suggestions
