"""The identity model summed by brute force, for small cases: every history, place, condition and factory state.

Written from the model's definition alone and sharing no computation with the package, so that both can be wrong
only independently. Windows and cut-ins are listed one by one; nothing is rearranged.
"""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from dataclasses import dataclass, field

RATES = {"stamped": 0.005, "riveted": 0.02, "soldered": 0.06, "plugged": 0.15, "consumable": 0.35}
MISREAD = {"certain": 0.02, "likely": 0.08, "guess": 0.25}
CONDITIONS = {"untouched": (0.45, 0.2), "repaired": (0.40, 1.0), "heavily rebuilt": (0.15, 6.0)}
KAPPA = 0.5


def rate_of(feature):
    return RATES[feature.permanence] if feature.altered is None else feature.altered


def rates_in_condition(rate):
    """Bisection on t: the mean over conditions of m t odds / (1 + m t odds) is the rate."""
    odds = rate / (1 - rate)
    low, high = 1e-6, 1e6
    for _ in range(300):
        t = math.sqrt(low * high)
        mean = sum(p * m * t * odds / (1 + m * t * odds) for p, m in CONDITIONS.values())
        low, high = (t, high) if mean < rate else (low, t)
    return {c: m * t * odds / (1 + m * t * odds) for c, (p, m) in CONDITIONS.items()}


def parts_of_seeing(states, seen, built, rate, epsilon):
    """Probabilities of (altered and seen, misread and seen, seen as it is)."""
    k = len(states)
    if seen in states:
        altered = rate * 0.7 * 2.0 ** states.index(seen) / (2.0**k - 1)
        if seen == built:
            return altered, 0.0, (1 - rate) * (1 - epsilon)
        return altered, (1 - rate) * epsilon / (k - 1), 0.0
    return rate * 0.3, 0.0, 0.0


def seeing(states, seen, built, rate, epsilon):
    return sum(parts_of_seeing(states, seen, built, rate, epsilon))


def ordered_windows(blocks, first, last):
    """Every (S1, T1, S2, T2, …) in order with its prior weight."""
    count = last - first + 1
    for flat in itertools.combinations_with_replacement(range(first, last + 1), 2 * blocks):
        windows = [(flat[2 * i], flat[2 * i + 1]) for i in range(blocks)]
        weight = 1.0
        for s, t in windows:
            weight *= 1.0 if count == 1 else KAPPA if s == t else (1 - KAPPA) / (count - 1)
        yield windows, weight


@dataclass
class Line:
    """One line of a small case: versions as complete state dicts, positions 'first' to 'last', and its survivors,
    each (position, {feature: (state, sure)})."""

    id: str
    versions: list
    first: int
    last: int
    survivors: list = field(default_factory=list)
    bounds: dict = field(default_factory=dict)  # (feature, from, to) -> (earliest, latest)
    missing: tuple = ()  # features that the line does not have: "absent"
    unknown: tuple = ()  # features that it has but no version mentions: any state, for the whole run
    stand: tuple = ()  # the positions that hold sets, where not all of them do


@dataclass
class World:
    """One elementary possibility with its weight."""

    line: str
    cut_ins: dict
    condition: str
    position: int
    built: dict
    applied: frozenset
    entry: tuple
    weight: float


