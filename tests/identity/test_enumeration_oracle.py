"""The brute-force tables of the full model agree with simpler sums and with sets drawn at random."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import enumeration as by_hand
import enumeration_full as full
import enumeration_sets as sets
import numpy as np
import pytest
from enumeration_runs import Axis, free_feature, read_documents, shares_with_weights
from test_enumeration import family_of, one_line_case, random_place, random_sight, two_line_case

from setwright.identity.model import CutInBound, Family, Feature, Line, Version

TOLERANCE = 1e-10


def key_of(entry, documents):
    """The key of an entry as `enumeration` names it."""
    line, kind, number = entry
    keys = documents[line].entries()
    return keys[number if kind == "stage" else (len(keys) + 1) // 2 + number]


def marginal_survivors(lines):
    return [
        sets.KnownSet(((line.id, position),), seen, marginal=True)
        for line in lines
        for position, seen in line.survivors
    ]


@pytest.mark.parametrize("maker", [one_line_case, two_line_case])
@pytest.mark.parametrize("seed", range(4))
def test_survivors_without_latents_equal_the_simpler_enumeration(maker, seed):
    """Survivors at their marginal rates, sharp cut-ins, complete documents: both sums mean the same model."""
    rng = np.random.default_rng(seed)
    features, lines = maker(rng)
    family = family_of(features, lines)
    sights = {f.id: random_sight(rng, f) for f in features if rng.random() < 0.7}
    serviced = tuple(f.id for f in features if f.id not in sights and rng.random() < 0.3)
    places = random_place(rng, lines)[1]
    worlds = by_hand.worlds(features, lines, sights, places, serviced)

    pairs = tuple((line, position) for line, positions in places.items() for position in positions)
    axes = {line.id: Axis(line.first, line.last) for line in lines}
    bench = sets.KnownSet(pairs, sights, serviced)
    tables = full.enumerate_all(family, axes, marginal_survivors(lines), bench)

    documents = {line.id: read_documents(family, line.id) for line in lines}
    for entry, p in by_hand.gather(worlds, lambda w: w.entry).items():
        assert tables.verdict[key_of(entry, documents)] == pytest.approx(p, abs=TOLERANCE)
    assert sum(tables.verdict.values()) == pytest.approx(1.0)
    assert tables.condition == pytest.approx(by_hand.gather(worlds, lambda w: w.condition))
    for feature, states in tables.states.items():
        expected = by_hand.gather(worlds, lambda w, f=feature: w.built[f])
        assert states == pytest.approx({s: expected.get(s, 0.0) for s in states}, abs=TOLERANCE)
    check_line_tables(tables, worlds, documents, axes)
    for feature in sights:
        check_observation(tables, worlds, feature, sights[feature], family.feature(feature))
        others = {f: s for f, s in sights.items() if f != feature}
        less = by_hand.gather(by_hand.worlds(features, lines, others, places, serviced), lambda w: w.entry)
        for entry, p in less.items():
            assert tables.without[feature][key_of(entry, documents)] == pytest.approx(p, abs=TOLERANCE)


def check_line_tables(tables, worlds, documents, axes):
    for line, probability in tables.lines.items():
        here = [w for w in worlds if w.line == line]
        assert probability == pytest.approx(sum(w.weight for w in here) / sum(w.weight for w in worlds))
        positions = by_hand.gather(here, lambda w: w.position)
        assert tables.positions[line] == pytest.approx(positions)
        for change in documents[line].changes:
            number = next(n for n, (c, _) in here[0].cut_ins.items() if c == change.key)
            cut_ins = by_hand.gather(here, lambda w, n=number: w.cut_ins[n][1])
            expected = [cut_ins.get(int(s), 0.0) for s in axes[line].positions]
            assert tables.cut_in[change.id] == pytest.approx(expected, abs=TOLERANCE)
            applied = by_hand.gather(here, lambda w, n=number: n in w.applied)
            assert tables.applied[change.id] == pytest.approx(applied.get(True, 0.0), abs=TOLERANCE)


def check_observation(tables, worlds, feature, sight, f):
    rates = by_hand.rates_in_condition(by_hand.rate_of(f))
    altered = misread = 0.0
    for world in worlds:
        parts = by_hand.parts_of_seeing(
            list(f.all_states), sight[0], world.built[f.id], rates[world.condition], by_hand.MISREAD[sight[1]]
        )
        altered += world.weight * parts[0] / sum(parts)
        misread += world.weight * parts[1] / sum(parts)
    total = sum(w.weight for w in worlds)
    assert tables.altered[feature] == pytest.approx(altered / total, abs=TOLERANCE)
    assert tables.misread[feature] == pytest.approx(misread / total, abs=TOLERANCE)


def two_feature_family(**more):
    """Features a and b with one change each, in two steps, and c that changes with b."""
    features = tuple(Feature(f, f.upper(), (f + "0", f + "1"), permanence="consumable") for f in "abc")
    versions = (
        Version("early", "Early", states={"a": "a0", "b": "b0", "c": "c0"}),
        Version("middle", "Middle", states={"a": "a1", "b": "b0", "c": "c0"}),
        Version("late", "Late", states={"a": "a1", "b": "b1", "c": "c1"}),
    )
    return replace(Family("family", "Family", features, versions, last_serial=5), **more)


AXES = {"main": Axis(1, 5)}
ANYWHERE = tuple(("main", s) for s in range(1, 6))


def test_one_item_a_set_knows_no_condition():
    """A survivor of which one thing was seen counts alike with and without its condition."""
    items = [("a", "a1", 2), ("a", "a0", 3), ("b", "b0", 3), ("c", "c1", 4), ("c", "else", 5)]
    survivors = [sets.KnownSet((("main", s),), {f: (state, "likely")}) for f, state, s in items]
    bench = sets.KnownSet(ANYWHERE, {"a": ("a1", "certain"), "b": ("b0", "guess")})
    family = two_feature_family()
    got = full.enumerate_all(family, AXES, survivors, bench)
    simpler = full.enumerate_all(family, AXES, [replace(s, marginal=True) for s in survivors], bench)
    assert got.verdict == pytest.approx(simpler.verdict, abs=TOLERANCE)
    two_items = replace(survivors[0], seen={"a": ("a1", "likely"), "b": ("else", "certain")})
    assert full.enumerate_all(family, AXES, [two_items], bench).verdict != pytest.approx(
        full.enumerate_all(family, AXES, [replace(two_items, marginal=True)], bench).verdict, abs=1e-4
    )


def test_a_silent_version_averages_over_the_documents_it_could_have_been():
    """Silent about c in the middle: half the family that has c change with a, half the one that has it with b."""
    family = two_feature_family()
    early, middle, late = family.versions
    silent = replace(middle, states={"a": "a1", "b": "b0"})
    with_a = replace(middle, states={"a": "a1", "b": "b0", "c": "c1"})
    bench = sets.KnownSet(ANYWHERE, {"c": ("c1", "certain")})
    got = full.enumerate_all(replace(family, versions=(early, silent, late)), AXES, [], bench)
    sums = {}
    for versions in ((early, with_a, late), (early, middle, late)):
        one = replace(family, versions=versions)
        model = sets.model_of(one, AXES, 1)
        table = full.verdict_of(model, full.survivor_weights(model, []), sets.likelihoods(model, bench))
        for key, mass in table.items():
            sums[key] = sums.get(key, 0.0) + mass
    assert got.verdict == pytest.approx(full.scaled(sums), abs=TOLERANCE)


def test_a_line_that_shares_everything_is_the_same_line():
    """Survivors of a line with the same documents and the same run tell as much as the line's own."""
    family = two_feature_family()
    export = tuple(replace(v, id=f"export-{v.id}", line="export") for v in family.versions)
    both = replace(family, versions=(*family.versions, *export), lines=(Line("main"), Line("export", "main")))
    items = [("a", "a1", 2), ("a", "a0", 3), ("b", "b0", 3), ("c", "c1", 4)]
    bench = sets.KnownSet(ANYWHERE, {"a": ("a1", "certain"), "b": ("b0", "guess")})

    def survivors(line):
        return [sets.KnownSet(((line, s),), {f: (state, "certain")}) for f, state, s in items]

    got = full.enumerate_all(both, {"main": Axis(1, 5), "export": Axis(1, 5)}, survivors("export"), bench)
    own = full.enumerate_all(family, AXES, survivors("main"), bench)
    assert got.verdict == pytest.approx(own.verdict, abs=TOLERANCE)
    assert np.allclose(got.cut_in["main:b:1"], own.cut_in["main:b:1"], atol=TOLERANCE)


