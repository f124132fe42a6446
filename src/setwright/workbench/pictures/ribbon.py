"""The ribbon: what each dated part says of the set's date, under one another and against it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from setwright.chronology.answer import DateAnswer, DateRange, PartAnswer
from setwright.chronology.wording import range_words
from setwright.notation import parse_date
from setwright.workbench.pictures.scale import Tick, hill
from setwright.workbench.pictures.text import fitted, width_of
from setwright.workbench.pictures.time_scale import TimeScale
from setwright.workbench.site.words import percent

LATER = 0.5
"""A part that is more probably a later replacement than not is drawn as one."""

_HILL = 28.0
_FAR_DAYS = 3 * 366
"""A part dated further off than this is named at the margin instead of widening the picture."""


@dataclass(frozen=True, slots=True)
class RibbonRow:
    """One row: a hill or a range over time, the day of the code, words at the right or beside the label.

    kind : "place", "set", "part" or "later". edge : -1 or 1 where the code's date lies beyond that end of the picture.
    """

    label: str
    under: str
    label_y: float
    base: float
    hill: str
    bar: tuple[float, float] | None
    day: float | None
    edge: int
    words: str
    kind: str


@dataclass(frozen=True, slots=True)
class RibbonPicture:
    """The picture in one variant; the band from `low`, `across` wide, is the range of this set's date."""

    name: str
    identifier: str
    title: str
    description: str
    width: float
    height: float
    left: float
    right: float
    words_x: float
    label_above: bool
    top: float
    times: tuple[Tick, ...]
    rows: tuple[RibbonRow, ...]
    low: float
    across: float
    median: float


@dataclass(frozen=True, slots=True)
class _Layout:
    name: str
    width: float
    left: float
    right: float
    row: float
    label_above: bool
    most: int


_WIDE = _Layout("wide", 1080.0, 270.0, 820.0, 52.0, False, 8)
_TALL = _Layout("tall", 358.0, 6.0, 352.0, 74.0, True, 6)


def ribbons(answer: DateAnswer) -> tuple[RibbonPicture, ...]:
    """The ribbon for the desk and for the phone; none where the set has no dated part."""
    return tuple(_picture(answer, layout) for layout in (_WIDE, _TALL)) if answer.parts else ()


def code_days(part: PartAnswer) -> tuple[float, float] | None:
    """First and last day, as ordinals, of the most probable reading of a part's date; None where there is none."""
    if not part.dates:
        return None
    span = parse_date(part.dates[0].date)
    return float(span.first.toordinal()), float(span.last.toordinal() + 1)


def part_name(part: str) -> str:
    """A part's name as one says it.

    >>> part_name("volume-control")
    'Volume control'
    """
    words = part.replace("-", " ").replace("_", " ")
    return words[:1].upper() + words[1:]


def _shown(answer: DateAnswer) -> tuple[float, float]:
    """The days that the picture begins and ends with."""
    spans = [answer.date, answer.before_evidence]
    low, high = min(s.low.toordinal() for s in spans), max(s.high.toordinal() + 1 for s in spans)
    for part in answer.parts:
        days = code_days(part)
        if days is not None and low - _FAR_DAYS < days[0] and days[1] < high + _FAR_DAYS:
            low, high = min(low, int(days[0])), max(high, int(days[1]))
    room = max(0.08 * (high - low), 14.0)
    return low - room, high + room


def _picture(answer: DateAnswer, layout: _Layout) -> RibbonPicture:
    time = TimeScale(*_shown(answer), layout.left, layout.right)
    top = 34.0
    rows = tuple(_rows(answer, time, layout, top))
    low, high = time.of(answer.date.low), time.x(answer.date.high.toordinal() + 1)
    return RibbonPicture(
        name=layout.name,
        identifier=f"ribbon-{layout.name}",
        title="Its dated parts against its date",
        description=_description(answer),
        width=layout.width,
        height=top + layout.row * len(rows) + 12,
        left=layout.left,
        right=layout.right,
        words_x=layout.width if layout.label_above else layout.right + 18,
        label_above=layout.label_above,
        top=top,
        times=time.ticks(layout.most),
        rows=rows,
        low=low,
        across=round(max(high - low, 1.5), 1),
        median=time.of(answer.date.median),
    )


def _rows(answer: DateAnswer, time: TimeScale, layout: _Layout, top: float) -> Iterator[RibbonRow]:
    edges = answer.picture.weeks.edges.astype(float)
    level = percent(answer.date.level)
    place, date = answer.before_evidence, answer.date
    yield _row(layout, top, 0, "Place in the run", "", "place", bar=_bar(time, place), words=f"{level} range")
    yield _row(
        layout, top, 1, "This set", "", "set", hill_over=(time, edges, answer.picture.mass), bar=_bar(time, date),
        words=f"{level} range",
    )  # fmt: skip
    for number, (part, mass) in enumerate(zip(answer.parts, answer.picture.parts, strict=True), start=2):
        days = code_days(part)
        later = part.later_replacement_probability
        said = "later:" if layout.label_above else "later replacement"
        words = f"{said} {percent(later)}" if days else "cannot be read"
        middle = None if days is None else (days[0] + days[1]) / 2
        edge = 0 if middle is None else -1 if middle < time.first else 1 if middle > time.last else 0
        yield _row(
            layout, top, number, part_name(part.part), part.code, "later" if days and later > LATER else "part",
            hill_over=(time, edges, mass) if days and not edge else None,
            day=None if middle is None or edge else time.x(middle),
            edge=edge,
            words=words,
        )  # fmt: skip


def _bar(time: TimeScale, span: DateRange) -> tuple[float, float]:
    low, high = time.of(span.low), time.x(span.high.toordinal() + 1)
    return low, round(max(high - low, 1.5), 1)


def _row(
    layout: _Layout,
    top: float,
    number: int,
    label: str,
    under: str,
    kind: str,
    *,
    words: str,
    hill_over: tuple[TimeScale, np.ndarray, np.ndarray] | None = None,
    bar: tuple[float, float] | None = None,
    day: float | None = None,
    edge: int = 0,
) -> RibbonRow:
    y = top + number * layout.row
    base = y + layout.row - 12
    room = layout.left - 16
    if layout.label_above:
        # Label and code share a line with the words at its end.
        room = layout.width - 12 - width_of(words, 14)
        label, under = f"{label} {under}".strip(), ""
    return RibbonRow(
        label=fitted(label, 15, room),
        under=fitted(under, 13.5, room),
        label_y=y + (20 if layout.label_above else base - y - (18 if under else 6)),
        base=base,
        hill="" if hill_over is None else hill(*hill_over, _HILL, base),
        bar=bar,
        day=day,
        edge=edge,
        words=words,
        kind=kind,
    )


def _description(answer: DateAnswer) -> str:
    """What the picture shows, for those who do not see it."""
    said = [f"Time runs from left to right. This set: {range_words(answer.date)} ({percent(answer.date.level)} range)."]
    for part in answer.parts:
        if part.dates:
            said.append(
                f"{part_name(part.part)} {part.code}: made {part.dates[0].date}, a later replacement with "
                f"{percent(part.later_replacement_probability)}."
            )
    return " ".join(said)
