"""What sets whose date is otherwise known teach of stock lags."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence

import numpy as np

from setwright.chronology.evidence import EvidenceRows
from setwright.chronology.lags import Lags, lag_grid, learn_lags
from setwright.chronology.model import DatedSet, Evidence
from setwright.chronology.parts import NEWEST, Part, parts_table, reading_of

MOST_TEACHERS = 200
"""So many sets teach the lag of a kind of part at most, evenly chosen."""

MOST_SETS = 2000
"""So many sets of a register are looked through for teachers, evenly chosen."""

_NOTHING = 1e-12


def taught_lags(sets: Sequence[DatedSet], rows: EvidenceRows, known: Callable[[int], np.ndarray | None]) -> Lags:
    """Stock lags learnt from the dated parts of sets: of each kind of part, and of the newest of several.

    known : for the number of a set, (count,) the probability of its week of finishing without its own evidence, or None
    where nothing but its own evidence dates it; such a set teaches only if it has a stamp.
    """
    lessons: dict[str, list[tuple[int, tuple[Evidence, ...]]]] = defaultdict(list)
    for number in range(0, len(sets), max(len(sets) // MOST_SETS, 1)):
        one = sets[number]
        parts = tuple(item for item in one.evidence if item.kind == "part" and reading_of(item, rows.assumptions).dates)
        for item in parts:
            lessons[item.part or ""].append((number, (item,)))
        if len(parts) > 1:
            lessons[NEWEST].append((number, parts))
    log_likelihood, items = {}, {}
    for name, found in lessons.items():
        chosen = [found[i] for i in np.unique(np.linspace(0, len(found) - 1, MOST_TEACHERS).round().astype(int))]
        taught = [
            np.log(_by_parameter(parts, week, rows) + _NOTHING)
            for number, parts in chosen
            if (week := _week(sets[number], rows, known(number))) is not None
        ]
        if taught:
            log_likelihood[name], items[name] = np.sum(taught, axis=0), len(taught)
    return learn_lags(log_likelihood, items)


def _week(one: DatedSet, rows: EvidenceRows, known: np.ndarray | None) -> np.ndarray | None:
    """(count,) probability of the set's week without its parts; None where nothing dates it then."""
    if known is None and not any(item.kind == "stamp" for item in one.evidence):
        return None
    log_week = rows.stamps(one.evidence)
    week = np.exp(log_week - log_week.max()) * (1.0 if known is None else known)
    total = week.sum()
    return week / total if total > 0.0 else None


def _by_parameter(parts: Sequence[Evidence], week: np.ndarray, rows: EvidenceRows) -> np.ndarray:
    """(P,) likelihood of a set's dated parts at each parameter of the lag grid, its week being known so far."""
    table = parts_table(
        [Part.of(item, rows.assumptions) for item in parts], rows.weeks, rows.lags.otherwise, rows.assumptions
    )
    grid, _ = lag_grid()
    return np.asarray(grid @ table.by_lag(week) + table.replaced @ week)
