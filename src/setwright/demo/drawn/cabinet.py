"""What is seen of a cabinet: its front, its knobs, the label inside it."""

from __future__ import annotations

import numpy as np

from setwright.demo.drawn.strokes import (
    BENCH,
    HEIGHT,
    WIDTH,
    Drawing,
    circle,
    drawing,
    glow,
    gradient,
    path,
    rect,
    shadow,
    stains,
    wood,
    words,
)

FINISHES = {
    "walnut": ("#6a442a", "#2f1a0c"),
    "mahogany": ("#6d3020", "#2e0f08"),
    "blond oak": ("#c39a5e", "#7d5626"),
}
"""The ground of each finish, and its grain."""

_CLOTHS = {"brown basket weave": ("#7a6041", "#3f2f1e"), "gold thread": ("#b79750", "#6e5522")}


def front(finish: str, escutcheon: str, knobs: str, *, cloth: str | None, crazed: bool, seed: int) -> Drawing:
    """The front of the table receiver. Places: cabinet-finish, escutcheon, knobs, and grille-cloth where it is told."""
    rng = np.random.default_rng(seed)
    ground, grain = FINISHES.get(finish, FINISHES["walnut"])
    light, dark = _CLOTHS.get(cloth or "", _CLOTHS["brown basket weave"])
    body = [
        rect(0, 0, WIDTH, HEIGHT, "#8f897b"),
        rect(0, 640, WIDTH, 260, BENCH),
        shadow(620, 742, 560, 50),
        '<clipPath id="box"><rect x="90" y="150" width="1020" height="560" rx="46"/></clipPath>',
        '<g clip-path="url(#box)">',
        wood(rng, (90, 150, 1020, 560), ground, grain, 30),
        rect(90, 150, 1020, 70, "#fff", 'fill-opacity="0.14"'),
        rect(90, 610, 1020, 100, "#000", 'fill-opacity="0.22"'),
        "</g>",
        '<rect x="90" y="150" width="1020" height="560" rx="46" fill="none" stroke="#1f140b" stroke-width="5"/>',
        rect(120, 700, 130, 40, grain, 'rx="8"') + rect(950, 700, 130, 40, grain, 'rx="8"'),
        f'<pattern id="cloth" width="14" height="14" patternUnits="userSpaceOnUse"><rect width="14" height="14" '
        f'fill="{dark}"/><rect x="1" y="1" width="6" height="5" fill="{light}"/><rect x="8" y="8" width="5" height="5" '
        f'fill="{light}" fill-opacity="0.8"/></pattern>',
        rect(150, 225, 470, 350, "url(#cloth)", 'rx="26" stroke="#1c120a" stroke-width="10"'),
        *(rect(150 + 78 * i, 225, 12, 350, ground, 'stroke="#1c120a" stroke-width="2"') for i in range(1, 6)),
        _dial(escutcheon),
        *(_knob(x, 620, 44, knobs) for x in (710, 810, 910, 1010)),
    ]
    if crazed:
        body.append(_crazing(rng, (100, 160, 1000, 540)))
    places = {
        "cabinet-finish": (95.0, 150.0, 1010.0, 565.0),
        "escutcheon": (655.0, 215.0, 415.0, 345.0),
        "knobs": (655.0, 570.0, 410.0, 105.0),
        "grille-cloth": (145.0, 220.0, 480.0, 360.0),
    }
    return drawing("".join(body), places, _knob_gradients())


