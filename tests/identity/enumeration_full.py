"""The full identity model summed by brute force, for small cases: altered and misplaced survivors, marriages,
old stock, silent documents, free features, shared cut-ins.

All histories are listed (`enumeration_runs`) and all latents of every set (`enumeration_sets`); here the answers'
tables are gathered from them.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass, replace

import numpy as np
from enumeration import CONDITIONS
from enumeration_runs import Free, Run
from enumeration_sets import MARRIED, likelihoods, model_of, seeing_tables


@dataclass
class Tables:
    """What the model says of the set on the bench. Keys of verdicts: (line, version or (version, version)).

    cut_in : (positions,) and applied : by change id, given the line; entry_applied and entry_states : given the entry.
    without : the verdict without each observation. free : by (line, feature), {(kind, order): probability}, and
    free_given : the same given the line of the bench set; free_cuts : (cut-ins, positions) and
    free_applied : (cut-ins,) given the order of states and the line. shares : mean share of each state, if mixed.
    """

    verdict: dict
    entry_applied: dict
    entry_states: dict
    applied: dict
    cut_in: dict
    condition: dict
    states: dict
    altered: dict
    misread: dict
    without: dict
    lines: dict
    positions: dict
    groups: dict
    group_places: dict
    free: dict
    free_given: dict
    free_cuts: dict
    free_applied: dict
    shares: dict

    def decibans(self, feature, leading):
        """10 log10 of how the observation changes the odds of the verdict `leading`; 0 where nothing else is left."""

        def odds(verdict):
            others = sum(p for key, p in verdict.items() if key != leading)
            return verdict[leading] / others if others > 0.0 else math.inf

        with_it, without = odds(self.verdict), odds(self.without[feature])
        return 10.0 * math.log10(with_it / without) if max(with_it, without) < math.inf and without > 0 else 0.0


class Counter:
    """Sums of weights by key."""

    def __init__(self):
        self.sums = defaultdict(float)

    def add(self, prefix, numbers, weight):
        counts = np.bincount(np.ravel(numbers), weights=np.ravel(np.broadcast_to(weight, np.shape(numbers))))
        for number in np.flatnonzero(counts):
            self.sums[(*prefix, int(number))] += float(counts[number])


def enumerate_all(family, axes, survivors, bench, married=MARRIED):
    """Every table of the model. axes : {line: Axis}; survivors and bench : KnownSet values."""
    model = model_of(family, axes, len(survivors) + 1, married)
    weights = survivor_weights(model, survivors)
    plain = verdict_of(model, weights, likelihoods(model, bench))
    total = sum(plain.values())
    states, entry_states = states_of(model, weights, bench, plain)
    parts = {f.id: seeing_tables(f, bench) for f in family.features if f.id in bench.seen}

    def share(f, part):
        return sum(verdict_of(model, weights, likelihoods(model, bench, **{f: parts[f][part]})).values()) / total

    tables = gather_tables(model, weights, likelihoods(model, bench))
    return replace(
        tables,
        verdict=scaled(plain),
        states=states,
        entry_states=entry_states,
        altered={f: share(f, 0) for f in parts} | dict.fromkeys(bench.serviced, 1.0),
        misread={f: share(f, 1) for f in parts} | dict.fromkeys(bench.serviced, 0.0),
        without={f: scaled(verdict_of(model, weights, likelihoods(model, bench, **{f: None}))) for f in parts},
    )


def scaled(table):
    total = sum(table.values())
    return {key: value / total for key, value in table.items()}


def survivor_weights(model, survivors):
    """Prior weight of every history times the likelihood of every survivor, chunk by chunk."""
    prepared = [likelihoods(model, known) for known in survivors]
    weights = []
    for index, prior in model.chunks():
        for set_likelihoods in prepared:
            prior = prior * set_likelihoods.weigh(index)[0].sum(axis=(0, 2, 3))
        weights.append(prior)
    return weights


def entry_numbers_at(model, index, line, positions):
    """(rows, positions) number of the verdict entry of a line."""
    for run, rows in zip(model.components, index, strict=True):
        if isinstance(run, Run) and line in run.entries:
            return run.entries[line][:, np.array(positions) - model.axes[line].first][rows]
    raise KeyError(line)


def by_line(places):
    lines = dict.fromkeys(line for line, _ in places)
    return {line: [i for i, (other, _) in enumerate(places) if other == line] for line in lines}


def verdict_of(model, weights, bench):
    """Weight of every verdict entry, not scaled, those that cannot be left at 0."""
    table = {key: 0.0 for line in by_line(bench.places) for key in model.documents[line].entries()}
    for (index, _), weight in zip(model.chunks(), weights, strict=True):
        mass = bench.weigh(index)[0].sum(axis=(0, 3)) * weight[:, None]
        for line, here in by_line(bench.places).items():
            numbers = entry_numbers_at(model, index, line, [bench.places[i][1] for i in here])
            keys = model.documents[line].entries()
            for number, sum_here in enumerate(np.bincount(numbers.ravel(), mass[:, here].ravel(), len(keys))):
                table[keys[number]] += sum_here
    return table


def states_of(model, weights, bench, plain):
    """Factory states of every feature of the set, and the same given each verdict entry."""
    total, states, by_entry = sum(plain.values()), {}, {key: {} for key, mass in plain.items() if mass > 0.0}
    for f in model.family.features:
        seen = seeing_tables(f, bench).sum(axis=0) if f.id in bench.seen else np.ones((3, len(f.all_states)))
        only = np.eye(len(f.all_states))
        tables = {
            state: verdict_of(model, weights, likelihoods(model, bench, **{f.id: seen * only[i]}))
            for i, state in enumerate(f.all_states)
        }
        states[f.id] = {state: sum(table.values()) / total for state, table in tables.items()}
        for key, given in by_entry.items():
            given[f.id] = {state: table[key] / plain[key] for state, table in tables.items()}
    return states, by_entry


def gather_tables(model, weights, bench):
    """Everything that one pass over histories and the set's latents gives."""
    found = Counter()
    groups = list(model.groups())
    for (index, _), weight in zip(model.chunks(), weights, strict=True):
        joint, there = bench.weigh(index)
        joint = joint * weight[None, :, None, None]
        found.add(("condition",), np.arange(3), joint.sum(axis=(0, 1, 2)))
        found.add(("group",), np.arange(len(joint)), joint.sum(axis=(1, 2, 3)))
        for group, place in zip(groups, there, strict=True):
            found.add(("there", group), np.arange(place.shape[1]), (place * weight[:, None, None]).sum(axis=(0, 2)))
        for line, here in by_line(bench.places).items():
            mass = joint[:, :, here].sum(axis=(0, 3))
            count_line(found, model, index, line, np.array([bench.places[i][1] for i in here]), mass)
    return as_tables(model, found.sums, groups, bench)


