"""Sets without a full serial whose place in the run is clear all the same, from what is legible and what dates them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from setwright.chronology.likelihood import says_something
from setwright.chronology.places import standing_of

if TYPE_CHECKING:
    from setwright.chronology.fit import Fitted

MOST_LOOKED_AT = 40
"""So many sets without a full serial are looked at, those with the fewest places first."""

SURE = 0.9
"""A place is clear if this much of its probability lies within a stretch of the run …"""

STRETCH = 1.0 / 64.0
"""… no longer than this share of it."""


def settled_places(fitted: Fitted) -> dict[int, tuple[str, int]]:
    """Line and position of such sets, by number. They stand in the middle of what they can be; nothing is drawn."""
    loose = [
        (sum(place.last - place.first + 1 for place in one.places), number)
        for number, one in enumerate(fitted.sets)
        if one.position is None
        and one.places
        and any(says_something(item, fitted.assumptions) for item in one.evidence)
        and all(fitted.production.run(place.line).unit == "serial" for place in one.places)
    ]
    found = {}
    for _, number in sorted(loose)[:MOST_LOOKED_AT]:
        place = _settled(fitted, number)
        if place is not None:
            found[number] = place
    return found


def _settled(fitted: Fitted, number: int) -> tuple[str, int] | None:
    one = fitted.sets[number]
    standing = standing_of(fitted, one)
    log_own = fitted.rows.finished(one.evidence)
    weight = standing.posterior(np.exp(log_own - log_own.max()))
    best = int(np.argmax(weight))
    line = standing.line[best]
    run = fitted.production.run(line)
    reach = STRETCH * (run.last - run.first + 1) / 2.0
    middle = (standing.low + standing.high) / 2.0
    near = (np.abs(middle - middle[best]) <= reach) & np.array([name == line for name in standing.line])
    spans = standing.high[near].max() - standing.low[near].min() <= 2.0 * reach
    if not spans or float(weight[near].sum()) < SURE:
        return None
    return line, round(float(np.average(middle[near], weights=weight[near])))
