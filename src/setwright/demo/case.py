"""Draws a production in which the set on the bench can be what its plan says, and the set itself."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from setwright.demo.plans import TELLING_MARKS, BenchPlan
from setwright.identity.model import ABSENT, Family
from setwright.identity.places import describe
from setwright.identity.simulate import Production, draw_production, factory_states

MOST_PRODUCTIONS = 5000
"""So many productions are drawn until one has room for the planned set."""


@dataclass(frozen=True, slots=True)
class BenchCase:
    """The set on the bench as it truly is.

    serial : in full. states : as it left the factory, variants included. made : the changes, between its two
    versions, that it has. seen_marks : the two marks of them that are looked at.
    """

    production: Production
    line: str
    position: int
    serial: str
    states: dict[str, str]
    made: tuple[str, ...]
    seen_marks: tuple[str, ...]


def draw_case(family: Family, plan: BenchPlan, rng: np.random.Generator) -> BenchCase:
    """A production and the planned set in it; half of the blocks are made at one stroke, the planned gap is not.

    Raises ValueError where the plan asks for something that the family can hardly have.
    """
    for _ in range(MOST_PRODUCTIONS):
        production = draw_production(family, rng)
        places = _transitional_places(production, plan) if plan.between else _places_of_version(production, plan)
        if places is None:
            continue
        position = int(rng.integers(places[0], places[1] + 1))
        return _case(production, plan, position, rng)
    raise ValueError(
        f"{plan.id}: none of {MOST_PRODUCTIONS:,} productions of {family.id} has a set as planned; "
        "see which marks and versions the plan names"
    )


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


def _places_of_version(production: Production, plan: BenchPlan) -> tuple[int, int] | None:
    """The positions behind the block that leads to the planned version, and before the next one."""
    history, axis = production.line_history(plan.line), production.axes[plan.line]
    stage = [stage.version for stage in history.stages].index(str(plan.version))
    cut_ins = [[production.cut_ins[change.id] for change in block] for block in history.blocks]
    first = max(cut_ins[stage - 1]) if stage > 0 else axis.first
    last = min(cut_ins[stage]) - 1 if stage < len(cut_ins) else axis.last
    return (first, last) if first <= last else None


def _case(production: Production, plan: BenchPlan, position: int, rng: np.random.Generator) -> BenchCase:
    family = production.family
    states = factory_states(production, plan.line, position)
    for feature in family.features:
        if feature.role == "variant":
            choice = int(rng.integers(len(feature.states)))
            states[feature.id] = feature.states[choice] if feature.in_line(plan.line) else ABSENT
    made: tuple[str, ...] = ()
    if plan.between:
        block = production.line_history(plan.line).blocks[_block_of(production, plan)]
        made = tuple(change.feature for change in block if position >= production.cut_ins[change.id])
    return BenchCase(
        production=production,
        line=plan.line,
        position=position,
        serial=describe(family, plan.line, position),
        states={feature.id: states[feature.id] for feature in family.features},
        made=made,
        seen_marks=tuple(feature for feature in made if feature in plan.marks),
    )