def count_line(found, model, index, line, positions, mass):
    """Positions, changes and free features, with the set in this line. mass : (rows, positions)."""
    found.add(("position", line), positions, mass.sum(axis=0))
    entries = entry_numbers_at(model, index, line, positions)
    for number, (component, rows) in enumerate(zip(model.components, index, strict=True)):
        if isinstance(component, Free):
            found.add(("free", number, line), rows, mass.sum(axis=1))
            for n, tau in enumerate(cut_columns(component)):
                found.add(("free applied", number, line, n), rows, (mass * (positions >= tau[rows, None])).sum(axis=1))
            continue
        for change in model.documents[line].changes if line in component.entries else ():
            tau = component.taus[change.id][rows]
            found.add(("cut", change.id), tau, mass.sum(axis=1))
            made = mass * (positions >= tau[:, None])
            found.add(("applied", change.id), np.zeros(1, dtype=int), made.sum())
            found.add(("entry applied", line, change.id), entries, made)
    found.add(("entry", line), entries, mass)


def cut_columns(component):
    """The first, second … cut-in of every row of a free feature; beyond every position where it does not change."""
    longest = max(len(cut) for cut in component.cuts if cut is not None)
    return [np.array([math.inf if cut is None else cut[n] for cut in component.cuts]) for n in range(longest)]


