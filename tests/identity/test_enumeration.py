"""The exact class agrees with brute-force enumeration to 1e-9, every latent of the bench set included."""

from __future__ import annotations

from dataclasses import replace

import enumeration as by_hand
import numpy as np
import pytest

from setwright.identity import Assumptions, BenchSet, Family, Observation, Survivors, identify
from setwright.identity.model import (
    NOT_SEEN,
    SURENESSES,
    CutInBound,
    Feature,
    Line,
    SerialBlock,
    Version,
    seen_code,
)

TOLERANCE = 1e-9
PERMANENCES = ("stamped", "riveted", "soldered", "plugged", "consumable")


def random_feature(rng, name, states, **more):
    return Feature(
        name,
        name.upper(),
        tuple(f"{name}{i}" for i in range(states)),
        access=str(rng.choice(["outside", "back off", "underside"])),
        permanence=str(rng.choice(PERMANENCES)),
        altered=float(rng.uniform(0.01, 0.6)) if rng.random() < 0.3 else None,
        **more,
    )


def random_sight(rng, feature):
    """A state (sometimes none that is listed) and how sure."""
    states = [*feature.all_states, "something else"]
    return str(rng.choice(states)), str(rng.choice(SURENESSES))


def observations_of(sights, serviced=()):
    seen = [Observation(feature, state, sure) for feature, (state, sure) in sights.items()]
    return (*seen, *(Observation(feature, None, serviced=True) for feature in serviced))


def survivors_of(family, lines):
    """Columns of the lists that enumeration uses."""
    rows = [(number, position, seen) for number, line in enumerate(lines) for position, seen in line.survivors]
    columns = {}
    for feature in family.features:
        codes = np.full(len(rows), NOT_SEEN, dtype=np.int16)
        for i, (_, _, seen) in enumerate(rows):
            if feature.id in seen:
                state, sure = seen[feature.id]
                states = feature.all_states
                index = states.index(state) if state in states else len(states)
                codes[i] = seen_code(index, SURENESSES.index(sure))
        columns[feature.id] = codes
    return Survivors(
        ids=tuple(f"s{i}" for i in range(len(rows))),
        line=np.array([number for number, _, _ in rows], dtype=np.int64),
        position=np.array([position for _, position, _ in rows], dtype=np.int64),
        seen=columns,
    )


def random_survivors(rng, features, count, last, absent=()):
    chosen = []
    for _ in range(count):
        seen = {f.id: random_sight(rng, f) for f in features if f.id not in absent and rng.random() < 0.7}
        chosen.append((int(rng.integers(1, last + 1)), seen))
    return chosen


def one_line_case(rng):
    """Two blocks of two changes, one of them there and back in a three-state feature, and a variant."""
    features = [
        random_feature(rng, "a", 2),
        random_feature(rng, "b", 3),
        random_feature(rng, "c", 2),
        random_feature(rng, "v", int(rng.integers(2, 4)), role="variant"),
    ]
    middle = {"a": "a1", "b": "b1", "c": "c0"}
    late = {"a": "a1", "b": str(rng.choice(["b0", "b2"])), "c": "c1"}
    versions = [{"a": "a0", "b": "b0", "c": "c0"}, middle, late]
    last = int(rng.integers(3, 6))
    line = by_hand.Line("main", versions, 1, last, random_survivors(rng, features, 3, last))
    return features, [line]


def two_line_case(rng):
    """Two lines of different length; the second lacks a feature and has its own versions and bound."""
    features = [
        random_feature(rng, "a", 2),
        random_feature(rng, "b", 2),
        random_feature(rng, "d", 2, lines=("main",)),
        random_feature(rng, "v", 2, role="variant", lines=("main",)),
    ]
    main = [{"a": "a0", "b": "b0", "d": "d0"}, {"a": "a1", "b": "b1", "d": "d1"}]
    export = [{"a": "a0", "b": "b1", "d": "absent"}, {"a": "a1", "b": "b0", "d": "absent"}]
    lines = [
        by_hand.Line("main", main, 1, 4, random_survivors(rng, features, 2, 4)),
        by_hand.Line("export", export, 1, 4, random_survivors(rng, features, 2, 4), missing=("d", "v")),
    ]
    lines[1].bounds[("a", "a0", "a1")] = (3, None)
    lines[0].bounds[("b", "b0", "b1")] = (2, 4)
    return features, lines


