"""Text inside pictures: SVG neither wraps nor cuts, so the widths are estimated here."""

from __future__ import annotations

import re

NARROW = set("ijlt.,:;'|!()[] fr")
WIDE = set("mwMW@%QOGΩ→")


def width_of(text: str, size: float) -> float:
    """About how wide a text is in a serif face of that size, on the safe side."""
    em = sum(0.31 if c in NARROW else 0.92 if c in WIDE else 0.68 if c.isupper() else 0.5 for c in text)
    return em * size


def fitted(text: str, size: float, room: float) -> str:
    """The text, cut with an ellipsis where it would be wider than `room`.

    >>> fitted("Tone control capacitor", 10, 1000), fitted("Tone control capacitor", 10, 60)
    ('Tone control capacitor', 'Tone control…')
    """
    if width_of(text, size) <= room:
        return text
    cut = text
    while cut and width_of(cut + "…", size) > room:
        cut = cut[:-1]
    return cut.rstrip() + "…"


def wrapped(text: str, size: float, room: float, most: int = 2) -> tuple[str, ...]:
    """The text in lines no wider than `room`, at most so many; what is left over is cut with an ellipsis.

    >>> wrapped("Tone control capacitor", 10, 70), wrapped("Tone control capacitor", 10, 70, 1)
    (('Tone control', 'capacitor'), ('Tone control c…',))
    """
    # Only at spaces that may be broken: "64 %" stays together.
    words = [word for word in re.split(r"[ \t\n]+", text) if word]
    lines: list[str] = []
    while words and len(lines) < most - 1:
        taken = 1
        while taken < len(words) and width_of(" ".join(words[: taken + 1]), size) <= room:
            taken += 1
        lines.append(fitted(" ".join(words[:taken]), size, room))
        words = words[taken:]
    return (*lines, fitted(" ".join(words), size, room)) if words or not lines else tuple(lines)
