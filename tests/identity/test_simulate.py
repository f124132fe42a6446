"""Simulated productions follow the model: order, simultaneity, bounds, alteration and reading."""

from __future__ import annotations

import itertools
from collections import Counter

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.identity.assumptions import Assumptions
from setwright.identity.model import (
    LOOKS_SERVICED,
    NOT_SEEN,
    SURENESSES,
    CutInBound,
    Family,
    Feature,
    ImpossibleHistory,
    Line,
    Version,
)
from setwright.identity.places import Axis
from setwright.identity.simulate import (
    OTHER_STATE,
    bench_set_of,
    draw_production,
    draw_sets,
    draw_windows,
    factory_states,
    survivors_of,
)


def family_of(blocks: list[int], last: int = 900, bounds: tuple[CutInBound, ...] = ()) -> Family:
    """A family with one line: block j has blocks[j] features that go from "old" to "new"."""
    features, owner = [], []
    for j, size in enumerate(blocks):
        for i in range(size):
            features.append(Feature(f"f{j}{i}", f"Feature {j}{i}", ("old", "new"), permanence="soldered"))
            owner.append(j)
    versions = tuple(
        Version(
            f"v{v}",
            f"Version {v}",
            states={f.id: "new" if j < v else "old" for f, j in zip(features, owner, strict=True)},
        )
        for v in range(len(blocks) + 1)
    )
    return Family("t", "Test", tuple(features), versions, last_serial=last, cut_in_bounds=bounds)


def axis(count: int, first: int = 1) -> Axis:
    return Axis("main", first, first + count - 1, "serial", ((first, first + count - 1),))


@given(st.integers(0, 10**6), st.lists(st.integers(1, 4), min_size=1, max_size=4), st.integers(6, 400))
def test_blocks_keep_the_order_of_versions(seed: int, blocks: list[int], last: int) -> None:
    production = draw_production(family_of(blocks, last), np.random.default_rng(seed))
    line = production.line_history("main")
    previous = 1
    for block in line.blocks:
        cut_ins = [production.cut_ins[change.id] for change in block]
        assert previous <= min(cut_ins)
        assert max(cut_ins) <= last
        previous = max(cut_ins)


def test_every_order_of_windows_is_equally_likely() -> None:
    rng = np.random.default_rng(1)
    drawn = Counter(tuple(draw_windows(2, axis(4), rng, simultaneous=0.0)) for _ in range(14_000))
    ordered = [w for w in itertools.combinations_with_replacement(range(1, 5), 4) if w[0] < w[1] and w[2] < w[3]]
    assert set(drawn) == {((a, b), (c, d)) for a, b, c, d in ordered}
    expected = 14_000 / len(ordered)
    assert all(abs(n - expected) < 5 * expected**0.5 for n in drawn.values())


def test_the_prior_can_be_drawn_from() -> None:
    """Weights by enumeration: kappa for a stroke, (1 - kappa) / (N - 1) for any other window."""
    count, kappa, draws = 5, 0.5, 20_000
    weights: Counter[tuple[tuple[int, int], ...]] = Counter()
    for a, b, c, d in itertools.combinations_with_replacement(range(1, count + 1), 4):
        q = [kappa if low == high else (1 - kappa) / (count - 1) for low, high in ((a, b), (c, d))]
        weights[(a, b), (c, d)] = q[0] * q[1]
    total = sum(weights.values())
    rng = np.random.default_rng(2)
    drawn = Counter(tuple(draw_windows(2, axis(count), rng, simultaneous=None)) for _ in range(draws))
    for windows, weight in weights.items():
        expected = draws * weight / total
        assert abs(drawn[windows] - expected) < 5 * expected**0.5


def test_half_the_blocks_are_made_at_one_stroke() -> None:
    rng = np.random.default_rng(3)
    family = family_of([3, 3, 3, 3], 100_000)
    at_once = 0
    for _ in range(400):
        production = draw_production(family, rng)
        blocks = production.line_history("main").blocks
        at_once += sum(len({production.cut_ins[c.id] for c in block}) == 1 for block in blocks)
    assert abs(at_once / 1600 - 0.5) < 0.05


def test_a_run_of_one_set_has_everything_from_the_start() -> None:
    production = draw_production(family_of([2, 1], 1), np.random.default_rng(4))
    assert set(production.cut_ins.values()) == {1}
    with pytest.raises(ValueError, match="spread out"):
        draw_windows(2, axis(1), np.random.default_rng(4), simultaneous=0.0)


def test_documented_bounds_are_kept() -> None:
    bound = CutInBound("f01", "old", "new", after=300, before=420)
    family = family_of([2, 2], bounds=(bound,))
    for seed in range(50):
        cut_in = draw_production(family, np.random.default_rng(seed)).cut_ins["main:f01:1"]
        assert 301 <= cut_in <= 420


def test_bounds_that_are_never_kept_are_named() -> None:
    crossing = (CutInBound("f00", "old", "new", after=899), CutInBound("f10", "old", "new", before=900))
    family = family_of([1, 1], 10**9, crossing)
    with pytest.raises(ImpossibleHistory, match="never all kept"):
        draw_production(family, np.random.default_rng(5))