def as_tables(model, sums, groups, bench):
    """The counted sums as tables of probabilities."""
    lines = defaultdict(float)
    for (kind, *rest), mass in sums.items():
        if kind == "position":
            lines[rest[0]] += mass
    total = sum(lines.values())

    def given(line, *prefix):
        size = len(prefix)
        return {key[size]: mass / lines[line] for key, mass in sums.items() if key[:size] == prefix}

    changes = [change for line in lines for change in model.documents[line].changes]
    entry_applied = {}
    for line in lines:
        for number, key in enumerate(model.documents[line].entries()):
            mass = sums.get(("entry", line, number), 0.0)
            if mass > 0.0:
                entry_applied[key] = {
                    c.id: sums.get(("entry applied", line, c.id, number), 0.0) / mass
                    for c in model.documents[line].changes
                }
    free, free_given, free_cuts, free_applied, shares = free_tables(model, sums, lines)
    return Tables(
        verdict={},
        entry_applied=entry_applied,
        entry_states={},
        applied={c.id: given(c.line, "applied", c.id).get(0, 0.0) for c in changes},
        cut_in={c.id: on_axis(model.axes[c.line], given(c.line, "cut", c.id)) for c in changes},
        condition={name: sums[("condition", i)] / total for i, name in enumerate(CONDITIONS)},
        states={},
        altered={},
        misread={},
        without={},
        lines={line: mass / total for line, mass in lines.items()},
        positions={line: given(line, "position", line) for line in lines},
        groups={group: sums[("group", i)] / total for i, group in enumerate(groups, start=1)},
        group_places={
            group: scaled({place: sums.get(("there", group, i), 0.0) for i, place in enumerate(bench.everywhere)})
            for group in groups
        },
        free=free,
        free_given=free_given,
        free_cuts=free_cuts,
        free_applied=free_applied,
        shares=shares,
    )


def on_axis(axis, table):
    return np.array([table.get(int(s), 0.0) for s in axis.positions])


def by_row(sums, rows, *prefix):
    return np.array([sums.get((*prefix, row), 0.0) for row in range(rows)])


def free_tables(model, sums, lines):
    """Patterns of free features over all lines of the set and given its line, with cut-ins, and mean mixtures."""
    free, free_given, free_cuts, free_applied, shares = {}, {}, {}, {}, {}
    for number, component in enumerate(model.components):
        if not isinstance(component, Free):
            continue

        rows = len(component.weight)
        mass = {line: by_row(sums, rows, "free", number, line) for line in lines}
        for line, feature in component.tables:
            key, f = (line, feature), model.family.feature(feature)
            free[key] = patterns(component, sum(mass.values()))
            shares[key] = dict(zip(f.states, mean_shares(component, sum(mass.values())), strict=True))
            if line in lines:
                free_given[key] = patterns(component, mass[line])
                free_cuts[key] = cut_tables(component, mass[line], model.axes[line])
                made = [by_row(sums, rows, "free applied", number, line, n) for n in range(len(f.states) - 1)]
                free_applied[key] = applied_tables(component, mass[line], made)
    return free, free_given, free_cuts, free_applied, shares


def patterns(component, mass):
    table = defaultdict(float)
    for kind, p in zip(component.kinds, mass / mass.sum(), strict=True):
        table[kind] += float(p)
    return dict(table)


def mean_shares(component, mass):
    mixed = [i for i, share in enumerate(component.shares) if share is not None]
    return np.average([component.shares[i] for i in mixed], axis=0, weights=mass[mixed])


def cut_tables(component, mass, axis):
    """{order: (cut-ins, positions) probabilities} of every order of states."""
    tables = {}
    for (kind, order), cut, p in zip(component.kinds, component.cuts, mass, strict=True):
        if kind == "changes":
            table = tables.setdefault(order, np.zeros((len(order) - 1, len(axis.positions))))
            for row, tau in enumerate(cut):
                table[row, tau - axis.first] += p
    return {order: table / table.sum(axis=1, keepdims=True) for order, table in tables.items()}


def applied_tables(component, mass, made):
    """{order: (cut-ins,) probability that the set has the change}."""
    tables = {}
    for order in {order for kind, order in component.kinds if kind == "changes"}:
        rows = [i for i, kind in enumerate(component.kinds) if kind == ("changes", order)]
        tables[order] = np.array([some[rows].sum() for some in made]) / mass[rows].sum()
    return tables
