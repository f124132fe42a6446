"""The quick answer: plain families are answered as exactly as ever, others nearly so, and nothing is drawn."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from setwright.files import read_family, read_set, read_survivors
from setwright.identity import BenchSet, Family, Observation, identify
from setwright.identity.model import Feature, Line, Version
from setwright.identity.quick import WARNING, plain_family, quick_identify

CAST = Path(__file__).parent.parent / "cast"


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
