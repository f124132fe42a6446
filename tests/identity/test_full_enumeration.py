"""Answers of the full model agree with brute-force enumeration within four Monte Carlo standard errors.

The standard error of a probability p is taken as sqrt(p (1 - p) / n) + 0.001, with n the answer's effective draws; the
floor is there because what is improbable may hang on a few heavy draws. One whole draw more or less is allowed on top.
Each case runs as the engine chooses and once more in the kind of computation that it falls back on.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from enumeration_full import enumerate_all
from full_cases import CASES

from setwright.identity import identify

FLOOR = 1e-3
DRAWS = {None: 4000, "sampled": 600}
LEAST_EFFECTIVE = {"weighted": 200, "sampled": 30}
"""With fewer effective draws agreement within standard errors would say little."""


LIKE_OTHERS = {
    "serviced items",
    "gaps in the serials",
    "no last serial",
    "no serial at all",
    "a free feature of four states",
    "everything in two lines",
}
"""Cases that, once the sets are placed, ask no more of sampling than others do."""


@cache
def expected(name):
    return enumerate_all(*CASES[name].for_oracle())


def asked(name, force=None, seed=1):
    case = CASES[name]
    draws = DRAWS[force]
    return identify(case.family, case.bench_set(), case.register(), seed=seed, draws=draws, force=force)


class Closeness:
    """How near a probability must be to the exact one; collects what is farther off."""

    def __init__(self, effective):
        self.effective = effective
        self.failures = []

    def within(self, p, share=1.0):
        """Four standard errors of p, where only this share of the draws bears on it."""
        if self.effective is None:
            return 1e-9
        draws = self.effective * max(share, 1e-12)
        return 4.0 * (math.sqrt(max(p * (1.0 - p), 0.0) / draws) + FLOOR) + 1.0 / draws

    def check(self, what, got, exact, share=1.0):
        if not abs(got - exact) <= self.within(exact, share):
            self.failures.append(f"{what}: {got:.4f}, exactly {exact:.4f}, allowed {self.within(exact, share):.4f}")

    def check_decibans(self, what, got, exact, odds_of):
        """odds_of : the probabilities, with and without the observation, whose odds are compared."""
        if self.effective is None:
            allowed = 1e-7
        elif any(min(p, 1.0 - p) <= 2.0 * self.within(p) for p in odds_of):
            return
        else:
            allowed = 10.0 / math.log(10.0) * sum(self.within(p) / (p * (1.0 - p)) for p in odds_of) * 1.5
        if not abs(got - exact) <= allowed:
            self.failures.append(f"{what}: {got:.3f} decibans, exactly {exact:.3f}, allowed {allowed:.3f}")


def entry_key(entry):
    return (entry.line, entry.version if entry.between is None else entry.between)


def compare(answer, tables):
    """Everything the answer says that enumeration knows; what disagrees, one line each."""
    close = Closeness(answer.method.effective_draws)
    assert close.effective is None or close.effective >= LEAST_EFFECTIVE[answer.method.kind]
    compare_verdict(close, answer, tables)
    compare_set(close, answer, tables)
    compare_axes_and_changes(close, answer, tables)
    compare_free(close, answer, tables)
    compare_observations(close, answer, tables)
    return "\n".join(close.failures)


def compare_verdict(close, answer, tables):
    got = {entry_key(entry): entry for entry in answer.verdict}
    assert len(got) == len(answer.verdict)
    for key in got.keys() | tables.verdict.keys():
        p = tables.verdict.get(key, 0.0)
        close.check(f"verdict {key}", got[key].probability if key in got else 0.0, p)
        if key not in got or p < 0.05:
            continue
        for change, share in tables.entry_applied[key].items():
            close.check(f"{change} applied in {key}", got[key].applied[change], share, p)
        for feature, states in tables.entry_states[key].items():
            best, named = max(states.values()), states[got[key].states[feature]]
            close.check(f"{feature} of {key}, its most probable state", named, best, p / 2.0)


def compare_set(close, answer, tables):
    for name, p in tables.condition.items():
        close.check(name, answer.condition[name], p)
    for prediction in answer.predicted:
        for state, p in tables.states[prediction.feature].items():
            close.check(f"{prediction.feature} built {state}", prediction.states.get(state, 0.0), p)
    assert {group.group for group in answer.groups} == set(tables.groups)
    for group in answer.groups:
        compare_group(close, group, tables)


def compare_group(close, group, tables):
    p, places = tables.groups[group.group], tables.group_places[group.group]
    close.check(f"group {group.group} elsewhere", group.elsewhere_probability, p)
    if p < 0.05:
        return
    lines = {}
    for (line, _), mass in places.items():
        lines[line] = lines.get(line, 0.0) + mass
    close.check(f"line of group {group.group}", lines[group.line], max(lines.values()), p / 2.0)
    for end, level in ((group.serial.low, 0.05), (group.serial.median, 0.5), (group.serial.high, 0.95)):
        below, upto = (
            sum(mass for (line, s), mass in places.items() if line == group.line and s < end + more) / lines[group.line]
            for more in (-0.5, 0.5)
        )
        off = close.within(level, p * lines[group.line])
        if not below - off <= level <= upto + off:
            close.failures.append(f"group {group.group}: {end} holds {below:.3f} to {upto:.3f}, not {level}")


def compare_axes_and_changes(close, answer, tables):
    axes = {axis.line: axis for axis in answer.axes}
    assert axes.keys() == tables.lines.keys()
    for axis in answer.axes:
        line = tables.lines[axis.line]
        close.check(f"line {axis.line}", axis.probability, line)
        first = int(axis.edges[0]) + 1
        positions = [tables.positions[axis.line].get(s, 0.0) for s in range(first, int(axis.edges[-1]) + 1)]
        compare_cells(close, f"position on {axis.line}", axis.position_mass, positions, axis.edges, line)
    documented = [change for change in answer.changes if change.block is not None]
    assert {change.id for change in documented} == set(tables.cut_in)
    for change in documented:
        line = tables.lines[change.line]
        close.check(f"{change.id} applied", change.applied_probability, tables.applied[change.id], line)
        edges = axes[change.line].edges
        compare_cells(close, f"{change.id} cut in at", change.mass, tables.cut_in[change.id], edges, line)


def compare_cells(close, what, mass, exact, edges, share):
    """mass : by cell. exact : by position."""
    assert len(exact) == edges[-1] - edges[0]
    assert len(mass) == len(edges) - 1
    for got, low, high in zip(mass, edges, edges[1:], strict=False):
        close.check(f"{what} {low + 1}-{high}", got, float(np.sum(exact[low - edges[0] : high - edges[0]])), share)


def compare_free(close, answer, tables):
    assert {(free.line, free.feature) for free in answer.free} == set(tables.free)
    for free in answer.free:
        exact = tables.free[free.line, free.feature]
        got = {(pattern.kind, pattern.order): pattern.probability for pattern in free.patterns}
        assert got.keys() <= exact.keys()
        for pattern, p in exact.items():
            close.check(f"{free.line} {free.feature} {pattern}", got.get(pattern, 0.0), p)
        mixed = exact["mixed", ()]
        if mixed > 0.05:
            for state, share in tables.shares[free.line, free.feature].items():
                close.check(f"{free.feature} share of {state}", free.shares[state], share, mixed)
        compare_free_changes(close, answer, tables, free.line, free.feature)


def compare_free_changes(close, answer, tables, line, feature):
    """The listed order of a free feature, and its cut-ins; like other changes, given the line of the set."""
    listed = [c for c in answer.changes if c.block is None and (c.line, c.feature) == (line, feature)]
    if line not in tables.lines:
        assert not listed
        return
    exact, share = tables.free_given[line, feature], tables.lines[line]
    changing = sum(p for (kind, _), p in exact.items() if kind == "changes")
    if abs(changing - 0.5) > close.within(changing, share):
        assert bool(listed) == (changing >= 0.5), (line, feature, changing)
    if not listed:
        return
    order = (listed[0].from_state, *(change.to_state for change in listed))
    p, best = exact["changes", order], max(p for (kind, _), p in exact.items() if kind == "changes")
    close.check(f"{feature}: most probable order", p, best, share / 2.0)
    for number, change in enumerate(listed):
        close.check(f"{change.id} probability", change.probability, p, share)
        cuts, edges = tables.free_cuts[line, feature][order][number], axis_edges(answer, line)
        compare_cells(close, f"{change.id} cut in at", change.mass, cuts, edges, p * share)
        applied = tables.free_applied[line, feature][order][number]
        close.check(f"{change.id} applied", change.applied_probability, applied, p * share)


def axis_edges(answer, line):
    return next(axis.edges for axis in answer.axes if axis.line == line)


def compare_observations(close, answer, tables):
    leading = entry_key(answer.verdict[0])
    assert {seen.feature for seen in answer.observations} == set(tables.altered)
    for seen in answer.observations:
        close.check(f"{seen.feature} altered", seen.altered_probability, tables.altered[seen.feature])
        close.check(f"{seen.feature} misread", seen.misread_probability, tables.misread[seen.feature])
        if seen.feature in tables.without:
            odds_of = (tables.verdict[leading], tables.without[seen.feature][leading])
            exact = tables.decibans(seen.feature, leading)
            close.check_decibans(f"{seen.feature}", seen.decibans, exact, odds_of)
        else:
            assert seen.decibans == 0.0


@pytest.mark.parametrize("name", CASES)
def test_answers_equal_enumeration(name):
    disagreements = compare(asked(name), expected(name))
    assert not disagreements, disagreements


@pytest.mark.parametrize("name", [pytest.param(c, marks=pytest.mark.slow if c in LIKE_OTHERS else ()) for c in CASES])
def test_sampled_answers_equal_enumeration(name):
    answer = asked(name, force="sampled")
    assert answer.method.kind == "sampled"
    disagreements = compare(answer, expected(name))
    assert not disagreements, disagreements


@pytest.mark.parametrize("force", [None, "sampled"])
def test_the_same_seed_gives_the_same_answer(force):
    first, second = (asked("altered survivors", force) for _ in range(2))
    assert alike(first, second)


def test_another_seed_gives_another_answer():
    assert not alike(asked("altered survivors"), asked("altered survivors", seed=2))


def alike(first, second):
    """Whether two answers hold the same figures, bit for bit."""
    return first.verdict == second.verdict and all(
        one.cut_in == other.cut_in and np.array_equal(one.mass, other.mass)
        for one, other in zip(first.changes, second.changes, strict=True)
    )


def at_marginal_rates(name):
    """The tables with every survivor of known place at its marginal rates, and the others left out."""
    family, axes, survivors, bench = CASES[name].for_oracle()
    counted = [replace(known, marginal=True) for known in survivors if len(known.places) == 1]
    return enumerate_all(family, axes, counted, bench)


@pytest.mark.parametrize("name", ["altered survivors", "lost serials"])
def test_asked_for_exact_sums_a_plain_family_equals_enumeration(name):
    answer = identify(CASES[name].family, CASES[name].bench_set(), CASES[name].register(), exact=True)
    assert answer.method.kind == "exact"
    disagreements = compare(answer, at_marginal_rates(name))
    assert not disagreements, disagreements


@pytest.mark.parametrize(
    "name",
    [
        "old stock",
        "old stock of two changes",
        "a silent version",
        "a free feature of two states",
        "old stock of a free feature",
        "shared cut-ins",
        "everything in one line",
    ],
)
def test_survivors_at_marginal_rates_equal_enumeration(name):
    """Asked for exact sums where histories must be drawn, survivors still count at their marginal rates."""
    case = CASES[name]
    answer = identify(case.family, case.bench_set(), case.register(), exact=True, draws=DRAWS[None], seed=1)
    disagreements = compare(answer, at_marginal_rates(name))
    assert not disagreements, disagreements
