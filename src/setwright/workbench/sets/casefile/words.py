"""How what a case holds is put into words."""

from __future__ import annotations

from setwright.files.case import Condition, Note, Reading, Want
from setwright.identity.model import Family
from setwright.notation import DateInterval

QUANTITIES = {"volts": "volts, direct", "volts_ac": "volts, alternating", "amps": "amperes", "ohms": "ohms"}
"""What a meter reads, as one says it."""


def date_words(day: DateInterval | None) -> str:
    """A date as it was written; "" where there is none."""
    return "" if day is None else day.text


def price_words(price: str) -> str:
    """What was paid, in a sentence; "" where that is not known."""
    return f"for {price}" if price else ""


def condition_words(entry: Condition) -> tuple[str, str]:
    """What was found, and when."""
    return f"{entry.area[0].upper()}{entry.area[1:]}: {entry.text}", date_words(entry.on)


def want_words(entry: Want) -> tuple[str, str]:
    """What is looked for, and what is known of it."""
    what = f"{entry.what} ({entry.part})" if entry.part else entry.what
    return what, "; ".join(part for part in ("found" if entry.found else "", entry.note) if part)


def note_words(entry: Note, family: Family | None = None) -> tuple[str, str]:
    """The note, and when, by whom and about what it was written."""
    about = ""
    if entry.about:
        about = entry.about if family is None else f"on {family.feature(entry.about).label}"
    day = f"{entry.at:%Y-%m-%d}" if entry.at else ""
    return entry.text, ", ".join(part for part in (day, entry.by, about) if part)


def reading_words(entry: Reading) -> tuple[str, str]:
    """What was read where, and with what.

    >>> reading_words(Reading("V3.plate", "volts", 87.5, "V", "20k/V@250"))
    ('V3.plate: 87.5 V', 'direct, switched on, meter 20k/V@250')
    """
    against = f" against {entry.reference}" if entry.reference else ""
    kind = {"volts": "direct", "volts_ac": "alternating"}.get(entry.quantity, "")
    switched = "switched on" if entry.condition == "on" else "switched off"
    meter = f"meter {entry.meter}" if entry.meter else ""
    line = f"line at {entry.line_volts:g} V" if entry.line_volts else ""
    more = ", ".join(part for part in (kind, switched, meter, line, date_words(entry.on)) if part)
    return f"{entry.point}{against}: {entry.value:g} {entry.unit}", more
