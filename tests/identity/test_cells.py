"""The cell rule: twice the cells move no probability by more than 0.005."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from calibration import PERMANENCES, family

from setwright.identity import BenchSet, Family, identify
from setwright.identity.model import CutInBound, Feature, Line, Version
from setwright.identity.simulate import bench_set_of, draw_production, draw_sets, survivors_of

MOST_MOVED = 0.005


def probabilities(answer):
    figures = {("verdict", entry.line, entry.label): entry.probability for entry in answer.verdict}
    figures |= {("applied", change.id): change.applied_probability for change in answer.changes}
    figures |= {("condition", condition): p for condition, p in answer.condition.items()}
    for o in answer.observations:
        figures["altered", o.feature], figures["misread", o.feature] = o.altered_probability, o.misread_probability
    for prediction in answer.predicted:
        figures |= {("built", prediction.feature, state): p for state, p in prediction.states.items()}
    return figures


def moved(seed, with_serial):
    """The largest difference that doubling the cells makes for one random production and set."""
    rng = np.random.default_rng([512, seed])
    serials = int(rng.choice([700, 5_000, 60_000, 300_000]))
    production = draw_production(replace(family(), last_serial=serials), rng)
    survivors = survivors_of(draw_sets(production, int(rng.choice([0, 5, 40])), rng, not_seen=0.3))
    held_out = draw_sets(production, 1, rng, not_seen=float(rng.choice([0.1, 0.5, 0.8])))
    bench = bench_set_of(held_out, 0, with_serial=with_serial)
    usual = identify(production.family, bench, survivors, exact=True)
    double = identify(production.family, bench, survivors, exact=True, cells=2 * usual.method.cells)
    first, second = probabilities(usual), probabilities(double)
    return max(abs(first[key] - second[key]) for key in first)


@pytest.mark.parametrize("with_serial", [True, False])
@pytest.mark.parametrize("seed", range(6))
def test_doubling_the_cells_moves_nothing(seed, with_serial):
    assert moved(seed, with_serial) <= MOST_MOVED


@pytest.mark.slow
@pytest.mark.parametrize("with_serial", [True, False])
@pytest.mark.parametrize("part", range(4))
def test_doubling_the_cells_moves_nothing_in_many_cases(part, with_serial):
    assert max(moved(seed, with_serial) for seed in range(100 + 10 * part, 110 + 10 * part)) <= MOST_MOVED


def uneven_family(rng):
    """Any length of run, one to six blocks of one to eight changes, one line or two."""
    last = int(np.exp(rng.uniform(np.log(600), np.log(300_000))))
    sizes = rng.integers(1, 9, size=rng.integers(1, 7))
    owners = np.repeat(np.arange(len(sizes)), sizes)
    features = [
        Feature(f"f{i}", f"F{i}", ("old", "new"), permanence=str(rng.choice(list(PERMANENCES))))
        for i in range(len(owners))
    ]
    lines = ("main", "export") if rng.random() < 0.3 else ("main",)
    orders = {"main": ("first", "second", "third"), "export": ("first", "second", "first")}
    versions = [
        Version(
            f"{line}-{number}",
            f"{line} {number}",
            line,
            {f"f{i}": "new" if owner < number else "old" for i, owner in enumerate(owners)}
            | {"three": orders[line][min(number, 2)]},
        )
        for line in lines
        for number in range(len(sizes) + 1)
    ]
    return Family(
        "uneven",
        "Uneven",
        (*features, Feature("three", "Three", ("first", "second", "third"))),
        tuple(versions),
        lines=tuple(Line(line) for line in lines),
        last_serial=last,
    )


def with_what_is_legible(bench, rng):
    """The whole serial, all but one character of it, or nothing."""
    serial, choice = bench.serial, int(rng.integers(3))
    if choice == 0:
        return BenchSet(bench.id, bench.family, None, bench.line, observations=bench.observations)
    at = int(rng.integers(len(serial)))
    partly = serial[:at] + "?" + serial[at + 1 :]
    return BenchSet(
        bench.id, bench.family, serial if choice == 1 else partly, bench.line, observations=bench.observations
    )


def moved_in_an_uneven_case(seed):
    rng = np.random.default_rng([6, seed])
    made = uneven_family(rng)
    production = draw_production(made, rng)
    survivors = survivors_of(draw_sets(production, int(rng.integers(0, 41)), rng, sureness=(0.7, 0.2, 0.1)))
    held_out = draw_sets(production, 1, rng, not_seen=float(rng.uniform(0.1, 0.9)), sureness=(0.7, 0.2, 0.1))
    if rng.random() < 0.3:
        before = min(production.cut_ins["main:f0:1"] + int(rng.integers(500)), made.last_serial)
        made = replace(made, cut_in_bounds=(CutInBound("f0", "old", "new", before=before),))
    bench = with_what_is_legible(bench_set_of(held_out, 0, with_line=bool(rng.random() < 0.5)), rng)
    usual = identify(made, bench, survivors, exact=True)
    double = identify(made, bench, survivors, exact=True, cells=2 * usual.method.cells)
    first, second = probabilities(usual), probabilities(double)
    return max(abs(first[key] - second[key]) for key in first)


@pytest.mark.parametrize("seed", range(10))
def test_doubling_the_cells_moves_nothing_in_uneven_families(seed):
    assert moved_in_an_uneven_case(seed) <= MOST_MOVED


@pytest.mark.slow
@pytest.mark.parametrize("part", range(4))
def test_doubling_the_cells_moves_nothing_in_many_uneven_families(part):
    assert max(moved_in_an_uneven_case(seed) for seed in range(100 + 15 * part, 115 + 15 * part)) <= MOST_MOVED
