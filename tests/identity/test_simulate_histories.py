"""Simulated productions have what documents leave open: old stock, silence, features without documents, shared runs."""

from __future__ import annotations

from collections import Counter
from math import comb

import numpy as np
import pytest

from setwright.identity.assumptions import Assumptions
from setwright.identity.model import CutInBound, Family, Feature, Line, Version
from setwright.identity.simulate import (
    CHANGES,
    MIXED,
    THROUGHOUT,
    draw_production,
    draw_sets,
    factory_states,
    true_entry,
)


def family_with(features: list[Feature], states: list[dict[str, str]], last: int = 1000, **more: object) -> Family:
    versions = tuple(Version(f"v{i}", f"Version {i}", states=said) for i, said in enumerate(states))
    return Family("t", "Test", tuple(features), versions, last_serial=last, **more)  # type: ignore[arg-type]


def built_by_position(production, feature: str, count: int, rng: np.random.Generator, line: str = "main"):
    """(positions, states as built) of many sets."""
    drawn = draw_sets(production, count, rng, line=line)
    states = np.array(production.family.feature(feature).all_states)
    return drawn.position, states[drawn.built[feature]]


def test_old_stock_mixes_both_states_around_the_cut_in_and_nowhere_else() -> None:
    family = family_with([Feature("a", "A", ("old", "new"), overlap=60)], [{"a": "old"}, {"a": "new"}])
    rng = np.random.default_rng(1)
    production = next(p for p in iter(lambda: draw_production(family, rng), None) if 200 < p.cut_ins["main:a:1"] < 800)
    cut_in = production.cut_ins["main:a:1"]
    position, state = built_by_position(production, "a", 30_000, rng)
    near = np.abs(position - cut_in) < 60
    assert abs((state[near] == "new").mean() - 0.5) < 5 * 0.5 / near.sum() ** 0.5
    assert set(position[near] - cut_in) == set(range(-59, 60))
    assert (state[~near] == np.where(position[~near] >= cut_in, "new", "old")).all()
    # What the verdict and the register go by knows no old stock.
    assert factory_states(production, "main", cut_in)["a"] == "new"
    assert factory_states(production, "main", cut_in - 1)["a"] == "old"


@pytest.mark.parametrize(("gap", "border"), [(30, 0), (70, 11), (200, 141)])
def test_where_overlaps_meet_the_earlier_ends_where_the_later_begins(gap: int, border: int) -> None:
    """Cut-ins at 400 and 400 + gap with an overlap of 60: the second's begins `border` behind the first."""
    family = family_with(
        [Feature("a", "A", ("x", "y", "z"), overlap=60)], [{"a": "x"}, {"a": "y"}, {"a": "z"}]
    )  # fmt: skip
    production = draw_production(family, np.random.default_rng(2))
    production = type(production)(
        family, production.history, production.axes, {"main:a:1": 400, "main:a:2": 400 + gap}, {}
    )
    position, state = built_by_position(production, "a", 30_000, np.random.default_rng(3))
    for at in range(300, 400 + gap + 100):
        here = set(state[position == at])
        if at >= 400 + border:
            expected = {"y", "z"} if abs(at - 400 - gap) < 60 else {"z"} if at >= 400 + gap else {"y"}
        else:
            expected = {"x", "y"} if abs(at - 400) < 60 else {"x"} if at < 400 else {"y"}
        assert here == expected, at


def test_a_free_feature_has_old_stock_too() -> None:
    family = family_with([Feature("f", "F", ("x", "y"), overlap=60)], [])
    rng = np.random.default_rng(20)
    runs = iter(lambda: draw_production(family, rng, free={"f": CHANGES}), None)
    production = next(p for p in runs if 200 < p.free["main", "f"].cut_ins[0] < 800)
    run = production.free["main", "f"]
    position, state = built_by_position(production, "f", 20_000, rng)
    near = np.abs(position - run.cut_ins[0]) < 60
    assert abs((state[near] == "x").mean() - 0.5) < 5 * 0.5 / near.sum() ** 0.5
    assert (state[~near] == np.array(run.order)[(position[~near] >= run.cut_ins[0]).astype(int)]).all()


def silent_family(last: int = 900) -> Family:
    """b changes somewhere from v0 to v3; v1 and v2 do not say where."""
    a, b, c, d = (Feature(x, x.upper(), ("old", "new")) for x in "abcd")
    old, new = "old", "new"
    return family_with(
        [a, b, c, d],
        [
            {"a": old, "b": old, "c": old, "d": old},
            {"a": new, "c": old, "d": old},
            {"a": new, "c": new, "d": old},
            {"a": new, "b": new, "c": new, "d": new},
        ],
        last,
    )


def test_a_silent_change_belongs_to_each_spanned_block_alike_and_lies_in_its_window() -> None:
    rng = np.random.default_rng(4)
    counts: Counter[int] = Counter()
    for _ in range(3000):
        production = draw_production(silent_family(), rng, simultaneous=1.0)
        block = production.silent_blocks["main:b:1"]
        counts[block] += 1
        # Blocks at one stroke: the change lies where the others of its block do.
        assert production.cut_ins["main:b:1"] == production.cut_ins[f"main:{'acd'[block]}:1"]
        assert [c.feature for c in production.blocks("main")[block]] == ["acd"[block], "b"]
    assert all(abs(counts[block] - 1000) < 5 * 1000**0.5 for block in range(3))


