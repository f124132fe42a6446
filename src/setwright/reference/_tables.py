"""Reading this package's own tables."""

from __future__ import annotations

import csv
from functools import cache
from importlib.resources import files

READ, QUOTED, DERIVED, MEMORY = "read", "quoted", "derived", "from memory"
"""How far a figure was checked: copied from the sheet, from a quotation of it, worked out, recalled."""


@cache
def table(name: str) -> tuple[dict[str, str], ...]:
    """The rows of data/NAME.csv by column; an empty cell is an empty text."""
    text = files("setwright.reference").joinpath(f"data/{name}.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


def number(cell: str, scale: float = 1.0) -> float | None:
    """A cell's number times `scale`, None where it is empty or no number ("to cathode").

    >>> number("250"), number("9", 2.0), number("tied to plate")
    (250.0, 18.0, None)
    """
    try:
        return float(cell) * scale
    except ValueError:
        return None
