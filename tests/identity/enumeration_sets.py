"""Sets in the histories of the full identity model: the likelihood of each is a sum over its own latents.

The latents are its place, its condition, which group of features sits elsewhere, and where. Given one history of
production the sets are independent of each other.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass, field

import numpy as np
from enumeration import CONDITIONS, MISREAD, parts_of_seeing, rate_of, rates_in_condition
from enumeration_runs import ABSENT, list_productions

MARRIED = 0.02
MAIN_GROUP = "chassis"
PRIOR = np.array([p for p, _ in CONDITIONS.values()])
ROWS = 20_000
"""Histories summed at a time."""


@dataclass(frozen=True)
class KnownSet:
    """A set: the (line, position) pairs it may have, {feature: (state, sure)}, and features that look serviced.

    marginal : every item counts at its marginal rate, whatever the condition, and nothing sits elsewhere.
    """

    places: tuple
    seen: dict
    serviced: tuple = ()
    marginal: bool = False


def rates(f, known):
    """(3,) probability of alteration in each condition."""
    if known.marginal:
        return np.full(len(CONDITIONS), rate_of(f))
    return np.array(list(rates_in_condition(rate_of(f)).values()))


def seeing_tables(f, known):
    """(3 parts, conditions, states): altered, misread, read as it is."""
    state, sure = known.seen[f.id]
    states = list(f.all_states)
    return np.array(
        [[parts_of_seeing(states, state, built, rate, MISREAD[sure]) for built in states] for rate in rates(f, known)]
    ).transpose(2, 0, 1)


@dataclass
class Model:
    """A family, its axes and the listed components of its history."""

    family: object
    axes: dict
    components: list
    documents: dict
    married: float = MARRIED

    @property
    def rows(self):
        return math.prod(len(c.weight) for c in self.components)

    def chunks(self):
        """Row numbers of every component for some histories at a time, and their prior weights."""
        sizes = [len(c.weight) for c in self.components]
        for first in range(0, self.rows, ROWS):
            index = np.unravel_index(np.arange(first, min(first + ROWS, self.rows)), sizes)
            yield index, math.prod(c.weight[i] for c, i in zip(self.components, index, strict=True))

    def groups(self):
        """The other groups that a set may be married with."""
        members = defaultdict(list)
        for f in self.family.features:
            members[f.group].append(f.id)
        main = MAIN_GROUP if MAIN_GROUP in members else max(members, key=lambda g: len(members[g]))
        return {g: tuple(ids) for g, ids in members.items() if g != main and len(ids) >= 2}

    def states_at(self, f, line, positions):
        """Factory states at positions of one line: number of the component or None, (rows, positions, states)."""
        columns = np.array(positions) - self.axes[line].first
        for number, component in enumerate(self.components):
            if (line, f.id) in component.tables:
                return number, component.tables[line, f.id][:, columns]
        if f.lines is not None and line not in f.lines:
            built = [float(state == ABSENT) for state in f.all_states]
        elif f.role == "variant":
            built = [float(state in f.states) / len(f.states) for state in f.all_states]
        else:
            raise AssertionError(f"{f.id} in {line} is neither documented, free, nor a variant")
        return None, np.tile(built, (1, len(columns), 1))


def model_of(family, axes, sets, married=MARRIED):
    return Model(family, axes, *list_productions(family, axes, sets), married)


@dataclass
class Likelihoods:
    """One set's items as (conditions, states) factors by feature, and what does not depend on factory states."""

    model: Model
    known: KnownSet
    factors: dict
    constant: np.ndarray
    places: tuple = field(init=False)
    everywhere: tuple = field(init=False)

    def __post_init__(self):
        self.places = tuple(self.known.places)
        self.everywhere = tuple((line, s) for line, axis in self.model.axes.items() for s in axis.holding)

    def place_prior(self, places):
        lines = len(self.model.axes)
        return np.array([1.0 / lines / len(self.model.axes[line].holding) for line, _ in places])

    def by_component(self, features, places):
        """For each line: where its places are in the list, and {component: (rows, places, conditions) product}."""
        result = []
        for line in dict.fromkeys(line for line, _ in places):
            here = [i for i, (other, _) in enumerate(places) if other == line]
            products = {}
            for f in self.model.family.features:
                if f.id in features and f.id in self.factors:
                    number, table = self.model.states_at(f, line, [places[i][1] for i in here])
                    factor = np.einsum("nps,cs->npc", table, self.factors[f.id])
                    products[number] = products.get(number, 1.0) * factor
            result.append((here, products))
        return result

    def prepare(self):
        """The products that every chunk needs: all features at the set's place; without each group; the group alone."""
        everything = {f.id for f in self.model.family.features}
        groups = {} if self.known.marginal else self.model.groups()
        self.whole = self.by_component(everything, self.places)
        self.split = [
            (self.by_component(everything - set(ids), self.places), self.by_component(set(ids), self.everywhere))
            for ids in groups.values()
        ]
        self.share = self.model.married / len(groups) if groups else 0.0
        return self

    def weigh(self, index):
        """(1 + groups, rows, places, conditions) probability of the set's items and latents given the histories.

        First nothing married, then each group elsewhere, and (groups, rows, everywhere, conditions) of its place.
        """
        prior = self.place_prior(self.places)[None, :, None] * PRIOR * self.constant
        elsewhere_prior = self.place_prior(self.everywhere)[None, :, None]
        joint = [(1.0 - self.share * len(self.split)) * prior * spread(self.whole, len(self.places), index)]
        there = []
        for rest, group in self.split:
            own = self.share * prior * spread(rest, len(self.places), index)
            other = elsewhere_prior * spread(group, len(self.everywhere), index)
            joint.append(own * other.sum(axis=1, keepdims=True))
            there.append(own.sum(axis=1, keepdims=True) * other)
        return np.stack(joint), there


def spread(by_line, places, index):
    """(rows, places, conditions): products of components brought together for the histories of a chunk."""
    product = np.ones((len(index[0]), places, len(CONDITIONS)))
    for here, products in by_line:
        for number, factor in products.items():
            product[:, here] *= factor if number is None else factor[index[number]]
    return product


def likelihoods(model, known, **instead):
    """A set's factors; `instead` replaces those of some features (None: leaves them out)."""
    by_id = {f.id: f for f in model.family.features}
    factors = {f: seeing_tables(by_id[f], known).sum(axis=0) for f in known.seen} | instead
    constant = math.prod((rates(by_id[f], known) for f in known.serviced), start=np.ones(len(CONDITIONS)))
    return Likelihoods(model, known, {f: x for f, x in factors.items() if x is not None}, constant).prepare()
