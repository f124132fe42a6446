"""What is seen of paper: a sheet of service notes with its tube layout, a table of changes, a dealer's bulletin."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from setwright.demo.drawn.strokes import Drawing, circle, drawing, gradient, path, rect, stains, words

SHEET = (850, 1100)
"""A sheet of letter paper, a hundred units to the inch."""

_INK = "#26221c"
_LEFT, _RIGHT = 90, 760


def _sheet(body: Sequence[str], seed: int, paper: tuple[str, str, str] = ("#f4ecd6", "#efe5c9", "#e7dab8")) -> Drawing:
    """A printed sheet: what stands on it, the folds and stains of its age."""
    rng = np.random.default_rng(seed)
    ground = rect(0, 0, *SHEET, "url(#sheet)")
    fold = path("M0 548C300 546 560 551 850 549", "none", 'stroke="#a8946a" stroke-width="2" stroke-opacity="0.5"')
    holes = "".join(
        circle(38, y, 14, "#4b463d") + circle(38, y, 14, "none", 'stroke="#b8a67c"') for y in (180, 550, 920)
    )
    return drawing(
        ground + stains(rng, (30, 30, 790, 1040), 26) + fold + holes + "".join(body),
        gradients=gradient("sheet", *paper), size=SHEET,
    )  # fmt: skip


def _line(y: float, text: str, size: float = 21, more: str = "") -> str:
    return words(_LEFT, y, text, size, _INK, f'text-anchor="start" {more}')


def _paragraph(y: float, lines: Sequence[str], size: float = 21) -> str:
    return "".join(_line(y + 1.42 * size * i, text, size) for i, text in enumerate(lines))


def _rule(y: float, width: float = 2) -> str:
    return rect(_LEFT, y, _RIGHT - _LEFT, width, _INK)


def _heading(publisher: str, title: str, number: str) -> list[str]:
    return [
        _line(110, publisher, 23, 'letter-spacing="5"'),
        words(_RIGHT, 110, number, 23, _INK, 'text-anchor="end" letter-spacing="2"'),
        _rule(128, 4),
        _rule(136, 1),
        _line(196, title, 42, 'font-weight="700"'),
    ]


def layout_page(publisher: str, title: str, number: str, lines: Sequence[str], seed: int) -> Drawing:
    """A first page: some lines, then the chassis from above with its tubes."""
    sockets = (
        ("V1", 180, 660), ("V2", 300, 660), ("V3", 420, 660), ("V4", 540, 660), ("V7", 180, 790),
        ("V6", 420, 790), ("V5", 540, 790), ("V8", 300, 910), ("V9", 430, 910), ("V10", 640, 880),
    )  # fmt: skip
    body = [
        *_heading(publisher, title, number),
        _paragraph(246, lines),
        rect(120, 590, 620, 400, "none", f'stroke="{_INK}" stroke-width="3"'),
        rect(600, 610, 120, 120, "none", f'stroke="{_INK}" stroke-width="2"'),
        words(660, 678, "power", 20, _INK, 'font-style="italic"'),
        *(circle(x, y, 34, "none", f'stroke="{_INK}" stroke-width="2.5"') for _, x, y in sockets),
        *(words(x, y + 7, name, 20, _INK, 'font-weight="700"') for name, x, y in sockets),
        words(430, 1026, "Fig. 1. Chassis from above. Unplug the set before the back is taken off.", 19, _INK,
              'font-style="italic"'),
    ]  # fmt: skip
    return _sheet(body, seed)


def changes_page(publisher: str, title: str, number: str, rows: Sequence[tuple[str, str, str]], seed: int) -> Drawing:
    """A page with a table of what changed in production: what it is, what it was, what it is now."""
    body = [
        *_heading(publisher, title, number),
        _line(262, "Item", 19, 'font-style="italic"'),
        words(420, 262, "Early sets", 19, _INK, 'text-anchor="start" font-style="italic"'),
        words(600, 262, "Later sets", 19, _INK, 'text-anchor="start" font-style="italic"'),
        _rule(274),
    ]
    for i, (item, early, later) in enumerate(rows):
        y = 316 + 48 * i
        body += [
            _line(y, item),
            words(420, y, early, 21, _INK, 'text-anchor="start"'),
            words(600, y, later, 21, _INK, 'text-anchor="start" font-weight="700"'),
            rect(_LEFT, y + 15, _RIGHT - _LEFT, 1, _INK, 'fill-opacity="0.5"'),
        ]
    foot = (
        "Sets between the two may have some of these changes and not others.",
        "Replace parts by those the set has.",
    )
    body.append(_paragraph(316 + 48 * len(rows) + 50, foot))
    return _sheet(body, seed)


def bulletin(publisher: str, title: str, number: str, lines: Sequence[str], seed: int) -> Drawing:
    """A dealer's bulletin: one sheet of typed lines, with a pencil mark in its margin."""
    body = [
        *_heading(publisher, title, number),
        _paragraph(262, lines, 22),
        path("M74 300C60 330 62 360 72 388", "none", 'stroke="#a33324" stroke-width="5" stroke-opacity="0.7"'),
        words(_RIGHT, 1030, "File with the service notes", 19, _INK, 'text-anchor="end" font-style="italic"'),
    ]
    return _sheet(body, seed, ("#eef0e2", "#e6e9d6", "#dbdfc6"))
