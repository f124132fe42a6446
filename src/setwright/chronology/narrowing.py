"""What would narrow a set's date most: expected length of its range after one thing more is known."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

import numpy as np

from setwright.chronology.answer import Narrowing
from setwright.chronology.fit import Fitted
from setwright.chronology.likelihood import scattered
from setwright.chronology.model import DatedSet, Evidence
from setwright.chronology.parts import NEWEST, Part, lag_name, parts_table, reading_of
from setwright.chronology.places import Standing
from setwright.notation import DateInterval

_WEEKS_TRIED = 7
_LAGS_TRIED = 3
_MOST_KINDS = 4
_WORTH_DAYS = 1.0


def narrowings(
    fitted: Fitted, one: DatedSet, standing: Standing, likelihood: np.ndarray, level: float
) -> tuple[Narrowing, ...]:
    """What would narrow the date, the most useful first; likelihood : (count,) of the set's own evidence."""
    mass = standing.finished() * likelihood
    mass = mass / mass.sum()
    now = _days(fitted, mass, level)
    left = [
        *_serial(fitted, one, standing, likelihood, level),
        *_stamp(fitted, one, mass, level),
        *_neighbour(fitted, one, mass, level),
        *_codes(fitted, one, standing.finished(), level),
        *_parts(fitted, one, standing.finished(), mass, level),
    ]
    useful = [Narrowing(what, text, now - days, days) for what, text, days in left if now - days >= _WORTH_DAYS]
    return tuple(sorted(useful, key=lambda item: -item.days_less))


def _days(fitted: Fitted, mass: np.ndarray, level: float) -> float:
    low, high = fitted.weeks.quantiles(mass, ((1.0 - level) / 2.0, (1.0 + level) / 2.0))
    return float((high - low).days + 1)


def _tried(mass: np.ndarray, count: int) -> list[int]:
    """Steps that stand for equal shares of a mass."""
    behind = np.cumsum(mass) / mass.sum()
    return [int(np.searchsorted(behind, (k + 0.5) / count)) for k in range(count)]


def _serial(
    fitted: Fitted, one: DatedSet, standing: Standing, likelihood: np.ndarray, level: float
) -> Iterator[tuple[str, str, float]]:
    """The serial read in full."""
    if one.position is not None or len(standing.low) < 2:
        return
    cells = standing.posterior(likelihood)
    days = sum(
        float(weight) * _days(fitted, week * likelihood, level)
        for weight, week in zip(cells, standing.week, strict=True)
        if weight > 1e-3
    )
    yield "serial", "the serial, read in full", days / float(cells[cells > 1e-3].sum())


def _stamp(fitted: Fitted, one: DatedSet, mass: np.ndarray, level: float) -> Iterator[tuple[str, str, float]]:
    """A stamp in the set, as of a week."""
    if any(item.kind == "stamp" for item in one.evidence):
        return
    days = []
    for step in _tried(mass, _WEEKS_TRIED):
        monday = fitted.weeks.monday(step)
        stamp = Evidence("stamp", DateInterval(monday, monday + timedelta(days=6), "week"))
        days.append(_days(fitted, mass * np.exp(fitted.rows.stamps((stamp,))), level))
    yield "stamp", "a stamp or a pencilled date inside the set", float(np.mean(days))


def _neighbour(fitted: Fitted, one: DatedSet, mass: np.ndarray, level: float) -> Iterator[tuple[str, str, float]]:
    """The stamp of another set whose number is close by."""
    if one.position is None:
        return
    days = []
    for step in _tried(mass, _WEEKS_TRIED):
        week = np.zeros(fitted.weeks.count)
        week[step] = 1.0
        near = scattered(scattered(week, fitted.rows.kernel), fitted.rows.kernel)
        days.append(_days(fitted, mass * (near + 1e-6), level))
    yield "survivor", "the stamp of another set with a serial close to this one", float(np.mean(days))


def _codes(fitted: Fitted, one: DatedSet, from_place: np.ndarray, level: float) -> Iterator[tuple[str, str, float]]:
    """Codes with illegible figures, read in full."""
    items = [item for item in one.evidence if item.kind == "part" and reading_of(item, fitted.assumptions).dates]
    stamps = np.exp(fitted.rows.stamps(one.evidence))
    parts = [Part.of(item, fitted.assumptions) for item in items]
    for number, item in enumerate(items):
        if "?" not in (item.code or ""):
            continue
        weights, days = [], []
        for meaning in range(len(parts[number].dates)):
            among = [*parts[:number], parts[number].meaning(meaning), *parts[number + 1 :]]
            table = parts_table(among, fitted.weeks, fitted.lags.otherwise, fitted.assumptions)
            week = from_place * stamps * table.likelihood(fitted.lags.of(lag_name(items)))
            weights.append(float(week.sum()))
            days.append(_days(fitted, week, level))
        text = f"the code of the {(item.part or 'part').replace('-', ' ')} ({item.code}), read in full"
        yield "code", text, float(np.average(days, weights=weights))


def _parts(
    fitted: Fitted, one: DatedSet, from_place: np.ndarray, mass: np.ndarray, level: float
) -> Iterator[tuple[str, str, float]]:
    """A date on a kind of part that survivors have dated and this set has not."""
    have = {item.part for item in one.evidence if item.kind == "part"}
    kinds = [kind for kind in sorted(fitted.lags.items, key=lambda kind: -fitted.lags.items[kind]) if kind != NEWEST]
    for kind in [kind for kind in kinds if kind and kind not in have][:_MOST_KINDS]:
        behind = np.cumsum(fitted.lags.of(kind))
        lags = [int(np.searchsorted(behind, (k + 0.5) / _LAGS_TRIED)) for k in range(_LAGS_TRIED)]
        days = []
        for step in _tried(mass, _WEEKS_TRIED // 2):
            for lag in lags:
                monday = fitted.weeks.monday(step) - timedelta(weeks=lag)
                part = Evidence("part", DateInterval(monday, monday + timedelta(days=6), "week"), part=kind)
                log_own = fitted.rows.finished((*one.evidence, part))
                days.append(_days(fitted, from_place * np.exp(log_own - log_own.max()), level))
        yield "part", f"a date code on the {kind.replace('-', ' ').replace('_', ' ')}", float(np.mean(days))
