"""What dating and identity tell each other, in plain values: serials for dates, and dates for serials."""

from __future__ import annotations

import numpy as np

from setwright.chronology.fit import Fitted
from setwright.notation import DateInterval

_STRETCHES = 256


def positions_by(fitted: Fitted, line: str, date: DateInterval, level: float = 0.98) -> tuple[int | None, int | None]:
    """Between which positions of a line production stood in a stretch of time: for a change "about June 1949".

    Returns `after` and `before` as a documented cut-in has them: surely (1 + level) / 2) every number up to `after` had
    its turn before the stretch began, and none from `before` on before it was over; None where that holds of no number.
    """
    run = fitted.production.run(line)
    positions = np.unique(np.linspace(run.first, run.last, _STRETCHES).round().astype(np.int64))
    weeks = fitted.weeks
    begins, ends = (np.clip(weeks.index_of(day), 0, weeks.count) for day in (date.first, date.last))
    sure = (1.0 + level) / 2.0
    behind = np.array([np.concatenate([[0.0], np.cumsum(fitted.numbered(line, int(p)))]) for p in positions])
    # Turn before the stretch, and turn after it.
    earlier = positions[behind[:, begins] >= sure]
    later = positions[behind[:, min(int(ends) + 1, weeks.count)] <= 1.0 - sure]
    after = int(earlier.max()) if len(earlier) else None
    before = int(later.min()) if len(later) else None
    return after, before