def test_mixed_shares_are_summed_as_allocations():
    """Gauss nodes give the Dirichlet-multinomial: n_1! … n_k! (k - 1)! / (n + k - 1)! for each allocation."""
    for k, n in ((2, 5), (3, 4), (4, 3)):
        nodes = list(shares_with_weights(k, n))
        for allocation in itertools.product(range(k), repeat=n):
            counts = [allocation.count(i) for i in range(k)]
            exact = math.prod(math.factorial(c) for c in counts) * math.factorial(k - 1) / math.factorial(n + k - 1)
            summed = sum(w * math.prod(share[i] for i in allocation) for share, w in nodes)
            assert summed == pytest.approx(exact, rel=1e-12)


def test_priors_of_a_free_feature():
    f = Feature("g", "G", ("g0", "g1", "g2"))
    free = free_feature(f, ["main"], Axis(1, 4), 6)
    table = full.patterns(free, free.weight)
    assert free.weight.sum() == pytest.approx(1.0)
    assert table["mixed", ()] == pytest.approx(0.25)
    assert table["throughout", ("g1",)] == pytest.approx(0.25 / 3)
    assert table["changes", ("g2", "g0", "g1")] == pytest.approx(0.5 / 6)
    assert np.allclose(free.tables["main", "g"].sum(axis=2), 1.0)
    assert full.mean_shares(free, free.weight) == pytest.approx([1 / 3] * 3)


