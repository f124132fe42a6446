"""The pictures of a date, as sheets to save."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from setwright.workbench.dating.page import DatePage, built_sentence, date_page
from setwright.workbench.pictures.save import made, sources
from setwright.workbench.pictures.sheet import Drawing, Sheet
from setwright.workbench.services.dating import DateCase
from setwright.workbench.site.words import count


def _curve(page: DatePage, line: str | None) -> Drawing | None:
    return next((shown.curves[0] for shown in page.lines if line in (None, shown.line)), None)


def _pace(page: DatePage, line: str | None) -> Drawing | None:
    return next((shown.paces[0] for shown in page.lines if line in (None, shown.line) and shown.paces), None)


def _parts(page: DatePage, line: str | None) -> Drawing | None:
    return page.ribbons[0] if page.ribbons else None


PICTURES: dict[str, Callable[[DatePage, str | None], Drawing | None]] = {
    "curve": _curve,
    "pace": _pace,
    "parts": _parts,
}
"""Pictures of a date by the name in their address."""


def sheet_of_date(case: DateCase, title: str, name: str, line: str | None, today: date) -> Sheet | None:
    """A picture of a set's date; None where it has none of that name or line.

    title : the set's name. name : a key of PICTURES. line : the line that is drawn; None takes the most probable.
    """
    page = date_page(case)
    drawing = PICTURES[name](page, line)
    if drawing is None:
        return None
    serial = f", serial {case.set_file.set.serial}" if case.set_file.set.serial else ""
    ranges = "; ".join(f"{level} {words}" for level, words, _ in page.ranges)
    compared = f"Compared with {count(case.answer.method.survivors, 'dated survivor')}."
    said = f"{built_sentence(case)} {ranges}."
    caption = (f"{title}{serial}. {case.family.name}.", said, compared, *sources(case.family), made(today))
    return Sheet(f"{title}, {case.family.name}", drawing, caption)