def test_factory_states_change_at_the_cut_in() -> None:
    family = family_of([2, 1])
    production = draw_production(family, np.random.default_rng(6))
    for change in production.line_history("main").changes:
        cut_in = production.cut_ins[change.id]
        assert factory_states(production, "main", cut_in)[change.feature] == "new"
        assert factory_states(production, "main", cut_in - 1)[change.feature] == "old"


def there_and_back() -> Family:
    feature = Feature("tone", "Tone capacitor", ("small", "large"))
    finish = Feature("finish", "Finish", ("walnut", "blond"), role="variant", lines=("main",))
    selector = Feature("selector", "Voltage selector", ("three taps", "five taps"), lines=("export",))
    other = Feature("label", "Label", ("a", "b"))
    states = ("small", "large", "small")
    versions = [Version(f"m{i}", f"M{i}", states={"tone": s}) for i, s in enumerate(states)]
    versions.append(Version("x0", "X0", "export", {"selector": "three taps", "tone": "small", "label": "a"}))
    return Family(
        "t", "Test", (feature, finish, selector, other), tuple(versions), lines=(Line("main"), Line("export")),
        last_serial=1000,
    )  # fmt: skip


def test_lines_variants_and_a_change_back() -> None:
    production = draw_production(there_and_back(), np.random.default_rng(7), free={"label": "throughout"})
    out, back = production.cut_ins["main:tone:1"], production.cut_ins["main:tone:2"]
    assert out <= back
    assert factory_states(production, "main", 1000)["tone"] == "small"
    assert factory_states(production, "main", 1)["selector"] == "absent"
    assert factory_states(production, "export", 1) == {
        "tone": "small", "finish": "absent", "selector": "three taps", "label": "a",
    }  # fmt: skip
    # The main line's documents do not mention the label: here one state for the whole run.
    assert production.free["main", "label"].order in {("a",), ("b",)}
    drawn = draw_sets(production, 400, np.random.default_rng(8), not_seen=0.0)
    main = drawn.line == 0
    finish = production.family.feature("finish")
    assert set(drawn.built["finish"][main]) == {finish.all_states.index(s) for s in ("walnut", "blond")}
    assert set(drawn.built["finish"][~main]) == {finish.all_states.index("absent")}
    assert len(set(drawn.built["label"][main])) == 1


def test_rates_of_alteration_reading_and_looking() -> None:
    """20,000 sets: alteration at the marginal rate, misread by sureness, 30 % not seen."""
    production = draw_production(family_of([1]), np.random.default_rng(9))
    drawn = draw_sets(production, 20_000, np.random.default_rng(10), sureness=(0.5, 0.3, 0.2), noticed=0.4)
    seen, altered, misread = drawn.seen["f00"], drawn.altered["f00"], drawn.misread["f00"]
    assert abs(altered.mean() - 0.06) < 0.006
    assert abs((seen == NOT_SEEN).mean() - 0.3) < 0.015
    assert altered[seen == LOOKS_SERVICED].all()
    assert abs((seen == LOOKS_SERVICED).sum() / (altered & (seen != NOT_SEEN)).sum() - 0.4) < 0.06
    sure = seen % len(SURENESSES)
    for level, rate in ((0, 0.02), (1, 0.08), (2, 0.25)):
        chosen = (seen >= 0) & ~altered & (sure == level)
        assert abs(misread[chosen].mean() - rate) < 5 * (rate / chosen.sum()) ** 0.5
    read_right = (seen >= 0) & ~altered & ~misread
    assert (seen[read_right] // len(SURENESSES) == drawn.built["f00"][read_right]).all()


def test_alterations_gather_in_sets_of_bad_condition() -> None:
    production = draw_production(family_of([5]), np.random.default_rng(11))
    drawn = draw_sets(production, 20_000, np.random.default_rng(12))
    altered = np.mean([drawn.altered[f] for f in drawn.altered], axis=0)
    expected = Assumptions().rates_by_condition(0.06)
    for condition in range(3):
        assert abs(altered[drawn.condition == condition].mean() - expected[condition]) < 0.01


def test_drawn_sets_become_survivors_and_bench_sets() -> None:
    family = family_of([2, 2])
    production = draw_production(family, np.random.default_rng(13))
    drawn = draw_sets(production, 60, np.random.default_rng(14), noticed=0.5)
    survivors = survivors_of(drawn)
    assert len(survivors) == 60
    for row in range(60):
        bench = bench_set_of(drawn, row)
        assert bench.serial == str(drawn.position[row])
        assert len(bench.latest) == sum(drawn.seen[f][row] != NOT_SEEN for f in drawn.seen)
        for observation in bench.observations:
            code = int(drawn.seen[observation.feature][row])
            assert observation.serviced == (code == LOOKS_SERVICED)
            if not observation.serviced:
                assert observation.state == (*("old", "new"), OTHER_STATE)[code // 3]


def test_positions_leave_gaps_between_serial_blocks_empty() -> None:
    family = family_of([1])
    production = draw_production(family, np.random.default_rng(15))
    holes = Axis("main", 1, 900, "serial", ((1, 50), (851, 900)))
    production = type(production)(family, production.history, {"main": holes}, production.cut_ins, {})
    drawn = draw_sets(production, 2000, np.random.default_rng(16))
    assert ((drawn.position <= 50) | (drawn.position >= 851)).all()
    assert abs((drawn.position <= 50).mean() - 0.5) < 0.05