def test_the_true_entry_counts_a_silent_change_as_a_member_of_its_block() -> None:
    production = draw_production(silent_family(), np.random.default_rng(5))
    cut_ins = {"main:a:1": 100, "main:b:1": 350, "main:c:1": 300, "main:d:1": 600}
    production = type(production)(production.family, production.history, production.axes, cut_ins, {}, {"main:b:1": 1})
    assert [true_entry(production, "main", s) for s in (1, 99, 100, 299, 300, 349, 350, 599, 600)] == [
        "v0", "v0", "v1", "v1", ("v1", "v2"), ("v1", "v2"), "v2", "v2", "v3",
    ]  # fmt: skip


def free_family() -> Family:
    return family_with(
        [Feature("a", "A", ("old", "new")), Feature("f", "F", ("x", "y", "z"))],
        [{"a": "old"}, {"a": "new"}],
    )


def test_features_without_documents_change_stay_or_are_mixed_as_often_as_assumed() -> None:
    rng = np.random.default_rng(6)
    runs = [draw_production(free_family(), rng).free["main", "f"] for _ in range(4000)]
    kinds = Counter(run.kind for run in runs)
    for kind, share in ((CHANGES, 0.5), (THROUGHOUT, 0.25), (MIXED, 0.25)):
        assert abs(kinds[kind] / 4000 - share) < 5 * 0.5 / 4000**0.5
    orders = Counter(run.order for run in runs if run.kind == CHANGES)
    assert len(orders) == 6
    assert all(abs(n - kinds[CHANGES] / 6) < 5 * (kinds[CHANGES] / 6) ** 0.5 for n in orders.values())
    stay = Counter(run.order for run in runs if run.kind == THROUGHOUT)
    assert set(stay) == {("x",), ("y",), ("z",)}
    shares = np.array([run.shares for run in runs if run.kind == MIXED])
    assert np.allclose(shares.sum(axis=1), 1.0)
    # Uniform on the triangle: mean 1/3, variance 1/18 each.
    assert np.abs(shares.mean(axis=0) - 1 / 3).max() < 5 * (1 / 18 / len(shares)) ** 0.5
    other = Assumptions(free_shares=(0.0, 0.0, 1.0))
    assert draw_production(free_family(), rng, assumptions=other).free["main", "f"].kind == MIXED


def test_cut_ins_of_free_changes_are_uniform_over_all_ordered_ones() -> None:
    family = family_with([Feature("f", "F", ("x", "y", "z"))], [], last=4)
    rng = np.random.default_rng(7)
    drawn = Counter(draw_production(family, rng, free={"f": CHANGES}).free["main", "f"].cut_ins for _ in range(10_000))
    expected = 10_000 / comb(5, 2)
    assert len(drawn) == comb(5, 2)
    assert all(first <= second for first, second in drawn)
    assert all(abs(n - expected) < 5 * expected**0.5 for n in drawn.values())


def test_sets_follow_a_free_feature() -> None:
    rng = np.random.default_rng(8)
    changed = draw_production(free_family(), rng, free={"f": CHANGES})
    run = changed.free["main", "f"]
    position, state = built_by_position(changed, "f", 3000, rng)
    past = (position >= run.cut_ins[0]).astype(int) + (position >= run.cut_ins[1])
    assert (state == np.array(run.order)[past]).all()
    mixed = draw_production(free_family(), rng, free={"f": MIXED})
    _, state = built_by_position(mixed, "f", 20_000, rng)
    for name, share in zip("xyz", mixed.free["main", "f"].shares, strict=True):
        assert abs((state == name).mean() - share) < 5 * 0.5 / 20_000**0.5
    assert "f" not in factory_states(mixed, "main", 10)
    assert factory_states(changed, "main", 1000)["f"] == run.order[-1 if run.cut_ins[1] <= 1000 else 0]


def sharing_family(bounds: tuple[CutInBound, ...] = ()) -> Family:
    """Export goes through main's first block, with a change of its own in it; neither says anything of f."""
    a, b, f = (Feature(x, x.upper(), ("old", "new")) for x in "abf")
    own = Feature("own", "Own", ("early", "late"), lines=("export",))
    versions = (
        Version("m0", "M0", states={"a": "old", "b": "old"}),
        Version("m1", "M1", states={"a": "new", "b": "old"}),
        Version("m2", "M2", states={"a": "new", "b": "new"}),
        Version("x0", "X0", "export", {"a": "old", "b": "old", "own": "early"}),
        Version("x1", "X1", "export", {"a": "new", "b": "old", "own": "late"}),
    )
    lines = (Line("main"), Line("export", shares_cutins_with="main"))
    return Family("t", "Test", (a, b, f, own), versions, lines=lines, last_serial=500, cut_in_bounds=bounds)


def test_lines_that_share_their_cut_ins_have_the_same_run() -> None:
    rng = np.random.default_rng(9)
    for _ in range(100):
        production = draw_production(sharing_family(), rng, simultaneous=1.0)
        assert production.cut_ins["export:a:1"] == production.cut_ins["main:a:1"]
        assert production.cut_ins["export:own:1"] == production.cut_ins["main:a:1"]
        assert production.free["main", "f"] is production.free["export", "f"]


def test_a_bound_documented_of_either_line_holds_for_both() -> None:
    rng = np.random.default_rng(10)
    for line in ("main", "export"):
        bound = CutInBound("a", "old", "new", line=line, after=100, before=180)
        for _ in range(40):
            production = draw_production(sharing_family((bound,)), rng)
            assert 101 <= production.cut_ins["main:a:1"] <= 180
