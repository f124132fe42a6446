"""Figures of an identity answer in words, for the terminal."""

from __future__ import annotations

from setwright.files.problems import line_words
from setwright.identity import Family
from setwright.identity.answer import Interval
from setwright.identity.places import SERIAL_UNIT, describe

_LARGEST_FACTOR = 10_000.0


def percent(probability: float) -> str:
    """A probability in percent, one decimal only near the ends, and never a false nought or hundred.

    >>> percent(0.5), percent(0.034), percent(0.0004), percent(0.9996), percent(1.0), percent(0.0)
    ('50 %', '3.4 %', '< 0.1 %', '> 99.9 %', '100 %', '0 %')
    """
    if probability in (0.0, 1.0):
        return f"{100 * probability:.0f} %"
    if probability < 0.001:
        return "< 0.1 %"
    if probability > 0.999:
        return "> 99.9 %"
    decimals = 1 if probability < 0.0995 or probability >= 0.995 else 0
    return f"{100 * probability:.{decimals}f} %"


def weight_words(decibans: float) -> str:
    """What a weight of evidence does to the odds.

    >>> weight_words(10.0), weight_words(-3.0), weight_words(0.2)
    ('10 times as good', '2 times as bad', 'about the same')
    """
    factor = 10.0 ** (abs(decibans) / 10.0)
    if factor < 1.15:
        return "about the same"
    direction = "good" if decibans > 0 else "bad"
    if factor > _LARGEST_FACTOR:
        return f"over {_LARGEST_FACTOR:,.0f} times as {direction}"
    shown = f"{factor:.1f}" if factor < 9.95 else f"{factor:,.0f}"
    return f"{shown.removesuffix('.0')} times as {direction}"


def likeness(p_value: float) -> str:
    """The misfit check in words.

    >>> likeness(0.23)
    'Of sets that the documents do explain, 23 % look at least as odd.'
    """
    return f"Of sets that the documents do explain, {percent(p_value)} look at least as odd."


def position_words(family: Family, line: str, unit: str | None, position: float) -> str:
    """A place on a line's axis: the serial that stands there, or the part of the run."""
    if unit == SERIAL_UNIT:
        return describe(family, line, round(position))
    return f"{100 * position:.0f} %"


def cut_in_words(family: Family, line: str, unit: str | None, cut_in: Interval) -> tuple[str, str]:
    """Median and range of a cut-in."""
    low, median, high = (position_words(family, line, unit, p) for p in (cut_in.low, cut_in.median, cut_in.high))
    if unit != SERIAL_UNIT:
        return f"{median} of the run", f"{low} to {high}"
    return median, f"{low} to {high}" if low != high else low


def place_words(family: Family, line: str, unit: str | None, place: Interval) -> str:
    """Where the set stands in the run."""
    median, ends = cut_in_words(family, line, unit, place)
    where = f" of the {line_words(line)}" if len(family.lines) > 1 else ""
    if place.low == place.high:
        return f"{median}{where}"
    return f"about {median}{where} ({percent(place.level)} range {ends})"


def place_of(access: str) -> str:
    """How far the set is open for a look."""
    return {
        "outside": "From outside",
        "back off": "With the back off",
        "chassis out": "With the chassis out",
        "underside": "On the underside",
        "powered": "With power on",
        "lead lifted": "With a lead lifted",
    }.get(access, access)