def uneven_case(rng):
    """Three lines on different axes: one that does not start at 1, with a change back and a feature that comes from
    nothing; one with a gap in its serials; one that no version describes."""
    features = [
        random_feature(rng, "a", 2),
        random_feature(rng, "b", 3),
        Feature("d", "D", ("absent", "d0", "d1"), permanence="riveted"),
        random_feature(rng, "e", 2, lines=("export",)),
        random_feature(rng, "v", 2, role="variant"),
        Feature("w", "W", ("w0", "absent"), role="variant", lines=("main",)),
    ]
    first = int(rng.integers(0, 5))
    last = first + int(rng.integers(2, 4))
    main = [{"a": "a0", "b": "b0", "d": "absent"}, {"a": "a1", "b": "b1", "d": "d0"}, {"a": "a1", "b": "b0", "d": "d0"}]
    export = [{"a": "a0", "b": "b2", "d": "d1", "e": "e0"}, {"a": "a0", "b": "b1", "d": "d1", "e": "e1"}]
    lines = [
        by_hand.Line("main", main, first, last, missing=("e",), stand=tuple(range(first, last + 1))),
        by_hand.Line("export", export, 10, 14, missing=("w",), stand=(10, 11, 13, 14)),
        by_hand.Line("other", [{}], 1, 2, missing=("e", "w"), unknown=("a", "b", "d"), stand=(1, 2)),
    ]
    if rng.random() < 0.5:
        lines[1].bounds[("e", "e0", "e1")] = (12, None)
    if rng.random() < 0.5:
        lines[0].bounds[("b", "b1", "b0")] = (None, last - 1)
    for line in lines:
        for _ in range(2):
            seen = {f.id: random_sight(rng, f) for f in features if f.id not in line.missing and rng.random() < 0.7}
            line.survivors.append((int(rng.choice(line.stand)), seen))
    return features, lines


def uneven_family(features, lines):
    """Serials M7 … stand from the first position of "main" on, X1, X2 and Y1, Y2 on "export", Z1, Z2 on "other"."""
    main = lines[0]
    blocks = (
        SerialBlock("M", 7, 7 + main.last - main.first, main.first, "main"),
        SerialBlock("X", 1, 2, 10, "export"),
        SerialBlock("Y", 1, 2, 13, "export"),
        SerialBlock("Z", 1, 2, 1, "other"),
    )
    plain = family_of(features, lines)
    documented = tuple(version for version in plain.versions if version.line != "other")
    return replace(plain, versions=documented, serial_blocks=blocks, last_serial=None)


UNEVEN_SERIALS = (
    (None, {"main", "export", "other"}, lambda line, position: True),
    ("M?", {"main"}, lambda line, position: position - line.first + 7 < 10),
    ("?2", {"export", "other"}, lambda line, position: position in (2, 11, 14)),
    ("*2", {"export", "other"}, lambda line, position: position in (2, 11, 14)),
    ("X1", {"export"}, lambda line, position: position == 10),
)


@pytest.mark.parametrize("seed", range(10))
def test_uneven_lines_equal_enumeration(seed):
    """Axes of their own, gaps, features limited to lines, fragments, and a line without documents."""
    rng = np.random.default_rng(100 + seed)
    features, lines = uneven_case(rng)
    family = uneven_family(features, lines)
    sights = {f.id: random_sight(rng, f) for f in features if rng.random() < 0.7}
    serviced = tuple(f.id for f in features if f.id not in sights and rng.random() < 0.3)
    serial, inside, fits = UNEVEN_SERIALS[seed % len(UNEVEN_SERIALS)]
    places = {line.id: [p for p in line.stand if fits(line, p)] for line in lines if line.id in inside}
    bench = BenchSet("bench", "family", serial, observations=observations_of(sights, serviced))
    answer = identify(family, bench, survivors_of(family, lines), exact=True)
    worlds = by_hand.worlds(features, lines, sights, places, serviced)

    check_verdict_and_condition(answer, worlds)
    check_changes(answer, worlds, family)
    check_predictions(answer, worlds)
    check_observations(answer, worlds, features, lines, sights, places, serviced)
    check_looks(answer, worlds, features)


