"""Probabilities and weights of evidence as rows of bars, to be sent to others."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from setwright.workbench.pictures.text import fitted

WIDTH = 1080.0
ROW = 32.0
TALL_ROW = 46.0
_LABEL, _BAR, _END = 430.0, 450.0, 980.0
_MIDDLE, _HALF = 560.0, 190.0


@dataclass(frozen=True, slots=True)
class Bar:
    """One row: its label, a smaller line under it, its bar from `x`, and words at the right."""

    y: float
    label: str
    under: str
    x: float
    width: float
    words: str
    words_x: float
    kind: str


@dataclass(frozen=True, slots=True)
class BarsPicture:
    """The whole picture. `middle` is where bars to both sides begin; None where all begin at the left."""

    width: float
    height: float
    left: float
    right: float
    row_height: float
    bars: tuple[Bar, ...]
    middle: float | None
    title: str


def shares_picture(rows: Iterable[tuple[str, float, str, bool]], title: str) -> BarsPicture:
    """Alternatives: (label, per cent, as said, leading) each."""
    bars = tuple(
        Bar(
            y=i * ROW,
            label=fitted(label, 15, _LABEL),
            under="",
            x=_BAR,
            width=round((_END - _BAR) * share / 100, 1),
            words=words,
            words_x=WIDTH,
            kind="leading" if leading else "part",
        )
        for i, (label, share, words, leading) in enumerate(rows)
    )
    return BarsPicture(WIDTH, len(bars) * ROW, _BAR, _END, ROW, bars, None, title)


def weights_picture(rows: Iterable[tuple[str, str, float, bool, str]], title: str) -> BarsPicture:
    """Evidence: (label, what was seen, part of the half scale in per cent, against, words) each."""
    bars = []
    for i, (label, seen, share, against, words) in enumerate(rows):
        width = round(_HALF * share / 100, 1)
        bars.append(
            Bar(
                y=i * TALL_ROW,
                label=fitted(label, 15, _MIDDLE - _HALF - 20),
                under=fitted(seen, 13.5, _MIDDLE - _HALF - 20),
                x=_MIDDLE - width if against else _MIDDLE,
                width=width,
                words=fitted(words, 14, WIDTH - _MIDDLE - _HALF - 20),
                words_x=_MIDDLE + _HALF + 20,
                kind="against" if against else "part",
            )
        )
    left, right = _MIDDLE - _HALF, _MIDDLE + _HALF
    return BarsPicture(WIDTH, len(bars) * TALL_ROW, left, right, TALL_ROW, tuple(bars), _MIDDLE, title)