# Everything at once, against histories and sets drawn at random and weighted by what was seen.


LAST = 3


def busy_family():
    """Two lines; a silent version, old stock on a change back, a free feature, a mixed one, a cabinet and its lamp."""
    features = (
        Feature("a", "A", ("a0", "a1"), permanence="soldered", overlap=2),
        Feature("b", "B", ("b0", "b1", "b2"), permanence="plugged", overlap=3),
        Feature("c", "C", ("c0", "c1"), permanence="riveted"),
        Feature("d", "D", ("d0", "d1"), permanence="riveted", group="cabinet", lines=("main",)),
        Feature("g", "G", ("g0", "g1"), permanence="plugged", group="cabinet", overlap=2),
        Feature("v", "V", ("v0", "v1"), permanence="consumable", group="cabinet", role="variant", lines=("main",)),
    )
    versions = (
        Version("m1", "1", "main", {"a": "a0", "b": "b0", "c": "c0", "d": "d0"}),
        Version("m2", "2", "main", {"a": "a1", "b": "b1", "c": "c0"}),
        Version("m3", "3", "main", {"a": "a1", "b": "b2", "c": "c1", "d": "d1"}),
        Version("x1", "1", "export", {"a": "a0", "b": "b1", "c": "c0"}),
        Version("x2", "2", "export", {"a": "a1", "b": "b1", "c": "c0"}),
    )
    bounds = (CutInBound("a", "a0", "a1", "main", after=1),)
    lines = (Line("main"), Line("export"))
    return Family("family", "Family", features, versions, lines=lines, cut_in_bounds=bounds, last_serial=LAST)


