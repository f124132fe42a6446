"""What the drawings are put together from: sheet metal, wood, paper, screws, stamped figures, rust.

What lets its ground show through has `fill-opacity` or `stroke-opacity`: plain `opacity` makes the renderer paint each
stroke on a sheet of its own, which takes three times as long.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from html import escape
from itertools import pairwise

import numpy as np

FACE = "Source Serif Pro"
STEEL, BENCH = "#b0afa3", "#4a423a"
"""Plain grounds of large areas: light and shade come when a drawing is developed, and a gradient would take longer."""

WIDTH, HEIGHT = 1200, 900
"""The size of a drawing, in its own units, where nothing else is said."""

Box = tuple[float, float, float, float]
"""Left, top, width and height."""


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing as SVG text. places : where in it something is, as left, top, width and height in shares of it."""

    svg: str
    places: tuple[tuple[str, Box], ...] = ()

    def place(self, name: str) -> Box:
        """Where in the drawing something is; KeyError where it is not in it."""
        return dict(self.places)[name]


def drawing(
    body: str, places: Mapping[str, Box] | None = None, gradients: str = "", size: tuple[int, int] = (WIDTH, HEIGHT)
) -> Drawing:
    """A drawing from its parts. places : in the drawing's units."""
    width, height = size
    shares = tuple(
        (name, (round(x / width, 4), round(y / height, 4), round(w / width, 4), round(h / height, 4)))
        for name, (x, y, w, h) in (places or {}).items()
    )
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" viewBox="0 0 {width} {height}" '
        f'font-family="{FACE}, serif"><defs>{_GRADIENTS}{gradients}</defs>{body}</svg>'
    )
    return Drawing(svg, shares)


def gradient(name: str, *colours: str, across: bool = False) -> str:
    """A gradient of evenly spread colours, from the top down or from the left across."""
    end = 'x2="1" y2="0"' if across else 'x2="0" y2="1"'
    stops = "".join(
        f'<stop offset="{i / (len(colours) - 1):.3f}" stop-color="{colour}"/>' for i, colour in enumerate(colours)
    )
    return f'<linearGradient id="{name}" x1="0" y1="0" {end}>{stops}</linearGradient>'


def glow(name: str, *colours: str, at: tuple[float, float] = (0.38, 0.32)) -> str:
    """A gradient of evenly spread colours around a point, given as shares of what it fills."""
    stops = "".join(
        f'<stop offset="{i / (len(colours) - 1):.3f}" stop-color="{colour}"/>' for i, colour in enumerate(colours)
    )
    return f'<radialGradient id="{name}" cx="{at[0]}" cy="{at[1]}" r="0.85">{stops}</radialGradient>'


_GRADIENTS = (
    glow("screw", "#f2efe2", "#bdb9a8", "#6f6c62")
    + glow("brass", "#f3dfa2", "#c9a559", "#7b5c25")
    + glow("rusty", "#9a5b2e", "#7c4422", "#5b3220", at=(0.5, 0.5))
    + gradient("paper", "#ece0bd", "#e6d7ae", "#dcc997")
    + glow("shade", "#000000", "#00000000", at=(0.5, 0.5))
)


def rect(x: float, y: float, width: float, height: float, fill: str, more: str = "") -> str:
    """A rectangle."""
    return f'<rect x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}" fill="{fill}" {more}/>'


def circle(x: float, y: float, radius: float, fill: str, more: str = "") -> str:
    """A circle."""
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}" fill="{fill}" {more}/>'


def path(d: str, fill: str = "none", more: str = "") -> str:
    """A path."""
    return f'<path d="{d}" fill="{fill}" {more}/>'


def words(x: float, y: float, text: str, size: float, fill: str = "#2b2a26", more: str = "") -> str:
    """A line of text; its middle at x unless `more` says otherwise."""
    anchor = "" if "text-anchor" in more else 'text-anchor="middle"'
    return f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:.1f}" fill="{fill}" {anchor} {more}>{escape(text)}</text>'


def stamped(x: float, y: float, text: str, size: float, depth: float = 1.0) -> str:
    """Figures struck into metal: dark, with the light on their lower edge. depth : from 0 to 1."""
    spread = f'font-weight="700" letter-spacing="{0.14 * size:.1f}"'
    return (
        words(x + 2.6, y + 3, text, size, "#f4f1e2", f'{spread} fill-opacity="{0.75 * depth:.2f}"')
        + words(x - 1.2, y - 1.4, text, size, "#45443f", f'{spread} fill-opacity="{0.5 * depth:.2f}"')
        + words(x, y, text, size, "#5d5c54", f'{spread} fill-opacity="{0.45 + 0.5 * depth:.2f}"')
    )


