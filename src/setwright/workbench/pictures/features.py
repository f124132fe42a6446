"""The grid of features and versions as a picture: what stands on the page as a table, to be sent to others."""

from __future__ import annotations

from dataclasses import dataclass

from setwright.workbench.families.grid import Grid, GridRow, SetCell
from setwright.workbench.pictures.text import wrapped

LABEL_WIDTH, SET_WIDTH = 236.0, 216.0
NARROWEST_VERSION = 104.0
USUAL_WIDTH = 1080.0
LINE_HEIGHT = 17.0
LABEL_SIZE, STATE_SIZE, NOTE_SIZE = 14.5, 14.0, 12.5
_PAD = 7.0

NO_MARK = {"seen"}


@dataclass(frozen=True, slots=True)
class Line:
    """One line of text; `kind` is the class that the style sheet knows."""

    x: float
    y: float
    text: str
    kind: str


@dataclass(frozen=True, slots=True)
class Field:
    """One field of the grid with its lines. kind : shared, silent, leading, plain, or how a set's cell stands."""

    x: float
    y: float
    width: float
    height: float
    kind: str
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class FeaturesPicture:
    """The whole picture; `marks` are (x, y, kind) of the signs before a set's states."""

    width: float
    height: float
    fields: tuple[Field, ...]
    marks: tuple[tuple[float, float, str], ...]
    set_x: float | None
    title: str


def features_picture(grid: Grid, title: str) -> FeaturesPicture:
    """Lays the grid out; with many versions it grows wider, with long texts the rows grow higher."""
    before = LABEL_WIDTH + (SET_WIDTH if grid.has_set else 0.0)
    columns = max(len(grid.columns), 1)
    column = max(NARROWEST_VERSION, (USUAL_WIDTH - before) / columns)
    fields, y = _head(grid, before, column)
    marks = []
    for row in grid.rows:
        below, height = _row(row, before, column, y)
        fields += below
        if row.cell is not None and row.cell.kind not in NO_MARK:
            marks.append((LABEL_WIDTH + _PAD + 6, y + 15.0, row.cell.kind))
        y += height
    return FeaturesPicture(
        width=round(before + columns * column, 1),
        height=round(y + 2, 1),
        fields=tuple(fields),
        marks=tuple(marks),
        set_x=LABEL_WIDTH if grid.has_set else None,
        title=title,
    )


def _head(grid: Grid, before: float, column: float) -> tuple[list[Field], float]:
    texts = [(0.0, LABEL_WIDTH, "Feature", False)]
    if grid.has_set:
        texts.append((LABEL_WIDTH, SET_WIDTH, grid.set_label, False))
    texts += [
        (before + i * column, column, f"{version.code} {version.label}", version.leading)
        for i, version in enumerate(grid.columns)
    ]
    split = [wrapped(text, STATE_SIZE, width - 2 * _PAD, 3) for _, width, text, _ in texts]
    height = max(map(len, split)) * LINE_HEIGHT + 8
    fields = [
        Field(x, 0.0, width, height, "leading" if leading else "head", _lines(lines, x + _PAD * bool(x), 0.0, "small"))
        for (x, width, _, leading), lines in zip(texts, split, strict=True)
    ]
    return fields, height


def _row(row: GridRow, before: float, column: float, y: float) -> tuple[list[Field], float]:
    placed = [
        (0.0, LABEL_WIDTH, "plain", _lines(wrapped(row.label, LABEL_SIZE, LABEL_WIDTH - _PAD, 3), 0.0, y, "label"))
    ]
    if row.cell is not None:
        placed.append((LABEL_WIDTH, SET_WIDTH, row.cell.kind, _cell_lines(row.cell, y)))
    x = before
    for span in row.spans:
        width = span.width * column
        kind = "silent" if span.silent else "shared" if span.shared else "plain"
        lines = wrapped(span.text, STATE_SIZE, width - 2 * _PAD, 3)
        placed.append((x, width, kind, _lines(lines, x + _PAD, y, f"state-{kind}")))
        x += width
    height = max(len(lines) for *_, lines in placed) * LINE_HEIGHT + 10
    return [Field(round(x, 1), y, round(width, 1), height, kind, lines) for x, width, kind, lines in placed], height


def _cell_lines(cell: SetCell, y: float) -> tuple[Line, ...]:
    x = LABEL_WIDTH + _PAD + (0.0 if cell.kind in NO_MARK else 18.0)
    room = LABEL_WIDTH + SET_WIDTH - _PAD - x
    states = wrapped(cell.text, STATE_SIZE, room, 2)
    notes = wrapped(cell.note, NOTE_SIZE, room, 3) if cell.note else ()
    kind = "guessed" if cell.kind in {"predicted", "nothing"} else "seen"
    return (*_lines(states, x, y, kind), *_lines(notes, x, y + len(states) * LINE_HEIGHT, "note"))


def _lines(texts: tuple[str, ...], x: float, y: float, kind: str) -> tuple[Line, ...]:
    return tuple(Line(round(x, 1), round(y + 19 + i * LINE_HEIGHT, 1), text, kind) for i, text in enumerate(texts))