def drawn_cut_ins(rng, blocks, first, last, draws):
    """(draws, changes) cut-ins of blocks of so many changes: windows by their prior, then each change in its window."""
    windows = list(by_hand.ordered_windows(len(blocks), first, last))
    weights = np.array([w for _, w in windows])
    ends = np.array([w for w, _ in windows])[rng.choice(len(windows), draws, p=weights / weights.sum())]
    return [[rng.integers(ends[:, j, 0], ends[:, j, 1] + 1) for _ in range(count)] for j, count in enumerate(blocks)]


class DrawnProductions:
    """Many productions of `busy_family`, each with its own cut-ins and mixtures; states of sets drawn from them."""

    def __init__(self, rng, draws):
        self.rng, self.draws, self.family = rng, draws, busy_family()
        silent_first = rng.random(draws) < 0.5
        (a, b1, d_first), (b2, c, d_second) = drawn_cut_ins(rng, (3, 3), 1, LAST, draws)
        d = np.where(silent_first, d_first, d_second)
        self.d_first = silent_first
        ((xa,),) = drawn_cut_ins(rng, (1,), 1, LAST, draws)
        self.cuts = {
            ("main", "a"): [("a1", a)],
            ("main", "b"): [("b1", b1), ("b2", b2)],
            ("main", "c"): [("c1", c)],
            ("main", "d"): [("d1", d)],
            ("export", "a"): [("a1", xa)],
            ("export", "b"): [],
            ("export", "c"): [],
        }
        self.starts = {("main", f): f + "0" for f in "abcd"}
        self.starts |= {("export", "a"): "a0", ("export", "b"): "b1", ("export", "c"): "c0"}
        self.free = {
            (line, "g"): (
                rng.random(draws),
                rng.integers(2, size=draws),
                rng.integers(1, LAST + 1, draws),
                rng.random(draws),
            )
            for line in ("main", "export")
        }
        self.kept = a >= 2

    def state(self, line, feature, position):
        """(draws,) index of the state of one feature of one more set."""
        f, key, rng = self.family.feature(feature), (line, feature), self.rng
        if f.lines is not None and line not in f.lines:
            return np.full(self.draws, f.all_states.index("absent"))
        if f.role == "variant":
            return rng.choice([f.all_states.index(s) for s in f.states], self.draws)
        if key in self.free:
            kind, one, cut, share = self.free[key]
            coin = rng.integers(2, size=self.draws)
            changing = np.where(np.abs(position - cut) < f.overlap, coin, np.where(position >= cut, 1 - one, one))
            mixed = (rng.random(self.draws) >= share).astype(int)
            return np.where(kind < 0.5, changing, np.where(kind < 0.75, one, mixed))
        built = np.full(self.draws, f.all_states.index(self.starts[key]))
        path, o = self.cuts[key], f.overlap
        coin = rng.random(self.draws) < 0.5
        for n, (after, tau) in enumerate(path):
            begins = tau - o + 1 if o else tau
            if n and o:
                begins = np.maximum(path[n - 1][1], begins)
            before = f.all_states.index(self.starts[key] if n == 0 else path[n - 1][0])
            blurred = (np.abs(position - tau) < o) & (position >= begins)
            built = np.where(position >= np.maximum(begins, tau), f.all_states.index(after), built)
            built = np.where(blurred, np.where(coin, f.all_states.index(after), before), built)
        return built

    def weigh(self, known, married_share):
        """(draws,) P(what was seen of one more set | its drawn latents), and those latents."""
        rng, n = self.rng, self.draws
        places = np.array([(("main", "export").index(line), s) for line, s in known.places])
        place = places[rng.integers(len(places), size=n)]
        other = np.stack([rng.integers(2, size=n), rng.integers(1, LAST + 1, n)], axis=1)
        married = rng.random(n) < married_share
        condition = rng.choice(3, n, p=sets.PRIOR)
        weight = np.ones(n)
        built = {}
        for f in self.family.features:
            at = np.where((married & (f.group == "cabinet"))[:, None], other, place)
            states = {
                (line, s): self.state(("main", "export")[line], f.id, s) for line in (0, 1) for s in range(1, LAST + 1)
            }
            built[f.id] = np.select([(at[:, 0] == line) & (at[:, 1] == s) for line, s in states], list(states.values()))
            if f.id in known.seen:
                weight *= sets.seeing_tables(f, known).sum(axis=0)[condition, built[f.id]]
            if f.id in known.serviced:
                weight *= sets.rates(f, known)[condition]
        return weight, place, condition, married, built


