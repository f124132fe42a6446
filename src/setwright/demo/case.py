"""Draws a production in which the sets on the bench can be what their plans say, and the sets themselves."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice

import numpy as np

from setwright.demo.plans import TELLING_MARKS, BenchPlan, PlannedFree
from setwright.identity.assumptions import Assumptions
from setwright.identity.model import Family
from setwright.identity.places import Axis, describe
from setwright.identity.simulate import FreeRun, Production, draw_productions
from setwright.identity.simulate.built import draw_built
from setwright.identity.simulate.free import draw_free_run

MOST_PRODUCTIONS = 5000
"""So many productions are drawn until one has room for the planned sets."""

MOST_RUNS = 2000
"""So many histories of a feature without documents are drawn until one is as planned."""


@dataclass(frozen=True, slots=True)
class BenchCase:
    """A set on the bench as it truly is.

    serial : in full. states : as it left the factory, variants included; of a group that came from elsewhere those
    of the set it came from. made : the changes, between its two versions, that it has. seen_marks : the two marks
    of them that are looked at. married : the position that the planned group came from, or None.
    """

    production: Production
    line: str
    position: int
    serial: str
    states: dict[str, str]
    made: tuple[str, ...]
    seen_marks: tuple[str, ...]
    married: int | None = None


def draw_cases(
    family: Family, plans: Sequence[BenchPlan], rng: np.random.Generator, free: Mapping[str, PlannedFree] | None = None
) -> tuple[BenchCase, ...]:
    """A production and the planned sets in it; half of the blocks are made at one stroke, a planned gap is not.

    free : how features without documents ran, by id; the others are left to chance.

    Raises ValueError where the plans ask for something that the family can hardly have.
    """
    for production in islice(draw_productions(family, rng), MOST_PRODUCTIONS):
        places = [_places(production, plan) for plan in plans]
        if all(place is not None for place in places):
            production = _with_planned_free(production, free or {}, rng)
            return tuple(_case(production, p, at, rng) for p, at in zip(plans, places, strict=True) if at is not None)
    raise ValueError(
        f"{', '.join(plan.id for plan in plans)}: none of {MOST_PRODUCTIONS:,} productions of {family.id} has room for "
        "the planned; see which marks, versions and free features the plans name"
    )


def _with_planned_free(production: Production, free: Mapping[str, PlannedFree], rng: np.random.Generator) -> Production:
    """The production with its planned features without documents drawn anew; lines that share cut-ins share them."""
    family, runs = production.family, dict(production.free)
    leaders = {line.id: line.shares_cutins_with or line.id for line in family.lines}
    drawn: dict[tuple[str, str], FreeRun] = {}
    for line, feature in runs:
        if feature not in free:
            continue
        key = (leaders[line], feature)
        if key not in drawn:
            drawn[key] = _planned_run(family, feature, production.axes[leaders[line]], free[feature], rng)
        runs[line, feature] = drawn[key]
    return replace(production, free=runs)


def _planned_run(family: Family, feature: str, axis: Axis, planned: PlannedFree, rng: np.random.Generator) -> FreeRun:
    low, high = (axis.first + share * axis.count for share in planned.between)
    for _ in range(MOST_RUNS):
        run = draw_free_run(family.feature(feature), axis, rng, Assumptions().free_shares, planned.kind)
        if all(low <= cut_in <= high for cut_in in run.cut_ins) and min(run.shares, default=1.0) >= planned.least_share:
            return run
    raise ValueError(
        f"{feature}: in {MOST_RUNS:,} draws it never ran as planned; plan more room for its changes or shares"
    )


_Places = tuple[tuple[int, int], tuple[int, int] | None]
"""First and last position for the set, and for the group that came from elsewhere."""


def _places(production: Production, plan: BenchPlan) -> _Places | None:
    """Where the planned set may stand; None where the run gives no room."""
    own = _transitional_places(production, plan) if plan.between else _places_of_version(production, plan, plan.version)
    if own is None:
        return None
    if plan.married is None:
        return own, None
    away = _places_of_version(production, plan, plan.married.version)
    return None if away is None else (own, away)


def _block_of(production: Production, plan: BenchPlan) -> int:
    """The number of the block that leads from the earlier of the plan's two versions to the later one."""
    assert plan.between is not None
    stages = [stage.version for stage in production.line_history(plan.line).stages]
    block = stages.index(plan.between[0])
    if stages[block + 1 : block + 2] != [plan.between[1]]:
        raise ValueError(f"{plan.id}: {plan.between[1]} does not follow {plan.between[0]} in line {plan.line}")
    return block


def _transitional_places(production: Production, plan: BenchPlan) -> tuple[int, int] | None:
    """The positions at which exactly two of the plan's marks have changed; None where the run gives no room."""
    blocks, number = production.line_history(plan.line).blocks, _block_of(production, plan)
    axis = production.axes[plan.line]
    cut_ins = [[production.cut_ins[change.id] for change in block] for block in blocks]
    before = max(cut_ins[number - 1]) if number > 0 else axis.first
    window = (max(cut_ins[number]) - min(cut_ins[number])) / axis.count
    if not plan.window[0] <= window <= plan.window[1] or (min(cut_ins[number]) - before) / axis.count < plan.room:
        return None
    marks = sorted(production.cut_ins[change.id] for change in blocks[number] if change.feature in plan.marks)
    if len(marks) != len(plan.marks):
        raise ValueError(f"{plan.id}: not every mark changes between {plan.between}")
    first, last = marks[TELLING_MARKS - 1], marks[TELLING_MARKS] - 1
    return (first, last) if last - first >= plan.stay * axis.count else None


def _places_of_version(production: Production, plan: BenchPlan, version: str | None) -> tuple[int, int] | None:
    """The positions behind the block that leads to a version of the plan's line, and before the next one."""
    history, axis = production.line_history(plan.line), production.axes[plan.line]
    stage = [stage.version for stage in history.stages].index(str(version))
    cut_ins = [[production.cut_ins[change.id] for change in block] for block in history.blocks]
    first = max(cut_ins[stage - 1]) if stage > 0 else axis.first
    last = min(cut_ins[stage]) - 1 if stage < len(cut_ins) else axis.last
    return (first, last) if first <= last else None


def _case(production: Production, plan: BenchPlan, places: _Places, rng: np.random.Generator) -> BenchCase:
    family = production.family
    position, *away = (int(rng.integers(first, last + 1)) for first, last in (p for p in places if p is not None))
    states = {}
    for feature in family.features:
        moved = plan.married is not None and feature.group == plan.married.group
        where = np.array([away[0] if moved else position])
        built = draw_built(production, feature, np.array([family.line_ids.index(plan.line)]), where, rng)
        states[feature.id] = feature.all_states[int(built[0])]
    made: tuple[str, ...] = ()
    if plan.between:
        block = production.line_history(plan.line).blocks[_block_of(production, plan)]
        made = tuple(change.feature for change in block if position >= production.cut_ins[change.id])
    return BenchCase(
        production=production,
        line=plan.line,
        position=position,
        serial=describe(family, plan.line, position),
        states=states,
        made=made,
        seen_marks=tuple(feature for feature in made if feature in plan.marks),
        married=away[0] if away else None,
    )