def screw(x: float, y: float, radius: float, turned: float, metal: str = "screw") -> str:
    """A slotted screw; turned : its slot, in degrees."""
    slot = rect(x - radius * 0.92, y - radius * 0.13, 1.84 * radius, 0.26 * radius, "#37342d")
    return (
        circle(x + 0.18 * radius, y + 0.24 * radius, 1.12 * radius, "#000", 'fill-opacity="0.28"')
        + circle(x, y, radius, f"url(#{metal})", 'stroke="#4b483f" stroke-width="1.5"')
        + f'<g transform="rotate({turned:.0f} {x:.1f} {y:.1f})">{slot}</g>'
    )


def rivet(x: float, y: float, radius: float) -> str:
    """A rivet, rolled over an eyelet."""
    return (
        circle(x + 2, y + 3, radius * 1.08, "#000", 'fill-opacity="0.25"')
        + circle(x, y, radius, "url(#screw)", 'stroke="#57544a" stroke-width="1.2"')
        + circle(x, y, radius * 0.45, "#3d3a33")
    )


def hole(x: float, y: float, radius: float) -> str:
    """A hole in sheet metal."""
    return circle(x + 1.5, y + 2, radius + 1.5, "#e6e3d4", 'fill-opacity="0.7"') + circle(x, y, radius, "#26231f")


def brushed(rng: np.random.Generator, box: Box, number: int, dark: str = "#4c4a43") -> str:
    """Fine scratches along sheet metal."""
    x, y, width, height = box
    strokes = []
    for _ in range(number):
        left, top = x + width * rng.random(), y + height * rng.random()
        right = min(left + width * rng.uniform(0.03, 0.22), x + width)
        colour = dark if rng.random() < 0.5 else "#f3f1e6"
        rise = rng.uniform(-3, 3)
        strokes.append(
            path(f"M{left:.0f} {top:.0f}L{right:.0f} {top + rise:.0f}", "none",
                 f'stroke="{colour}" stroke-width="{rng.uniform(0.5, 1.4):.1f}" '
                 f'stroke-opacity="{rng.uniform(0.06, 0.22):.2f}"')
        )  # fmt: skip
    return "".join(strokes)


def wood(rng: np.random.Generator, box: Box, ground: str, grain: str, lines: int) -> str:
    """Veneer: long waving lines of grain on a ground."""
    x, y, width, height = box
    strokes = [rect(x, y, width, height, ground)]
    phase = rng.uniform(0, 6)
    for i in range(lines):
        level = y + height * (i + rng.uniform(0.1, 0.9)) / lines
        reach = height / lines * 2.2
        points = [
            (x + width * t, min(max(level + reach * np.sin(phase + 5 * t + level / (0.35 * height)), y), y + height))
            for t in np.linspace(0, 1, 7)
        ]
        d = f"M{points[0][0]:.0f} {points[0][1]:.1f}" + "".join(
            f"Q{(a[0] + b[0]) / 2:.0f} {a[1]:.1f} {b[0]:.0f} {b[1]:.1f}" for a, b in pairwise(points)
        )
        strokes.append(
            path(d, "none", f'stroke="{grain}" stroke-width="{rng.uniform(0.6, 3.4):.1f}" '
                 f'stroke-opacity="{rng.uniform(0.12, 0.5):.2f}"')
        )  # fmt: skip
    return "".join(strokes)


def rust(rng: np.random.Generator, box: Box, blots: int) -> str:
    """Rust that has eaten into a stretch of metal, thickest in its middle."""
    x, y, width, height = box
    spots = []
    for _ in range(blots):
        across, down = np.clip(rng.normal(0.5, 0.22, 2), 0.02, 0.98)
        reach = rng.uniform(0.03, 0.14) * height * (1.6 - 1.8 * abs(across - 0.5))
        edge = [
            (x + width * across + reach * rng.uniform(0.7, 1.25) * np.cos(turn) * 1.5,
             y + height * down + reach * rng.uniform(0.7, 1.25) * np.sin(turn))
            for turn in np.linspace(0, 2 * np.pi, 9)[:-1]
        ]  # fmt: skip
        d = "M" + "L".join(f"{a:.0f} {b:.0f}" for a, b in edge) + "Z"
        spots.append(
            path(d, "url(#rusty)", f'fill-opacity="{rng.uniform(0.45, 0.9):.2f}" stroke="#a4693a" '
                 'stroke-opacity="0.35" stroke-width="3" stroke-linejoin="round"')
        )  # fmt: skip
    return "".join(spots)


def stains(rng: np.random.Generator, box: Box, number: int) -> str:
    """Foxing and damp on paper."""
    x, y, width, height = box
    return "".join(
        circle(x + width * rng.random(), y + height * rng.random(), rng.uniform(2, 0.06 * width), "#8a6a34",
               f'fill-opacity="{rng.uniform(0.02, 0.09):.2f}"')
        for _ in range(number)
    )  # fmt: skip


def shadow(x: float, y: float, width: float, height: float) -> str:
    """A soft shadow under something that stands on a surface."""
    at = f'cx="{x:.0f}" cy="{y:.0f}" rx="{width:.0f}" ry="{height:.0f}"'
    return f'<ellipse {at} fill="url(#shade)" fill-opacity="0.55"/>'
