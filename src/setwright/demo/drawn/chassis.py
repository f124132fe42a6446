"""What is seen on a chassis: the rear apron, the speaker behind the baffle, a part from below."""

from __future__ import annotations

import numpy as np

from setwright.demo.drawn.strokes import (
    BENCH,
    HEIGHT,
    STEEL,
    WIDTH,
    Drawing,
    brushed,
    circle,
    drawing,
    glow,
    gradient,
    hole,
    path,
    rect,
    rivet,
    rust,
    screw,
    shadow,
    stamped,
    words,
)

INKS = {"violet": "#5b3d8f", "green": "#2e6b46"}
"""The inspector's inks, as they look on steel."""


def rear_apron(model: str, serial: str, *, ink: str | None, rusted: bool, seed: int) -> Drawing:
    """The apron with the model number and the serial struck into it.

    ink : of the inspector's stamp; None where it cannot be seen. rusted : all but the serial's last three figures.
    Places: model-stamp, serial, and inspection-stamp where there is one.
    """
    rng = np.random.default_rng(seed)
    places = {"model-stamp": (130.0, 290.0, 420.0, 170.0), "serial": (640.0, 300.0, 430.0, 150.0)}
    body = [
        rect(0, 0, WIDTH, HEIGHT, BENCH),
        rect(0, 0, WIDTH, 128, "#6e6d66"),
        brushed(rng, (0, 0, WIDTH, 128), 30),
        rect(0, 124, WIDTH, 10, "#e9e6d6", 'fill-opacity="0.75"'),
        rect(0, 134, WIDTH, 636, STEEL),
        brushed(rng, (0, 140, WIDTH, 620), 80),
        rect(0, 764, WIDTH, 14, "#53524b"),
        rect(0, 778, WIDTH, 40, "#000", 'fill-opacity="0.35"'),
        *(rivet(x, 182, 15) for x in (70.0, 590.0, 1130.0)),
        hole(1020, 620, 44),
        circle(1020, 620, 30, "#4a3a2c"),
        circle(1020, 620, 17, "#7a5f43"),
        path("M1020 620C1060 700 1010 800 1090 900", "none", 'stroke="#4c3826" stroke-width="26"'),
        path("M1016 620C1054 700 1004 800 1084 900", "none", 'stroke="#7d6142" stroke-width="7" stroke-opacity="0.7"'),
        screw(112, 690, 21, 24),
        screw(690, 690, 21, 140),
        words(402, 640, "REPLACE FUSE WITH SAME TYPE", 24, "#54534c", 'letter-spacing="3" fill-opacity="0.8"'),
        words(402, 676, "117 VOLTS 60 CYCLES", 24, "#54534c", 'letter-spacing="3" fill-opacity="0.8"'),
        f'<g transform="rotate(-1.2 340 400)">{stamped(340, 410, model, 104, 0.62 if rusted else 0.95)}</g>',
        f'<g transform="rotate(0.8 850 400)">{stamped(850, 404, serial, 84, 0.9)}</g>',
    ]
    if rusted:
        body.append(rust(rng, (560, 280, 360, 190), 40))
        body.append(rust(rng, (600, 430, 250, 150), 16))
    elif ink is not None:
        colour = INKS.get(ink, "#333333")
        places["inspection-stamp"] = (640.0, 470.0, 230.0, 170.0)
        body += [
            '<g transform="rotate(-9 755 555)" opacity="0.78">',
            f'<ellipse cx="755" cy="555" rx="92" ry="60" fill="none" stroke="{colour}" stroke-width="6"/>',
            words(755, 545, "INSP.", 34, colour, 'letter-spacing="4"'),
            words(755, 588, "17", 42, colour, 'font-weight="700"'),
            "</g>",
        ]
    return drawing("".join(body), places)


