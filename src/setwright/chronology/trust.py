"""How far to trust the dates of a family: every stamped set dated from the others, its own stamp set aside."""

from __future__ import annotations

from datetime import date

import numpy as np

from setwright.chronology.answer import DateRange, LeftOut, Trust
from setwright.chronology.fit import Fitted
from setwright.chronology.model import DatedSet, Evidence

FEWEST = 4
"""With fewer stamped sets there is nothing to learn from leaving one out."""


def leave_one_out(fitted: Fitted, level: float | None = None) -> Trust | None:
    """Date every stamped set on a chain from the rest: None with fewer than `FEWEST` of them.

    Its stamp is set aside in the chain; stock lags keep what it taught them, which matters little from a dozen sets on.
    """
    held = fitted.assumptions.level if level is None else level
    found = []
    for number, one in enumerate(fitted.sets):
        stamp = next((item for item in one.evidence if item.kind == "stamp" and item.date is not None), None)
        cavity = None if stamp is None else fitted.cavity(number)
        if stamp is not None and cavity is not None:
            found.append(_left_out(fitted, one, stamp, cavity, held))
    if len(found) < FEWEST:
        return None
    errors = np.abs([one.error_days for one in found])
    alone = np.abs([one.alone_error_days for one in found])
    return Trust(
        sets=tuple(found),
        median_days=float(np.median(errors)),
        ninth_days=float(np.percentile(errors, 90)),
        covered=float(np.mean([one.inside for one in found])),
        alone_median_days=float(np.median(alone)),
        alone_ninth_days=float(np.percentile(alone, 90)),
        alone_covered=float(np.mean([one.alone_inside for one in found])),
        level=held,
    )


def _left_out(fitted: Fitted, one: DatedSet, stamp: Evidence, cavity: np.ndarray, level: float) -> LeftOut:
    assert stamp.date is not None
    middle = date.fromordinal((stamp.date.first.toordinal() + stamp.date.last.toordinal()) // 2)
    parts = tuple(item for item in one.evidence if item.kind == "part")
    with_parts = _range(fitted, cavity * np.exp(fitted.rows.parts(parts)), level)
    alone = _range(fitted, cavity, level)
    return LeftOut(
        set=one.id,
        stamp=str(stamp.date),
        date=with_parts,
        error_days=float((with_parts.median - middle).days),
        inside=with_parts.low <= middle <= with_parts.high,
        alone=alone,
        alone_error_days=float((alone.median - middle).days),
        alone_inside=alone.low <= middle <= alone.high,
    )


def _range(fitted: Fitted, mass: np.ndarray, level: float) -> DateRange:
    low, median, high = fitted.weeks.quantiles(mass, ((1.0 - level) / 2.0, 0.5, (1.0 + level) / 2.0))
    return DateRange(low, median, high, level)