def family_of(features, lines):
    versions = []
    for line in lines:
        for i, states in enumerate(line.versions):
            listed = {f: s for f, s in states.items() if f not in line.missing}
            versions.append(Version(f"{line.id}-{i}", f"{line.id} {i}", line.id, states=listed))
    bounds = []
    for line in lines:
        for (feature, before, after), (earliest, latest) in line.bounds.items():
            after_serial = None if earliest is None else earliest - 1
            bounds.append(CutInBound(feature, before, after, line.id, after_serial, latest))
    return Family(
        "family",
        "Family",
        tuple(features),
        tuple(versions),
        lines=tuple(Line(line.id) for line in lines),
        cut_in_bounds=tuple(bounds),
        last_serial=lines[0].last,
    )


def entry_key(answer, line_versions):
    """The key enumeration uses for a verdict entry."""

    def number(version):
        return int(version.rsplit("-", 1)[1])

    if answer.version is None and answer.between is None:
        return (answer.line, "stage", 0)
    if answer.between is None:
        return (answer.line, "stage", number(answer.version))
    return (answer.line, "gap", number(answer.between[0]))


CASES = [(maker, seed) for maker in (one_line_case, two_line_case) for seed in range(8)]


@pytest.mark.parametrize(("maker", "seed"), CASES, ids=[f"{m.__name__}-{s}" for m, s in CASES])
def test_everything_equals_enumeration(maker, seed):
    rng = np.random.default_rng(seed)
    features, lines = maker(rng)
    family = family_of(features, lines)
    sights = {f.id: random_sight(rng, f) for f in features if rng.random() < 0.7}
    serviced = tuple(f.id for f in features if f.id not in sights and rng.random() < 0.3)
    serial, places = random_place(rng, lines)
    bench = BenchSet("bench", "family", serial, open_to="outside", observations=observations_of(sights, serviced))
    answer = identify(family, bench, survivors_of(family, lines), exact=True)
    worlds = by_hand.worlds(features, lines, sights, places, serviced)

    check_verdict_and_condition(answer, worlds)
    check_changes(answer, worlds, family)
    check_predictions(answer, worlds)
    check_observations(answer, worlds, features, lines, sights, places, serviced)
    check_looks(answer, worlds, features)


def random_place(rng, lines):
    """No serial, a full one or a fragment, with the positions it allows."""
    shortest = min(line.last for line in lines)
    kind = rng.integers(3)
    if kind == 0:
        return None, {line.id: range(1, line.last + 1) for line in lines}
    if kind == 1:
        position = int(rng.integers(1, shortest + 1))
        return str(position), {line.id: [position] for line in lines}
    return "?", {line.id: range(1, line.last + 1) for line in lines}


def check_verdict_and_condition(answer, worlds):
    expected = by_hand.gather(worlds, lambda w: w.entry)
    got = {entry_key(entry, None): entry.probability for entry in answer.verdict}
    for key in expected.keys() | got.keys():
        assert got.get(key, 0.0) == pytest.approx(expected.get(key, 0.0), abs=TOLERANCE)
    for condition, probability in by_hand.gather(worlds, lambda w: w.condition).items():
        assert answer.condition[condition] == pytest.approx(probability, abs=TOLERANCE)
    for entry in answer.verdict:
        here = [w for w in worlds if w.entry == entry_key(entry, None)]
        if sum(w.weight for w in here) <= 0.0:
            continue
        for feature, state in entry.states.items():
            table = by_hand.gather(here, lambda w, f=feature: w.built[f])
            assert table[state] == pytest.approx(max(table.values()), abs=1e-7)
        for number, (change, p) in enumerate(entry.applied.items()):
            table = by_hand.gather(here, lambda w, n=number: n in w.applied)
            assert p == pytest.approx(table.get(True, 0.0), abs=1e-7), change


def check_changes(answer, worlds, family):
    for axis in answer.axes:
        here = [w for w in worlds if w.line == axis.line]
        changes = [c for c in answer.changes if c.line == axis.line]
        positions = by_hand.gather(here, lambda w: w.position)
        for cell, mass in enumerate(axis.position_mass):
            assert mass == pytest.approx(positions.get(axis.edges[cell] + 1, 0.0), abs=TOLERANCE)
        for number, change in enumerate(changes):
            cut_ins = by_hand.gather(here, lambda w, n=number: w.cut_ins[n][1])
            for cell, mass in enumerate(change.mass):
                assert mass == pytest.approx(cut_ins.get(axis.edges[cell] + 1, 0.0), abs=TOLERANCE)
            applied = by_hand.gather(here, lambda w, n=number: n in w.applied)
            assert change.applied_probability == pytest.approx(applied.get(True, 0.0), abs=TOLERANCE)