def _dial(escutcheon: str) -> str:
    """The dial behind its bronze frame, plain or ribbed."""
    marks = [rect(697 + 15.6 * i, 330, 2, 20 if i % 5 else 34, "#3c2a12") for i in range(22)]
    marks += [rect(697 + 15.6 * i, 440, 2, 20 if i % 4 else 34, "#3c2a12") for i in range(22)]
    figures = [
        words(712 + 60 * i, 318, text, 22, "#3c2a12") for i, text in enumerate(("55", "70", "90", "120", "140", "160"))
    ]
    figures += [
        words(712 + 60 * i, 500, text, 22, "#3c2a12") for i, text in enumerate(("88", "92", "96", "100", "104", "108"))
    ]
    ribs = [
        rect(672 + 13 * i, 226, 4, 26, "#4c3310", 'fill-opacity="0.6"')
        for i in range(30)
        if escutcheon != "plain bronze"
    ]
    return "".join(
        [
            rect(662, 222, 400, 330, "url(#bronze)", 'rx="20" stroke="#33230c" stroke-width="4"'),
            *ribs,
            rect(684, 262, 356, 250, "#eed9a0", 'rx="8" stroke="#33230c" stroke-width="5"'),
            rect(684, 262, 356, 90, "#fff", 'fill-opacity="0.25" rx="8"'),
            *marks,
            *figures,
            words(862, 402, "Ossenby", 46, "#6b1f14", 'font-style="italic"'),
            rect(846, 268, 5, 238, "#8f2b1b"),
            words(862, 540, "SEDGEWATER", 18, "#33230c", 'letter-spacing="8"'),
        ]
    )


def _knob_gradients() -> str:
    return (
        gradient("bronze", "#b08a4a", "#86642f", "#5e441d")
        + glow("white-plastic", "#fffdf4", "#e9e2cf", "#aaa189")
        + glow("walnut-knob", "#8d6039", "#5b3a20", "#2c190b")
        + glow("other-knob", "#5a4a3c", "#33291f", "#15100b")
    )


def _knob(x: float, y: float, radius: float, state: str) -> str:
    """A knob from the front, by what it is: of walnut, with a brass inlay, or of white plastic."""
    if "white" in state:
        turned = [
            path(
                f"M{x + radius * np.cos(a):.1f} {y + radius * np.sin(a):.1f}"
                f"L{x + radius * 0.86 * np.cos(a):.1f} {y + radius * 0.86 * np.sin(a):.1f}",
                "none",
                f'stroke="#8f8770" stroke-width="{radius * 0.035:.1f}"',
            )
            for a in np.arange(0, 2 * np.pi, np.pi / 22)
        ]
        face = "white-plastic"
    else:
        turned = [
            circle(
                x, y, radius * 0.72, "none", f'stroke="#1b0f06" stroke-width="{radius * 0.03:.1f}" stroke-opacity="0.6"'
            )
        ]
        face = "walnut-knob" if state in ("plain walnut", "brass inlay") else "other-knob"
    if "inlay" in state:
        turned.append(circle(x, y, radius * 0.5, "url(#brass)", 'stroke="#4a3510" stroke-width="2"'))
        turned.append(circle(x, y, radius * 0.3, f"url(#{face})"))
    pointer = rect(
        x - radius * 0.03, y - radius * 0.95, radius * 0.06, radius * 0.34, "#2a2018" if "white" in state else "#e8d9ad"
    )
    return (
        circle(x + radius * 0.1, y + radius * 0.16, radius * 1.06, "#000", 'fill-opacity="0.38"')
        + circle(x, y, radius, f"url(#{face})", f'stroke="#1a120a" stroke-width="{radius * 0.03:.1f}"')
        + circle(x, y, radius * 0.84, f"url(#{face})", 'fill-opacity="0.7"')
        + "".join(turned)
        + pointer
    )


def _crazing(rng: np.random.Generator, box: tuple[float, float, float, float]) -> str:
    """Fine cracks of old lacquer."""
    x, y, width, height = box
    cracks = []
    for _ in range(90):
        a, b = x + width * rng.random(), y + height * rng.random()
        turns = "".join(f"l{rng.uniform(-16, 16):.0f} {rng.uniform(-14, 14):.0f}" for _ in range(4))
        cracks.append(f"M{a:.0f} {b:.0f}{turns}")
    lines = path("".join(cracks), "none", 'stroke="#f6e7c6" stroke-width="1.1" stroke-opacity="0.3"')
    return f'<g clip-path="url(#box)">{lines}</g>'