def test_everything_at_once_equals_productions_drawn_at_random():
    """Prior draws of productions and latents, weighted by what was seen: within four standard errors."""
    survivors = [
        sets.KnownSet((("main", 2),), {"a": ("a1", "guess"), "d": ("d1", "guess"), "g": ("g1", "guess")}),
        sets.KnownSet(
            tuple((line, s) for line in ("main", "export") for s in (2, 3)),
            {"b": ("b1", "guess"), "g": ("g0", "guess"), "c": ("c1", "guess")},
            serviced=("a",),
        ),
    ]
    bench = sets.KnownSet(
        tuple((line, s) for line in ("main", "export") for s in (1, 2, 3)),
        {"b": ("b1", "guess"), "d": ("d0", "guess"), "g": ("g1", "guess"), "v": ("v1", "guess")},
    )
    married = 0.3  # often enough to be noticed
    axes = {"main": Axis(1, LAST), "export": Axis(1, LAST)}
    tables = full.enumerate_all(busy_family(), axes, survivors, bench, married=married)

    drawn = DrawnProductions(np.random.default_rng(5), 400_000)
    weight = drawn.kept.astype(float)
    for known in survivors:
        weight *= drawn.weigh(known, married)[0]
    seen, place, condition, elsewhere, built = drawn.weigh(bench, married)
    weight *= seen

    def check(expected, happened):
        p = float(np.sum(weight * happened) / weight.sum())
        error = math.sqrt(float(np.sum(weight**2 * (happened - p) ** 2))) / weight.sum()
        assert p == pytest.approx(expected, abs=4.0 * error + 1e-6)

    check(tables.groups["cabinet"], elsewhere)
    check(tables.lines["export"], place[:, 0] == 1)
    for i, name in enumerate(tables.condition):
        check(tables.condition[name], condition == i)
    for f in busy_family().features:
        for i, state in enumerate(f.all_states):
            check(tables.states[f.id][state], built[f.id] == i)
    in_main = place[:, 0] == 0
    position = place[:, 1]
    for change, made in (("main:d:1", drawn.cuts["main", "d"][0][1]), ("main:b:2", drawn.cuts["main", "b"][1][1])):
        check(tables.applied[change] * tables.lines["main"], in_main & (position >= made))
    a, b1, b2, c, d = (drawn.cuts["main", f][n][1] for f, n in (("a", 0), ("b", 0), ("b", 1), ("c", 0), ("d", 0)))
    first = np.stack([position >= a, position >= b1, (position >= d) | ~drawn.d_first])
    second = np.stack([position >= b2, position >= c, (position >= d) | drawn.d_first])
    some_first = (position >= a) | (position >= b1) | ((position >= d) & drawn.d_first)
    some_second = (position >= b2) | (position >= c) | ((position >= d) & ~drawn.d_first)
    check(tables.verdict["main", "m1"], in_main & ~some_first)
    check(tables.verdict["main", ("m1", "m2")], in_main & some_first & ~first.all(axis=0))
    check(tables.verdict["main", "m2"], in_main & first.all(axis=0) & ~some_second)
    check(tables.verdict["main", ("m2", "m3")], in_main & first.all(axis=0) & some_second & ~second.all(axis=0))
    check(tables.verdict["main", "m3"], in_main & second.all(axis=0))
    kind = drawn.free["main", "g"][0]
    check(tables.free["main", "g"]["mixed", ()], kind >= 0.75)
    check(tables.free["main", "g"]["changes", ("g0", "g1")], (kind < 0.5) & (drawn.free["main", "g"][1] == 0))