def check_predictions(answer, worlds):
    for prediction in answer.predicted:
        expected = by_hand.gather(worlds, lambda w, f=prediction.feature: w.built[f])
        for state, probability in prediction.states.items():
            assert probability == pytest.approx(expected.get(state, 0.0), abs=TOLERANCE)


def check_observations(answer, worlds, features, lines, sights, places, serviced):
    leading = entry_key(answer.verdict[0], None)
    by_id = {f.id: f for f in features}
    total = sum(w.weight for w in worlds)

    def odds(table):
        others = sum(p for key, p in table.items() if key != leading)
        return table.get(leading, 0.0) / others if others > 0.0 else np.inf

    with_all = odds(by_hand.gather(worlds, lambda w: w.entry))
    for seen in answer.observations:
        if seen.feature in serviced:
            assert (seen.decibans, seen.altered_probability, seen.misread_probability) == (0.0, 1.0, 0.0)
            continue
        others = {f: s for f, s in sights.items() if f != seen.feature}
        without = odds(by_hand.gather(by_hand.worlds(features, lines, others, places, serviced), lambda w: w.entry))
        expected = 10 * np.log10(with_all / without) if np.isfinite(with_all) else 0.0
        assert seen.decibans == pytest.approx(expected, abs=1e-7)
        state, sure = sights[seen.feature]
        f = by_id[seen.feature]
        altered = misread = 0.0
        rates = by_hand.rates_in_condition(by_hand.rate_of(f))
        for world in worlds:
            parts = by_hand.parts_of_seeing(
                list(f.all_states), state, world.built[f.id], rates[world.condition], by_hand.MISREAD[sure]
            )
            altered += world.weight / total * parts[0] / sum(parts)
            misread += world.weight / total * parts[1] / sum(parts)
        assert seen.altered_probability == pytest.approx(altered, abs=TOLERANCE)
        assert seen.misread_probability == pytest.approx(misread, abs=TOLERANCE)


def check_looks(answer, worlds, features):
    for look in answer.next:
        assert look.bits == pytest.approx(by_hand.expected_bits(worlds, features, [look.feature]), abs=1e-8)
    minutes = {f.id: f.minutes for f in features}
    for batch in answer.batches:
        bits = by_hand.expected_bits(worlds, features, list(batch.features))
        assert batch.bits == pytest.approx(bits, abs=1e-8)
        opening = batch.minutes - sum(minutes[f] for f in batch.features)
        same = [look.feature for look in answer.next if look.access == batch.access and look.bits >= 0.001]
        for other in same:
            rate = by_hand.expected_bits(worlds, features, [other]) / (opening + minutes[other])
            assert batch.bits_per_minute >= rate - 1e-9


def test_serial_blocks_place_sets_on_the_line():
    """A prefix decides the line, and the block's start its place."""
    rng = np.random.default_rng(3)
    features, lines = two_line_case(rng)
    family = family_of(features, lines)
    blocks = (SerialBlock("M", 101, 104, 1, "main"), SerialBlock("X", 1, 4, 1, "export"))
    family = Family(
        family.id,
        family.name,
        family.features,
        family.versions,
        lines=family.lines,
        cut_in_bounds=family.cut_in_bounds,
        serial_blocks=blocks,
    )
    sights = {"a": ("a1", "certain")}
    for serial, places in (("M 103", {"main": [3]}), ("X?", {"export": range(1, 5)}), ("M10?", {"main": range(1, 5)})):
        bench = BenchSet("bench", "family", serial, observations=observations_of(sights))
        answer = identify(family, bench, survivors_of(family, lines), exact=True)
        worlds = by_hand.worlds(features, lines, sights, places)
        check_verdict_and_condition(answer, worlds)
        check_changes(answer, worlds, family)


def test_a_single_position_leaves_nothing_to_order():
    """With one serial every change is in from the first set on."""
    features = [Feature("a", "A", ("a0", "a1")), Feature("b", "B", ("b0", "b1"))]
    lines = [by_hand.Line("main", [{"a": "a0", "b": "b0"}, {"a": "a1", "b": "b1"}], 1, 1)]
    answer = identify(family_of(features, lines), BenchSet("bench", "family", "1"), assumptions=Assumptions())
    assert answer.verdict[0].version == "main-1"
    assert answer.verdict[0].probability == pytest.approx(1.0, abs=TOLERANCE)