def knobs(state: str, finish: str, *, cracked: bool, seed: int) -> Drawing:
    """Two of the knobs close by. cracked : one has a hairline crack. Places: knobs, and crack where there is one."""
    rng = np.random.default_rng(seed)
    ground, grain = FINISHES.get(finish, FINISHES["walnut"])
    body = [
        wood(rng, (0, 0, WIDTH, HEIGHT), ground, grain, 22),
        _knob(330, 470, 220, state),
        _knob(880, 470, 220, state),
        words(330, 800, "VOLUME", 44, "#f0dfb4" if finish != "blond oak" else "#4a2f10", 'letter-spacing="10"'),
        words(880, 800, "TONE", 44, "#f0dfb4" if finish != "blond oak" else "#4a2f10", 'letter-spacing="10"'),
    ]
    places = {"knobs": (95.0, 235.0, 1030.0, 480.0)}
    if cracked:
        body.append(
            path("M880 470l34 46l-8 40l46 52l4 50", "none", 'stroke="#5a4a34" stroke-width="3.5" stroke-opacity="0.85"')
        )
        places["crack"] = (850.0, 450.0, 140.0, 230.0)
    return drawing("".join(body), places, _knob_gradients())


_SOCKETS = (
    ("V1", 300, 330), ("V2", 470, 330), ("V3", 640, 330), ("V4", 810, 330), ("V5", 810, 470), ("V6", 640, 470),
    ("V7", 300, 470), ("V8", 470, 610), ("V9", 640, 610), ("V10", 860, 610),
)  # fmt: skip


def tube_label(form: str, *, nailed: bool, rf_amplifier: str, seed: int) -> Drawing:
    """The paper label with the places of the tubes. form : what is printed at its foot. Places: tube-label, form."""
    rng = np.random.default_rng(seed)
    types = {"V1": rf_amplifier, "V2": "6BE6", "V3": "6BA6", "V4": "6BA6", "V5": "6AU6", "V6": "6AL5", "V7": "6C4",
             "V8": "6AT6", "V9": "6V6GT", "V10": "5Y3GT"}  # fmt: skip
    ink = "#3a2c1c"
    torn = "M140 120H1060V640L1049 652L1054 668L1036 683L1040 700L1024 712L1019 731L1004 737L998 750H140Z"
    edge = "M140 120H1060V750H140Z" if nailed else torn
    body = [
        wood(rng, (0, 0, WIDTH, HEIGHT), "#7b5f3f", "#3f2c18", 18),
        path(edge, "#000", 'fill-opacity="0.25" transform="translate(12 14)"'),
        path(edge, "url(#paper)", 'stroke="#7b6434" stroke-width="2"'),
        words(600, 184, "OSSENBY RADIO   ·   TARN MILLS", 34, ink, 'letter-spacing="5" font-weight="700"'),
        words(
            600, 226, "Location of tubes. Unplug the set before the back is taken off.", 25, ink, 'font-style="italic"'
        ),
        rect(190, 262, 820, 420, "none", f'stroke="{ink}" stroke-width="3"'),
        *(_socket(x, y, name, types[name], ink) for name, x, y in _SOCKETS),
        rect(220, 560, 150, 100, "none", f'stroke="{ink}" stroke-width="2.5"'),
        words(295, 618, "power", 24, ink, 'font-style="italic"'),
        words(990, 728, form[:1].upper() + form[1:], 30, ink, 'text-anchor="end" letter-spacing="2"'),
        words(190, 728, "Printed at Tarn Mills", 22, ink, 'text-anchor="start" font-style="italic"'),
        stains(rng, (150, 130, 880, 590), 34),
        path("M600 120C596 330 606 560 600 750", "none", 'stroke="#8b7340" stroke-width="2" stroke-opacity="0.55"'),
    ]
    pins = ((166, 146), (1034, 146), (166, 724)) + (((1034, 724),) if nailed else ())
    body += [circle(x + 2, y + 3, 11, "#000", 'fill-opacity="0.3"') + circle(x, y, 10, "url(#screw)") for x, y in pins]
    return drawing("".join(body), {"tube-label": (140, 120, 920, 630), "form": (780, 692, 215, 48)})


def _socket(x: float, y: float, name: str, kind: str, ink: str) -> str:
    return (
        circle(x, y, 46, "none", f'stroke="{ink}" stroke-width="3"')
        + words(x, y - 2, name, 24, ink, 'font-weight="700"')
        + words(x, y + 24, kind, 21, ink)
    )
