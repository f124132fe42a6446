"""The serial line: the production axis with the survivors on it, when each change came in, and this set."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from setwright.identity.answer import Answer, AxisAnswer, ChangeAnswer, Interval
from setwright.identity.model import Family
from setwright.identity.phrases import hedged
from setwright.identity.places import SERIAL_UNIT
from setwright.workbench.pictures.scale import Scale, Tick, hill
from setwright.workbench.pictures.text import fitted, width_of
from setwright.workbench.site.words import interval_words, line_words, percent

MOST_TICKS = 600
"""Survivors beyond this are drawn as a hill: single marks would run together."""

MOST_CHANGES = 60
SNUG_SIZE = 13.0
"""Size of labels that are too long for the usual one."""


@dataclass(frozen=True, slots=True)
class Layout:
    """Measures of one variant of the picture, in the units of its view box (pixels at full size)."""

    name: str
    width: float
    left: float
    right: float
    row_height: float
    hill_height: float
    label_above: bool
    label_size: float
    most_ticks: int


WIDE = Layout("wide", 1080, 330, 920, 44, 27, False, 15, 7)
TALL = Layout("tall", 358, 6, 352, 70, 22, True, 14, 4)


@dataclass(frozen=True, slots=True)
class Span:
    """A central range drawn as a bar with its median."""

    x: float
    width: float
    median: float
    words: str


@dataclass(frozen=True, slots=True)
class Row:
    """One change: its label, the hill of its cut-in, the range under it, and whether this set has it.

    snug : the label is long and set in smaller letters.
    """

    y: float
    label: str
    snug: bool
    states: str
    label_y: float
    states_y: float
    base: float
    hill: str
    span: Span
    applied: str
    applied_x: float
    applied_y: float
    applied_anchor: str


@dataclass(frozen=True, slots=True)
class Heading:
    """The name of the gap between two versions, above its changes."""

    y: float
    text: str


@dataclass(frozen=True, slots=True)
class Stand:
    """Where this set stands: a line where it is known, else a hill over a pale band."""

    words: str
    words_x: float
    words_anchor: str
    known: bool
    span: Span
    hill: str
    base: float


@dataclass(frozen=True, slots=True)
class SerialLine:
    """The whole picture in one variant."""

    layout: Layout
    line: str
    height: float
    title: str
    description: str
    scale_y: float
    scale_words: str
    ticks: tuple[Tick, ...]
    survivors: tuple[float, ...]
    survivor_hill: str
    survivor_words: str
    survivor_base: float
    stand: Stand | None
    headings: tuple[Heading, ...]
    rows: tuple[Row, ...]
    rows_top: float
    identifier: str


def serial_line(
    family: Family,
    axis: AxisAnswer,
    changes: Sequence[ChangeAnswer],
    survivor_positions: np.ndarray,
    stand: Interval | None,
    layout: Layout,
    unplaced: int = 0,
) -> SerialLine:
    """Draws one line's axis.

    changes : those of this line, in reading order. survivor_positions : (n,) known positions on this line.
    stand : where the set stands if it belongs to this line; None leaves it out (no set, or another line).
    unplaced : how many further survivors of the line have no full serial, so no mark.
    """
    scale = Scale.of(family, axis, layout.left, layout.right)
    ordered = _in_order(changes)
    scale_y, survivor_base, top = 34.0, 92.0, 150.0 if stand is not None else 112.0
    headings, rows, height = _rows(family, axis, ordered, scale, layout, top)
    return SerialLine(
        layout=layout,
        line=axis.line,
        height=height,
        title=_title(family, axis, stand is not None),
        description=_description(family, axis, ordered, survivor_positions, stand, unplaced),
        scale_y=scale_y,
        scale_words="Serial" if axis.unit == SERIAL_UNIT else "Part of the run",
        ticks=scale.ticks(layout.most_ticks),
        survivors=_survivor_marks(scale, survivor_positions),
        survivor_hill=_survivor_hill(scale, survivor_positions, survivor_base),
        survivor_words=_survivor_words(len(survivor_positions), unplaced),
        survivor_base=survivor_base,
        stand=None if stand is None else _stand(family, axis, stand, scale, base=134.0),
        headings=headings,
        rows=rows,
        rows_top=top - 6,
        identifier=f"line-{axis.line}-{layout.name}",
    )


def variants(
    family: Family,
    axis: AxisAnswer,
    changes: Sequence[ChangeAnswer],
    survivor_positions: np.ndarray,
    stand: Interval | None,
    unplaced: int = 0,
) -> tuple[SerialLine, ...]:
    """The same picture for the desk and for the phone; the style sheet shows the one that fits."""
    return tuple(
        serial_line(family, axis, changes, survivor_positions, stand, layout, unplaced) for layout in (WIDE, TALL)
    )


def changes_of(answer: Answer, line: str) -> list[ChangeAnswer]:
    """The changes of one line, as a picture says them."""
    return [
        replace(change, applied_probability=hedged(change.applied_probability, answer.method))
        for change in answer.changes
        if change.line == line
    ]


def _in_order(changes: Sequence[ChangeAnswer]) -> list[ChangeAnswer]:
    """By gap between versions (free changes last), then by median."""
    return sorted(changes, key=lambda c: (c.block is None, c.block or 0, c.cut_in.median))[:MOST_CHANGES]


def _span(family: Family, axis: AxisAnswer, interval: Interval, scale: Scale) -> Span:
    low, high = scale.x_of_answer(interval.low), scale.x_of_answer(interval.high)
    # A range of one serial still has to be seen.
    return Span(
        x=low,
        width=round(max(high - low, 1.5), 1),
        median=scale.x_of_answer(interval.median),
        words=interval_words(family, axis.line, interval, axis.unit),
    )


def _rows(
    family: Family, axis: AxisAnswer, changes: Sequence[ChangeAnswer], scale: Scale, layout: Layout, top: float
) -> tuple[tuple[Heading, ...], tuple[Row, ...], float]:
    headings, rows, y = [], [], top
    block: object = "none yet"
    for change in changes:
        if change.block != block:
            block = change.block
            headings.append(Heading(y + 24, fitted(_gap_words(family, change), 15, layout.width - 12)))
            y += 34
        rows.append(_row(family, axis, change, scale, layout, y))
        y += layout.row_height
    return tuple(headings), tuple(rows), y + 6


def _row(family: Family, axis: AxisAnswer, change: ChangeAnswer, scale: Scale, layout: Layout, y: float) -> Row:
    base = y + layout.row_height - 12
    size = layout.label_size
    label, states = family.feature(change.feature).label, f"{change.from_state} → {change.to_state}"
    applied = f"in this set {percent(change.applied_probability)}"
    if change.probability < 1.0:
        states += f" ({percent(change.probability)} sure)"
    room = layout.width - 12 if layout.label_above else layout.left - 14
    snug = width_of(label, size) > room
    span = _span(family, axis, change.cut_in, scale)
    applied_x, applied_y = layout.width, base
    if layout.label_above:
        # Beside the hill, on the side where there is more room.
        applied_x = scale.right if scale.right - span.x - span.width > span.x - scale.left else scale.left
        applied_y = base - 6
    return Row(
        y=y,
        label=fitted(label, SNUG_SIZE if snug else size, room),
        snug=snug,
        states=fitted(states, size - 1, room),
        label_y=y + 16,
        states_y=y + 32,
        base=base,
        hill=hill(scale, axis.edges, change.mass, layout.hill_height, base),
        span=span,
        applied=applied,
        applied_x=applied_x,
        applied_y=applied_y,
        applied_anchor="start" if applied_x == scale.left else "end",
    )


def _gap_words(family: Family, change: ChangeAnswer) -> str:
    versions = family.versions_of(change.line)
    if change.block is None:
        return "Not in any document: learnt from survivors"
    if 1 <= change.block < len(versions):
        return f"From {versions[change.block - 1].label} to {versions[change.block].label}"
    return "Changes"


def _stand(family: Family, axis: AxisAnswer, interval: Interval, scale: Scale, base: float) -> Stand:
    known = interval.low == interval.high
    span = _span(family, axis, interval, scale)
    words, x, anchor = _stand_words(span, "" if known else f" ({percent(interval.level)} range)", scale)
    return Stand(
        words=words,
        words_x=round(x, 1),
        words_anchor=anchor,
        known=known,
        span=span,
        hill="" if known else hill(scale, axis.edges, axis.position_mass, 26, base),
        base=base,
    )


WIDEST_FACE = 1.25
"""So much wider the letters may be on a device without the faces that pages ask for; an edge would cut them."""


def _stand_words(span: Span, level: str, scale: Scale) -> tuple[str, float, str]:
    """The words beside the band, on the side that has room; without the level where neither has."""
    right, left = span.x + span.width + 7, span.x - 7
    for words in (f"this set: {span.words}{level}", f"this set: {span.words}"):
        wide = WIDEST_FACE * width_of(words, 14)
        if right + wide <= scale.right:
            return words, right, "start"
        if left - wide >= scale.left:
            return words, left, "end"
    return words, scale.right, "end"


def _survivor_marks(scale: Scale, positions: np.ndarray) -> tuple[float, ...]:
    return () if len(positions) > MOST_TICKS else tuple(scale.x(float(p)) for p in np.sort(positions))


def _survivor_hill(scale: Scale, positions: np.ndarray, base: float) -> str:
    if len(positions) <= MOST_TICKS:
        return ""
    edges = np.linspace(scale.first, scale.last, 101)
    counts, _ = np.histogram(positions, bins=edges)
    return hill(scale, edges, counts / counts.sum(), 30, base)


def _survivor_words(number: int, unplaced: int) -> str:
    if number == 0:
        without = f"; {unplaced:,} without" if unplaced else ""
        return f"no survivor with a known serial{without}"
    without = f", and {unplaced:,} without a full serial" if unplaced else ""
    return f"survivors ({number:,}){without}"


def _title(family: Family, axis: AxisAnswer, with_set: bool) -> str:
    which = f", {line_words(axis.line)}" if len(family.lines) > 1 else ""
    end = " and where this set stands" if with_set else ""
    return f"When each change came in{which}{end}"


def _description(
    family: Family,
    axis: AxisAnswer,
    changes: Sequence[ChangeAnswer],
    survivor_positions: np.ndarray,
    stand: Interval | None,
    unplaced: int,
) -> str:
    """What the picture shows, for those who do not see it."""
    parts = [
        f"The run from {_end_words(family, axis, 0)} to {_end_words(family, axis, -1)}, left to right.",
        f"Marks on the upper line: {_survivor_words(len(survivor_positions), unplaced)}.",
    ]
    if stand is not None:
        parts.append(f"This set stands at {interval_words(family, axis.line, stand, axis.unit)}.")
    parts.append(f"Below, one row for each of {len(changes)} changes, with the hill of probability of its cut-in.")
    parts.append("The table of changes under the picture holds the same figures.")
    return " ".join(parts)


def _end_words(family: Family, axis: AxisAnswer, end: int) -> str:
    if axis.unit != SERIAL_UNIT:
        return "its start" if end == 0 else "its end"
    scale = Scale.of(family, axis, 0.0, 1.0)
    return scale.label(float(axis.edges[end]) + (1 if end == 0 else 0))
