"""Dating one set from a fitted family: its date, what its parts mean, what contradicts what."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from types import MappingProxyType

import numpy as np

from setwright.chronology.answer import CutInDate, DateAnswer, DateRange, Method
from setwright.chronology.findings import findings_of
from setwright.chronology.fit import Fitted
from setwright.chronology.how_many import how_many_were_made
from setwright.chronology.model import DatedSet, PlaceBelief
from setwright.chronology.narrowing import narrowings
from setwright.chronology.part_answers import part_answers
from setwright.chronology.picture import picture_of
from setwright.chronology.places import standing_of
from setwright.chronology.weeks import Weeks
from setwright.chronology.wording import explanations, warnings


def date_set(
    fitted: Fitted,
    one: DatedSet,
    *,
    family: str = "",
    belief: Sequence[PlaceBelief] = (),
    cut_ins: Mapping[str, PlaceBelief] = MappingProxyType({}),
    serials: Mapping[str, Sequence[int]] = MappingProxyType({}),
    level: float | None = None,
    today: date | None = None,
) -> DateAnswer:
    """Date one set of a fitted family.

    one : the set; it must not be among the sets the family was fitted to. belief : where it stands, as its features
    tell; used where its serial is not known in full. cut_ins : by change id, where on the serials each change came in.
    serials : by line, positions of all sets whose serial is known in full, for how many were made.
    level : probability that ranges hold; default that of the assumptions. today : dates after it are called future.
    """
    held = fitted.assumptions.level if level is None else level
    standing = standing_of(fitted, one, belief)
    from_place = standing.finished()
    log_own = fitted.rows.finished(one.evidence)
    likelihood = np.exp(log_own - log_own.max())
    mass = from_place * likelihood
    mass = mass / mass.sum()
    cells = standing.posterior(likelihood)
    weeks = fitted.weeks
    parts = part_answers(fitted, one, from_place, held)
    known = {line: list(positions) for line, positions in serials.items()}
    if one.position is not None:
        known.setdefault(one.position[0], []).append(one.position[1])
    production = how_many_were_made(fitted.production.runs, known, held)
    answer = DateAnswer(
        family=family,
        set=one.id,
        date=range_of(weeks, mass, held),
        half=range_of(weeks, mass, 0.5),
        mean=date.fromordinal(int(weeks.mean(mass))),
        before_evidence=range_of(weeks, from_place, held),
        lines=MappingProxyType(standing.by_line(cells)),
        parts=parts,
        production=production,
        findings=findings_of(fitted, one, mass, parts, today),
        narrowing=narrowings(fitted, one, standing, likelihood, held),
        cut_ins=tuple(CutInDate(change, cut_in_range(fitted, place, held)) for change, place in cut_ins.items()),
        explanations=(),
        warnings=warnings(fitted, one, belief),
        method=_method(fitted),
        picture=picture_of(fitted, one, mass, held),
    )
    return _explained(fitted, one, answer)


def range_of(weeks: Weeks, mass: np.ndarray, level: float) -> DateRange:
    """The central range of a probability mass over weeks (count,)."""
    low, median, high = weeks.quantiles(mass, ((1.0 - level) / 2.0, 0.5, (1.0 + level) / 2.0))
    return DateRange(low, median, high, level)


def cut_in_range(fitted: Fitted, place: PlaceBelief, level: float) -> DateRange:
    """When a change came in, from where on the serials it did."""
    standing = standing_of(fitted, DatedSet("", ()), [PlaceBelief(place.line, 1.0, place.edges, place.mass)])
    return range_of(fitted.weeks, standing.finished(), level)


def _method(fitted: Fitted) -> Method:
    on_chains = sum(len(line.node_of) for line in fitted.lines.values())
    dated = sum(bool(one.evidence) for one in fitted.sets)
    nodes = max((len(line.chain.position) for line in fitted.lines.values()), default=0)
    return Method(on_chains, dated - on_chains, nodes, fitted.weeks.step)


def _explained(fitted: Fitted, one: DatedSet, answer: DateAnswer) -> DateAnswer:
    return replace(answer, explanations=explanations(fitted, one, answer))
