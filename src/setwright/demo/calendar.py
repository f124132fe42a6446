"""When the sets of a production were finished, for the dates that stamps and parts carry."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from setwright.identity.model import Family
from setwright.identity.places import Axis
from setwright.notation import parse_date

JITTER_DAYS = 6
"""Sets waited on the shelf before they were stamped, or did not."""

LONGEST_STOCK_WEEKS = 14
"""A dated part lay in the stores for at most so long."""


def finished_on(family: Family, axis: Axis, position: int, rng: np.random.Generator) -> date:
    """The day a set was stamped: production ran evenly from introduced to discontinued, give or take some days."""
    assert family.introduced is not None
    assert family.discontinued is not None
    first, last = parse_date(family.introduced).first, parse_date(family.discontinued).last
    share = (position - axis.first) / max(axis.count - 1, 1)
    day = first + timedelta(days=round(share * (last - first).days + rng.normal(0.0, JITTER_DAYS)))
    return min(max(day, first), last)


def as_stamped(day: date, rng: np.random.Generator) -> str:
    """The date as precisely as a stamp happens to say it: the day, the week, the month."""
    year, week, _ = day.isocalendar()
    return str(rng.choice([day.isoformat(), f"{year}-W{week:02d}", f"{day:%Y-%m}"], p=[0.4, 0.4, 0.2]))


def part_code(day: date, rng: np.random.Generator) -> str:
    """Year digit and week of a part made some weeks before the set was finished."""
    year, week, _ = (day - timedelta(weeks=int(rng.integers(2, LONGEST_STOCK_WEEKS + 1)))).isocalendar()
    return f"{year % 10}{week:02d}"
