"""One line's axis with its survivors on it, and one of them marked."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from setwright.identity.model import Family
from setwright.identity.places import SERIAL_UNIT, axis_of
from setwright.workbench.pictures.scale import Scale, Tick
from setwright.workbench.site.words import line_words

MOST_TICKS = 600


@dataclass(frozen=True, slots=True)
class AxisPicture:
    """The picture in one width."""

    name: str
    line: str
    identifier: str
    width: float
    left: float
    right: float
    title: str
    description: str
    ticks: tuple[Tick, ...]
    marks: tuple[float, ...]
    marked: float | None
    marked_label: str
    marked_anchor: str

    @property
    def height(self) -> float:
        """Room for the label of what is marked only where something is."""
        return 74.0 if self.marked is None else 92.0


def axis_pictures(
    family: Family, line: str, positions: np.ndarray, *, marked: int | None = None, marked_label: str = ""
) -> tuple[AxisPicture, ...]:
    """The axis for the desk and for the phone; none where no serial of the line is known.

    positions : (n,) known positions on the line. marked : the position that is drawn in red.
    """
    axis = axis_of(family, line, positions)
    if axis.unit != SERIAL_UNIT:
        return ()
    pictures = []
    for name, width, most in (("wide", 1080.0, 8), ("tall", 358.0, 4)):
        scale = Scale(family, line, axis.unit, axis.first - 1, axis.last, 4.0, width - 4.0)
        x = None if marked is None else scale.x(marked)
        # More marks than the paper has room for would be one black bar: every k-th stands for them.
        shown = np.sort(positions)[:: max(1, -(-len(positions) // MOST_TICKS))]
        which = f" of the {line_words(line)}" if len(family.lines) > 1 else ""
        pictures.append(
            AxisPicture(
                name=name,
                line=line,
                identifier=f"axis-{line}-{name}",
                width=width,
                left=scale.left,
                right=scale.right,
                title=f"Known serials{which}" + (f", {marked_label} marked" if marked_label else ""),
                description=f"{len(positions):,} survivors between {scale.label(axis.first)} and "
                f"{scale.label(axis.last)}" + (f"; {marked_label} stands at {scale.label(marked)}." if marked else "."),
                ticks=scale.ticks(most),
                marks=tuple(scale.x(float(p)) for p in shown),
                marked=x,
                marked_label=marked_label,
                marked_anchor="start" if x is None or x < width / 2 else "end",
            )
        )
    return tuple(pictures)
