"""The demonstration's circuits compute, fit their families, and agree with their charts but for one misprint each."""

from __future__ import annotations

from functools import cache
from importlib.resources import files

import pytest

from setwright.circuits import Circuit, compare_chart, expect, expect_cold, for_set
from setwright.demo.scenario import PLANS
from setwright.files import read_family
from setwright.files.circuits.reading import read_circuit
from setwright.files.circuits.states import features_named, states_of
from setwright.files.readings import read_readings
from setwright.identity import BenchSet, Family, Observation

FOLDERS = [plan.folder for plan in PLANS]


def shipped(folder: str, name: str) -> bytes:
    return files("setwright.demo").joinpath(folder, name).read_bytes()


@cache
def read(folder: str) -> tuple[Family, Circuit]:
    family = read_family(shipped(folder, "family.toml"), folder).family
    return family, read_circuit(shipped(folder, "circuit.toml"), family, folder).circuit


@pytest.mark.parametrize("folder", FOLDERS)
def test_circuits_compute_within_their_tubes_ratings(folder: str) -> None:
    answer = expect(read(folder)[1])
    assert not [w for w in answer.warnings if "rating" in w]
    assert answer.supplies
    assert all(p.low <= p.value <= p.high for p in answer.points)
    assert expect_cold(read(folder)[1]).points


@pytest.mark.parametrize("folder", FOLDERS)
def test_printed_charts_agree_but_for_one_misprint(folder: str) -> None:
    circuit = read(folder)[1]
    rows = compare_chart(circuit, read_readings(shipped(folder, "chart.csv"), circuit, "chart").readings)
    off = [row for row in rows if row.comparison.misfit]
    assert len(rows) >= 10
    assert len(off) == 1
    assert "misprint" in off[0].reason


def test_the_television_has_twenty_tubes() -> None:
    circuit = read("lanternmoor")[1]
    assert len({t.ref for t in circuit.tubes}) >= 20
    assert any("Kilovolts" in caution for caution in expect(circuit).cautions)


@pytest.mark.parametrize("folder", FOLDERS)
def test_every_version_of_a_family_computes(folder: str) -> None:
    family, circuit = read(folder)
    assert features_named(circuit)
    seen = set()
    for version in family.versions_of(family.line_ids[0]):
        observations = tuple(
            Observation(f, version.states[f], written=version.states[f]) for f in features_named(circuit)
        )
        bench = BenchSet("x", family.id, observations=observations)
        fitted = for_set(circuit, states_of(circuit, family, bench, None))
        answer = expect(fitted.circuit)
        seen.add(round(answer.points[0].value, 3))
    assert len(seen) > 1, "what changes in production shows at some point"


def test_the_first_thimble_has_no_isolated_chassis() -> None:
    family, circuit = read("thimble")
    first = family.versions[0].states
    bench = BenchSet(
        "x", family.id, observations=tuple(Observation(f, first[f], written=first[f]) for f in features_named(circuit))
    )
    fitted = for_set(circuit, states_of(circuit, family, bench, None))
    assert "chassis" not in {p.point for p in expect(fitted.circuit).points}
    assert any("R10 is left out" in note for note in fitted.notes)
