"""Which pictures there are to save, each as a sheet with its caption."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from setwright.identity.model import Family
from setwright.workbench.families.grid import grid_of
from setwright.workbench.families.pages import family_page, source_words
from setwright.workbench.pictures.axis import axis_pictures
from setwright.workbench.pictures.bars import shares_picture, weights_picture
from setwright.workbench.pictures.features import features_picture
from setwright.workbench.pictures.sheet import Drawing, Sheet
from setwright.workbench.services.identity import IdentityCase
from setwright.workbench.services.survivors import FamilyCase
from setwright.workbench.sets.identity_page import IdentityPage, identity_page
from setwright.workbench.site.words import count, line_words, listing
from setwright.workbench.survivors.reading import positions_on, survivor_cells, view_of

MOST_SOURCES = 6
_BESIDE = "Feature by feature, beside what the documents say of each version"


def sheet_of_set(case: IdentityCase, title: str, name: str, line: str | None, today: date) -> Sheet | None:
    """A picture of a set's identity page; None where it has none of that name or line.

    title : the set's name. name : a key of SET_PICTURES. line : for the serial line, the line that is drawn; None takes
    the most probable.
    """
    page = identity_page(case)
    drawing = SET_PICTURES[name](page, line)
    if drawing is None:
        return None
    serial = f", serial {case.bench_set.serial}" if case.bench_set.serial else ""
    compared = f"Compared with {count(len(case.survivors), 'survivor')}."
    caption = (f"{title}{serial}. {case.family.name}.", page.summary, compared, *sources(case.family), made(today))
    return Sheet(f"{title}, {case.family.name}", drawing, caption)


def _serial_line(page: IdentityPage, line: str | None) -> Drawing | None:
    wide = [drawings[0] for _, drawings in page.pictures]
    return next((drawing for drawing in wide if line in (None, drawing.line)), None)


def _features(page: IdentityPage, line: str | None) -> Drawing | None:
    return features_picture(page.grid, _BESIDE)


def _verdict(page: IdentityPage, line: str | None) -> Drawing | None:
    rows = [(row.label, row.bar, row.percent, row.leading) for row in page.verdict]
    return shares_picture(rows, "Which version it is")


def _evidence(page: IdentityPage, line: str | None) -> Drawing | None:
    rows = [*page.evidence.rows, *page.evidence.light]
    weighed = [(row.label, row.seen, row.bar, row.against, f"{row.words}, {row.odds}") for row in rows]
    return weights_picture(weighed, "What each observation weighs for the leading verdict") if weighed else None


SET_PICTURES: dict[str, Callable[[IdentityPage, str | None], Drawing | None]] = {
    "serial-line": _serial_line,
    "features": _features,
    "verdict": _verdict,
    "evidence": _evidence,
}
"""Pictures of a set by the name in their address."""

FAMILY_PICTURES = ("features", "serials")
"""Pictures of a family, and of a survivor on its own."""


def sheet_of_family(case: FamilyCase, name: str, line: str | None, today: date) -> Sheet | None:
    """A picture of a family's page, for one of its lines (None takes the first that has it); None without it."""
    for section in family_page(case).lines:
        if line not in (None, section.line):
            continue
        words = f" of the {line_words(section.line)}" if len(case.family.lines) > 1 else ""
        drawing: Drawing | None = None
        if name == "features" and section.grid is not None:
            drawing = features_picture(section.grid, f"Features and versions{words}")
        elif name == "serials" and section.pictures:
            drawing = section.pictures[0]
        if drawing is not None:
            known = f"{count(len(case.survivors), 'set')} known to survive."
            return Sheet(case.family.name, drawing, (known, *sources(case.family), made(today)))
    return None


def sheet_of_survivor(case: FamilyCase, index: int, name: str, line: str | None, today: date) -> Sheet | None:
    """A picture of a survivor's page; None where it has none of that name or line."""
    family, view = case.family, view_of(case.family, case.survivors, index)
    drawing: Drawing | None = None
    if name == "features":
        lines = [view.line] if view.line is not None else list(family.line_ids)
        chosen = next((one for one in lines if line in (None, one) and family.versions_of(one)), None)
        if chosen is not None:
            drawing = features_picture(grid_of(family, chosen, survivor_cells(view), set_label=view.name), _BESIDE)
    elif view.line is not None and view.position is not None:
        positions = positions_on(family, case.survivors, view.line)
        drawn = axis_pictures(family, view.line, positions, marked=view.position, marked_label=view.name)
        drawing = drawn[0] if drawn else None
    if drawing is None:
        return None
    serial = f", serial {view.serial}" if view.serial else ""
    caption = (f"{view.name}{serial}. {family.name}.", *sources(family), made(today))
    return Sheet(f"{view.name}, {family.name}", drawing, caption)


def made(today: date) -> str:
    """The last line under every picture."""
    return f"{today.isoformat()}, made with Setwright"


def sources(family: Family) -> tuple[str, ...]:
    """The documents that the family's history rests on."""
    titles = [source_words(source) for source in family.sources[:MOST_SOURCES]]
    if not titles:
        return ()
    more = [f"{len(family.sources) - MOST_SOURCES} more"] if len(family.sources) > MOST_SOURCES else []
    return (f"After: {listing([*titles, *more])}.",)
