"""The whole way from a family and its sets to findings by drawn histories."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from setwright.identity.answer import Method, RateEvidence
from setwright.identity.assumptions import Assumptions
from setwright.identity.drawn.answering import DrawnFindings, find
from setwright.identity.drawn.engine import MOST_CELLS, Drawing, Register, no_progress
from setwright.identity.drawn.gibbs import sample
from setwright.identity.drawn.known import flat_items
from setwright.identity.drawn.rates import rate_evidence
from setwright.identity.drawn.runs import build_runs
from setwright.identity.drawn.sets import gather_sets, make_tables
from setwright.identity.drawn.sisters import Neighbours
from setwright.identity.factors import SeenFeature
from setwright.identity.groups import qualifying_groups
from setwright.identity.history import History
from setwright.identity.model import BenchSet, Family, Survivors
from setwright.identity.places import Axis, places_on_axes
from setwright.identity.progress import Progress

FEW_DRAWS, SOME_DRAWS, MANY_DRAWS = 400, 1000, 2000
"""Joint histories drawn for large, middling and small registers; the work grows with draws times sets."""

SMALL_REGISTER, MIDDLING_REGISTER = 200, 2000

LEAST_EFFECTIVE = 0.1
"""Share of effective draws below which sampling goes on from them."""


@dataclass(frozen=True, slots=True)
class Joint:
    """What was found in drawn histories.

    left_out : how many survivors took no part.
    neighbours : the survivors beside the bench set, rates : what they say of alterations; None where there are none
        whose own unknowns were looked into.
    """

    findings: DrawnFindings
    method: Method
    neighbours: Neighbours | None
    rates: RateEvidence | None
    left_out: int


def draw_joint(
    family: Family,
    history: History,
    bench_set: BenchSet,
    survivors: Survivors,
    axes: Mapping[str, Axis],
    assumptions: Assumptions,
    seen: Sequence[SeenFeature],
    *,
    flat: bool,
    cells: int | None,
    draws: int | None,
    seed: int,
    force: str | None,
    progress: Progress | None,
) -> Joint:
    """Draw histories, weigh them and sum them up for the bench set; see `identify` for the arguments."""
    runs, views = build_runs(family, history, axes)
    own_axes = {view.history.line: view.axis for view in views}
    places = places_on_axes(family, bench_set.serial, bench_set.line, own_axes)
    sets = gather_sets(family, survivors, bench_set, own_axes, places, take_survivors=not flat)
    tables = make_tables(family.features, assumptions)
    groups = qualifying_groups(family.features) if assumptions.married > 0.0 else ()
    flat_sets = None
    if flat and len(survivors):
        line = np.where(survivors.position >= 0, survivors.line, -1)
        flat_sets = flat_items(survivors, tables, line, survivors.position)
    register = Register(runs, views, family.features, sets, tables, groups, assumptions, flat_sets)
    count = draws or _draws_for(len(sets))
    tell = progress or no_progress
    drawing = Drawing(register, seed, cells or MOST_CELLS, tell)
    weighed = drawing.weighed(count)
    widest = max(len(e.edges) - 1 for e in weighed.evidence)
    method = Method("weighted", weighed.draws.count, weighed.effective, seed, widest)
    if force == "sampled" or (force is None and weighed.effective < LEAST_EFFECTIVE * count):
        sampled = sample(drawing, weighed, draws if force == "sampled" else None)
        weighed = sampled.weighed
        method = Method("sampled", weighed.draws.count, sampled.effective, seed, widest, sampled.r_hat)
    tell("Summing up", 0.9)
    rng = np.random.default_rng([seed, 5])
    findings = find(register, weighed, seen, places, assumptions, rng)
    if len(sets) < 2:
        return Joint(findings, method, None, None, len(sets.left_out))
    left_out = set(sets.left_out)
    names = [name for row, name in enumerate(survivors.ids) if row not in left_out]
    tell("Comparing with the survivors", 0.94)
    neighbours = Neighbours(register, weighed, findings.cases, names, rng)
    tell("Learning rates", 0.97)
    rates = rate_evidence(drawing, weighed, family.id)
    tell("Done", 1.0)
    return Joint(findings, method, neighbours, rates, len(sets.left_out))


def _draws_for(sets: int) -> int:
    if sets <= SMALL_REGISTER:
        return MANY_DRAWS
    return SOME_DRAWS if sets <= MIDDLING_REGISTER else FEW_DRAWS
