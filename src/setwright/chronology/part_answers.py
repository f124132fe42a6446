"""What each dated part of a set means, once its place in the run and everything else on it is counted."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from setwright.chronology.answer import PartAnswer, PartDate
from setwright.chronology.fit import Fitted
from setwright.chronology.model import DatedSet, Evidence
from setwright.chronology.parts import Part, lag_name, parts_table, reading_of

_SHOWN = 1e-4
"""Dates of less probability are left out; what is shown sums to 1."""


def part_answers(fitted: Fitted, one: DatedSet, from_place: np.ndarray, level: float) -> tuple[PartAnswer, ...]:
    """Every dated part of a set. from_place : (count,) probability of its week without what is dated on it."""
    items = [item for item in one.evidence if item.kind == "part"]
    readable = [item for item in items if reading_of(item, fitted.assumptions).dates]
    log_stamps = fitted.rows.stamps(one.evidence)
    week = from_place * np.exp(log_stamps - log_stamps.max())
    answers = []
    for item in items:
        remarks = reading_of(item, fitted.assumptions).remarks
        lag = fitted.lags.range_of(item.part, level)
        dates: tuple[PartDate, ...] = ()
        later = fitted.assumptions.replaced_rate(item.part)
        if item in readable:
            dates, later = _meaning(fitted, readable, readable.index(item), week)
        answers.append(PartAnswer(item.part or "", item.written, dates, later, lag, remarks))
    return tuple(answers)


def _meaning(
    fitted: Fitted, items: Sequence[Evidence], number: int, week: np.ndarray
) -> tuple[tuple[PartDate, ...], float]:
    """The probabilities of a part's dates, and of its being a later replacement."""
    parts = [Part.of(item, fitted.assumptions) for item in items]
    lags = fitted.lags.of(lag_name(items))

    def probability(part: Part) -> float:
        among = [*parts[:number], part, *parts[number + 1 :]]
        table = parts_table(among, fitted.weeks, fitted.lags.otherwise, fitted.assumptions)
        return float(table.likelihood(lags) @ week)

    own = parts[number]
    replaced = own.rate * probability(Part(own.dates, 1.0))
    genuine = (1.0 - own.rate) * probability(Part(own.dates, 0.0))
    found = reading_of(items[number], fitted.assumptions).dates
    weights = np.array([probability(own.meaning(k)) for k in range(len(found))])
    weights /= weights.sum()
    order = [int(k) for k in np.argsort(-weights, kind="stable") if weights[k] >= _SHOWN]
    shown = sum(float(weights[k]) for k in order)
    dates = tuple(PartDate(found[k].date, float(weights[k]) / shown, found[k].misread) for k in order)
    return dates, replaced / (replaced + genuine)
