"""How long the grid of weeks must be for what is documented and dated."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from setwright.chronology.model import Assumptions, Evidence, NothingDated, Production
from setwright.chronology.parts import reading_of
from setwright.chronology.weeks import MARGIN_WEEKS, Weeks, monday_of

_FIRM_DAYS = 5 * 366
"""A code whose readings lie within so many days of each other leaves no decade open."""


def grid_of_weeks(production: Production, evidence: Sequence[Evidence], assumptions: Assumptions) -> Weeks:
    """The weeks a set of the family can have been finished in.

    From introduction to discontinuation; where one is not documented, to five years beyond the dated evidence. A code
    that leaves the decade open counts by its first reading after the introduction, or by all of them where nothing else
    is dated.

    Raises NothingDated where neither a document nor any evidence gives a date.
    """
    margin = timedelta(weeks=MARGIN_WEEKS)
    introduced, discontinued = production.introduced, production.discontinued
    if introduced is not None and discontinued is not None and introduced.first <= discontinued.last:
        return Weeks.between(introduced.first, discontinued.last)
    firm = [day for item in evidence for day in _firm_days(item, assumptions)]
    loose = [days for item in evidence if (days := _loose_days(item, assumptions))]
    if introduced is not None:
        later = [day for day in firm if day >= introduced.first]
        later += [min(after) for days in loose if (after := [day for day in days if day >= introduced.first])]
        return Weeks.between(introduced.first, max([*later, introduced.last]) + margin)
    if discontinued is not None:
        earlier = [day for day in firm if day <= discontinued.last]
        return Weeks.between(min([*earlier, discontinued.first]) - margin, discontinued.last)
    days = firm or [day for some in loose for day in some]
    if not days:
        raise NothingDated(
            "nothing can be dated: the family file has no introduced and no discontinued, and no set has a stamp, "
            "a dated part or a document; give one of them"
        )
    return Weeks.between(min(days) - margin, max(days) + margin)


def _firm_days(item: Evidence, assumptions: Assumptions) -> list[date]:
    """First and last day of evidence that leaves no decade open; nothing for other evidence."""
    if item.date is not None:
        return [item.date.first, item.date.last]
    days = _as_read(item, assumptions)
    return days if days and (max(days) - min(days)).days < _FIRM_DAYS else []


def _loose_days(item: Evidence, assumptions: Assumptions) -> list[date]:
    if item.date is not None or _firm_days(item, assumptions):
        return []
    return _as_read(item, assumptions)


def _as_read(item: Evidence, assumptions: Assumptions) -> list[date]:
    dates = reading_of(item, assumptions).dates
    straight = [found for found in dates if found.misread is None] or dates
    return [monday_of(week) for found in straight for week in (found.first, found.last)]