def worlds(features, lines, observations, places, serviced=()):
    """All possibilities of survivors' histories and the bench set.

    features: package Feature values. observations: {feature: (state, sure)}; places: {line: [positions]}.
    """
    by_id = {f.id: f for f in features}
    in_condition = {f.id: rates_in_condition(rate_of(f)) for f in features}
    result = []
    for line in lines:
        if line.id not in places:
            continue
        variants = [f for f in features if f.role == "variant" or f.id in line.unknown]
        changing = [f for f in features if f not in variants]
        blocks = []
        for before, after in itertools.pairwise(line.versions):
            blocks.append([(f.id, before[f.id], after[f.id]) for f in changing if before.get(f.id) != after.get(f.id)])
        histories = []
        for windows, prior in ordered_windows(len(blocks), line.first, line.last):
            options = []
            for (s, t), block in zip(windows, blocks, strict=True):
                options += [[(j, tau) for tau in range(s, t + 1)] for j in block]
            sizes = math.prod((t - s + 1) ** len(b) for (s, t), b in zip(windows, blocks, strict=True))
            for chosen in itertools.product(*options):
                cut = [(change, tau) for change, tau in chosen]
                weight = prior / sizes
                for change, tau in cut:
                    earliest, latest = line.bounds.get(change, (None, None))
                    if (earliest is not None and tau < earliest) or (latest is not None and tau > latest):
                        weight = 0.0
                if weight == 0.0:
                    continue
                for position, seen in line.survivors:
                    built = state_at(line.versions[0], cut, position)
                    for feature, (state, sure) in seen.items():
                        f = by_id[feature]
                        if f in changing:  # a survivor's variant says the same whatever the history
                            weight *= seeing(list(f.all_states), state, built[feature], rate_of(f), MISREAD[sure])
                histories.append((cut, weight))
        total = sum(w for _, w in histories)
        owners = [i for i, block in enumerate(blocks) for _ in block]
        axis = len(line.stand) or line.last - line.first + 1
        for cut, weight in histories:
            for position in places[line.id]:
                base = state_at(line.versions[0], cut, position)
                made = frozenset(i for i, (_, tau) in enumerate(cut) if position >= tau)
                entry = entry_of(made, owners, len(blocks))
                for variant_states in itertools.product(
                    *[list(["absent"] if v.id in line.missing else v.states) for v in variants]
                ):
                    built = dict(base)
                    for f in features:
                        if f.id in line.missing:
                            built[f.id] = "absent"
                    built.update({v.id: s for v, s in zip(variants, variant_states, strict=True)})
                    share = math.prod(1.0 if v.id in line.missing else 1.0 / len(v.states) for v in variants)
                    for condition, (p, _) in CONDITIONS.items():
                        w = weight / total * p * share / axis / len(lines)
                        for feature, (state, sure) in observations.items():
                            f = by_id[feature]
                            rate = in_condition[feature][condition]
                            w *= seeing(list(f.all_states), state, built[feature], rate, MISREAD[sure])
                        for feature in serviced:
                            w *= in_condition[feature][condition]
                        result.append(
                            World(line.id, dict(enumerate(cut)), condition, position, built, made, (line.id, *entry), w)
                        )
    return result


def state_at(start, cut, position):
    built = dict(start)
    # Blocks are in order, so applying the changes in the order of blocks gives the final state.
    for (feature, _, after), tau in cut:
        if position >= tau:
            built[feature] = after
    return built


def entry_of(made, owners, blocks):
    """("stage", j) or ("gap", j) from the set of changes made."""
    for j in range(blocks):
        own = {i for i, owner in enumerate(owners) if owner == j}
        done = own & made
        if done != own:
            return ("stage", j) if not done else ("gap", j)
    return ("stage", blocks)


def normalise(table):
    total = sum(table.values())
    return {key: value / total for key, value in table.items()}


def gather(possibilities, key):
    table = defaultdict(float)
    for world in possibilities:
        table[key(world)] += world.weight
    return normalise(table)


def entropy(table):
    return -sum(p * math.log2(p) for p in table.values() if p > 0)


def expected_bits(possibilities, features, looks):
    """Expected fall of the entropy of the whole factory state vector when all of `looks` are looked at, certain."""
    by_id = {f.id: f for f in features}
    rates = {look: rates_in_condition(rate_of(by_id[look])) for look in looks}
    alike = gather(possibilities, lambda w: (tuple(sorted(w.built.items())), w.condition))
    joint = defaultdict(lambda: defaultdict(float))
    outcomes = [[*by_id[look].all_states, "something else"] for look in looks]
    for (vector, condition), weight in alike.items():
        built = dict(vector)
        for outcome in itertools.product(*outcomes):
            p = weight
            for look, seen in zip(looks, outcome, strict=True):
                states = list(by_id[look].all_states)
                p *= seeing(states, seen, built[look], rates[look][condition], MISREAD["certain"])
            joint[outcome][vector] += p
    before = defaultdict(float)
    for table in joint.values():
        for vector, p in table.items():
            before[vector] += p
    after = sum(sum(table.values()) * entropy(normalise(table)) for table in joint.values())
    return entropy(before) - after
