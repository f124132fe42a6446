"""Simulated sets can be married and simulated registers can have lost serials and lines."""

from __future__ import annotations

import numpy as np
import pytest

from setwright.identity.groups import qualifying_groups
from setwright.identity.model import Family, Feature, Line, SerialBlock, Version
from setwright.identity.places import locate
from setwright.identity.simulate import NOT_MARRIED, draw_production, draw_sets, survivors_of
from setwright.notation import parse_serial


def two_lines(blocks: tuple[SerialBlock, ...] = ()) -> Family:
    """Chassis, cabinet and tuner of two features each, and a lone knob; export has a feature of its own."""
    names = [
        ("c1", "chassis"),
        ("c2", "chassis"),
        ("w1", "cabinet"),
        ("w2", "cabinet"),
        ("t1", "tuner"),
        ("k", "knobs"),
    ]
    features = [Feature(name, name, ("old", "new"), group=group) for name, group in names]
    features.append(Feature("t2", "t2", ("plain", "fancy"), group="tuner", lines=("export",)))
    versions = []
    for line in ("main", "export"):
        for v in range(2):
            states = {name: ("old", "new")[v] for name, _ in names}
            if line == "export":
                states["t2"] = ("plain", "fancy")[v]
            versions.append(Version(f"{line}{v}", f"{line} {v}", line, states))
    lines = (Line("main"), Line("export"))
    return Family("t", "Test", tuple(features), tuple(versions), lines=lines, last_serial=900, serial_blocks=blocks)


def names_of(features):
    return tuple(group.name for group in qualifying_groups(features))


def test_only_groups_of_two_or_more_besides_the_main_one_move() -> None:
    assert names_of(two_lines().features) == ("cabinet", "tuner")
    no_chassis = [Feature(x, x, ("a", "b"), group=x[0]) for x in ("p1", "q1", "q2", "r1", "r2")]
    assert names_of(no_chassis) == ("r",)
    assert names_of([Feature("a", "A", ("x", "y"))]) == ()


def test_a_married_group_shows_what_its_own_set_had() -> None:
    production = draw_production(two_lines(), np.random.default_rng(1))
    drawn = draw_sets(production, 20_000, np.random.default_rng(2), married=0.3)
    made = drawn.marriages
    married = made.group != NOT_MARRIED
    assert abs(married.mean() - 0.3) < 5 * (0.21 / 20_000) ** 0.5
    assert abs((made.group[married] == 0).mean() - 0.5) < 5 * 0.5 / married.sum() ** 0.5
    assert (made.line[~married] == drawn.line[~married]).all()
    assert (made.position[~married] == drawn.position[~married]).all()
    # Where it came from says nothing about where it went, and every place is as likely.
    assert abs((made.line[married] != drawn.line[married]).mean() - 0.5) < 5 * 0.5 / married.sum() ** 0.5
    assert abs(np.median(made.position[married]) - 450) < 30
    for feature in production.family.features:
        moved = married & (made.group == {"cabinet": 0, "tuner": 1}.get(feature.group, 9))
        line = np.where(moved, made.line, drawn.line)
        position = np.where(moved, made.position, drawn.position)
        expected = np.zeros(len(drawn), dtype=int)
        for number, line_id in enumerate(production.family.line_ids):
            here = line == number
            if feature.in_line(line_id):
                late = position[here] >= production.cut_ins[f"{line_id}:{feature.id}:1"]
                expected[here] = late.astype(int) + ("absent" in feature.all_states)
        assert (drawn.built[feature.id] == expected).all(), feature.id


def test_sets_without_marriages_stay_as_they_were() -> None:
    """Drawing none takes nothing from the random numbers."""
    production = draw_production(two_lines(), np.random.default_rng(3))
    one, other = (draw_sets(production, 50, np.random.default_rng(4), **more) for more in ({}, {"married": 0.0}))
    assert (one.marriages.group == NOT_MARRIED).all()
    assert all((one.seen[f] == other.seen[f]).all() for f in one.seen)


def test_serials_are_lost_by_shares() -> None:
    drawn = draw_sets(draw_production(two_lines(), np.random.default_rng(5)), 40, np.random.default_rng(6))
    whole = survivors_of(drawn)
    assert (whole.position == drawn.position).all()
    survivors = survivors_of(drawn, np.random.default_rng(7), lost=0.375, partial=0.1)
    missing = survivors.position < 0
    assert missing.sum() == 19
    assert len(survivors.serial) == 4
    assert (survivors.position[~missing] == drawn.position[~missing]).all()
    assert (survivors.line == drawn.line).all()
    for row, written in survivors.serial.items():
        assert "?" in written
        places = locate(drawn.production.family, written, drawn.production.family.line_ids[drawn.line[row]])
        assert any(place.first <= drawn.position[row] <= place.last for place in places)


def test_a_lost_line_is_found_again_by_a_serial_that_only_it_has() -> None:
    for prefixes, known in ((("A", "B"), True), (("A", "A"), False)):
        blocks = tuple(
            SerialBlock(prefix, 1, 900, 1, line) for prefix, line in zip(prefixes, ("main", "export"), strict=True)
        )
        drawn = draw_sets(draw_production(two_lines(blocks), np.random.default_rng(8)), 30, np.random.default_rng(9))
        survivors = survivors_of(drawn, np.random.default_rng(10), lost=0.2, lineless=0.5)
        lost = (survivors.line < 0).sum()
        if known:
            # Only those that have lost their serial as well stay without a line.
            assert lost <= 6
            assert not survivors.serial
        else:
            assert lost == 15
            full = [parse_serial(serial).is_full for serial in survivors.serial.values()]
            assert all(full)
            assert all(survivors.position[row] < 0 for row in survivors.serial)
        kept = survivors.line >= 0
        assert (survivors.line[kept] == drawn.line[kept]).all()


def test_shares_that_cannot_be_are_refused() -> None:
    drawn = draw_sets(draw_production(two_lines(), np.random.default_rng(11)), 4, np.random.default_rng(12))
    rng = np.random.default_rng(13)
    with pytest.raises(ValueError, match="shares from 0 to 1"):
        survivors_of(drawn, rng, lost=0.7, partial=0.4)
    with pytest.raises(ValueError, match="with rng"):
        survivors_of(drawn, lost=0.5)