def speaker(frame: str, code: str | None, *, from_the_side: bool, seed: int) -> Drawing:
    """The speaker from behind: its frame solid or webbed, and a date code in paint on the pot.

    Places: speaker-frame, and code where there is one.
    """
    rng = np.random.default_rng(seed)
    squeeze = 0.62 if from_the_side else 1.0
    body = [
        rect(0, 0, WIDTH, HEIGHT, "#241b14"),
        *(
            path(f"M0 {y:.0f}C400 {y + rng.uniform(-9, 9):.0f} 800 {y + rng.uniform(-9, 9):.0f} 1200 {y:.0f}", "none",
                 f'stroke="#8b6a45" stroke-width="{rng.uniform(0.6, 2.2):.1f}" '
                 f'stroke-opacity="{rng.uniform(0.06, 0.24):.2f}"')
            for y in np.linspace(10, HEIGHT - 10, 40)
        ),
    ]  # fmt: skip
    parts = [
        circle(18, 34, 396, "#000", 'fill-opacity="0.4"'),
        circle(0, 0, 388, "url(#frame)", 'stroke="#33322d" stroke-width="4"'),
        circle(0, 0, 352, "none", 'stroke="#eceadb" stroke-width="3" stroke-opacity="0.45"'),
        *(screw(372 * np.cos(a), 372 * np.sin(a), 15, 40 + 50 * i) for i, a in enumerate(np.arange(8) * np.pi / 4)),
    ]
    if frame == "webbed":
        parts += [_window(a) for a in np.arange(6) * np.pi / 3 + 0.2]
    else:
        parts += [circle(0, 0, r, "none", 'stroke="#4a4942" stroke-width="2" stroke-opacity="0.5"') for r in (330, 262)]
        gleam = 'stroke="#fff" stroke-width="2" stroke-opacity="0.12"'
        parts += [path(f"M{-230 + 30 * i} -200q20 40 4 90", "none", gleam) for i in range(5)]
    parts += [
        circle(8, 14, 178, "#000", 'fill-opacity="0.4"'),
        circle(0, 0, 168, "url(#pot)", 'stroke="#26221d" stroke-width="3"'),
        circle(0, 0, 126, "none", 'stroke="#000" stroke-width="2" stroke-opacity="0.35"'),
        rect(-60, 60, 120, 46, "#d9cba0", 'rx="3" transform="rotate(-4)"'),
        words(0, 92, "OSSENBY", 22, "#443a26", 'letter-spacing="3" transform="rotate(-4)"'),
    ]
    places = {"speaker-frame": (600 - 400 * squeeze, 55.0, 800 * squeeze, 800.0)}
    if code is not None:
        parts.append(words(0, -14, code, 84, "#d8452f", 'font-weight="700" letter-spacing="8" fill-opacity="0.92"'))
        places["code"] = (470.0, 360.0, 260.0, 120.0)
    group = f'<g transform="translate(600 455) scale({squeeze} 1)">{"".join(parts)}</g>'
    body.append(group)
    if from_the_side:
        body.append(rect(0, 250, 330, 560, "url(#core)", 'stroke="#161412" stroke-width="4"'))
        body += [rect(0, 250 + 14 * i, 330, 2, "#000", 'fill-opacity="0.4"') for i in range(1, 40)]
        body.append(rect(40, 400, 220, 260, "#8a6a34", 'rx="10" stroke="#3a2a12" stroke-width="4"'))
    gradients = (
        glow("frame", "#d6d4c6", "#9b998d", "#5d5b53")
        + glow("pot", "#8b8577", "#56514a", "#2b2824")
        + gradient("core", "#5a5750", "#3c3a35")
    )
    return drawing("".join(body), places, gradients)


def _window(turn: float) -> str:
    """An opening of a webbed frame, the cone behind it."""
    near, far, half = 206.0, 338.0, 0.38
    a, b = turn - half, turn + half
    d = (
        f"M{near * np.cos(a):.0f} {near * np.sin(a):.0f}L{far * np.cos(a):.0f} {far * np.sin(a):.0f}"
        f"A{far} {far} 0 0 1 {far * np.cos(b):.0f} {far * np.sin(b):.0f}"
        f"L{near * np.cos(b):.0f} {near * np.sin(b):.0f}A{near} {near} 0 0 0 {near * np.cos(a):.0f} "
        f"{near * np.sin(a):.0f}Z"
    )
    ribs = "".join(
        path(f"M{r * np.cos(a):.0f} {r * np.sin(a):.0f}A{r} {r} 0 0 1 {r * np.cos(b):.0f} {r * np.sin(b):.0f}", "none",
             'stroke="#0d0b09" stroke-width="3" stroke-opacity="0.55"')
        for r in (236.0, 268.0, 302.0)
    )  # fmt: skip
    return path(d, "#332a22", 'stroke="#efecdd" stroke-width="3" stroke-opacity="0.5"') + ribs


def hung_capacitor(value: str, *, seed: int) -> Drawing:
    """A film capacitor hung in by its leads, wrapped round the stubs of the one before. Places: capacitor, stub."""
    rng = np.random.default_rng(seed)
    lead = 'stroke="#d5d2c4" stroke-width="9" stroke-linecap="round"'
    stub = 'stroke="#8d8a7e" stroke-width="9" stroke-linecap="round"'
    body = [
        rect(0, 0, WIDTH, HEIGHT, STEEL),
        rect(0, 0, WIDTH, HEIGHT, "#1d1a16", 'fill-opacity="0.28"'),
        brushed(rng, (0, 0, WIDTH, HEIGHT), 80),
        *(_lug(x, y) for x, y in ((150, 330), (1050, 350))),
        path("M0 180C260 210 420 140 640 190S1010 230 1200 170", "none", 'stroke="#7c2a21" stroke-width="20"'),
        path("M0 176C260 206 420 136 640 186S1010 226 1200 166", "none", 'stroke="#c4705f" stroke-width="4"'),
        path("M0 800C240 730 480 850 760 790S1080 760 1200 820", "none", 'stroke="#4d5a3a" stroke-width="20"'),
        path("M0 796C240 726 480 846 760 786S1080 756 1200 816", "none", 'stroke="#93a374" stroke-width="4"'),
        path("M158 350L300 352", "none", stub),
        path("M1042 368L900 366", "none", stub),
        shadow(620, 640, 330, 60),
        path("M236 352C250 470 262 540 372 540", "none", lead),
        path("M964 368C952 470 940 540 828 540", "none", lead),
        *(path(f"M{x} 330q14 22 0 44", "none", lead) for x in (224, 238, 252, 948, 962, 976)),
        rect(366, 452, 468, 176, "url(#film)", 'rx="34" stroke="#5c2a12" stroke-width="3"'),
        rect(392, 468, 416, 22, "#fff", 'rx="11" fill-opacity="0.32"'),
        words(600, 546, value, 62, "#2c1409", 'font-weight="700" letter-spacing="2"'),
        words(600, 598, "400 V", 40, "#2c1409", 'letter-spacing="3"'),
    ]
    gradients = gradient("film", "#d98b3f", "#c87429", "#9c5417", "#7d4010")
    places = {"capacitor": (190.0, 310.0, 820.0, 340.0), "stub": (190.0, 310.0, 130.0, 90.0)}
    return drawing("".join(body), places, gradients)


def _lug(x: float, y: float) -> str:
    """A lug of a terminal strip, with old solder on it."""
    return (
        rect(x - 40, y - 150, 80, 120, "#6b4526", 'rx="4" stroke="#2f1d0e" stroke-width="3"')
        + rect(x - 14, y - 60, 28, 96, "#c2b78f", 'rx="10" stroke="#57503a" stroke-width="2"')
        + f'<ellipse cx="{x}" cy="{y + 22}" rx="34" ry="30" fill="url(#screw)" stroke="#57544a"/>'
    )
