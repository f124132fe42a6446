"""Figures and terms as a page says them."""

from __future__ import annotations

from collections.abc import Iterable

from setwright.files.problems import line_words as line_words
from setwright.identity import explain
from setwright.identity.answer import Interval
from setwright.identity.model import Family
from setwright.identity.places import SERIAL_UNIT, describe

KEEP = "\N{NO-BREAK SPACE}"
"""Between a figure and its sign: they stay on one line."""

DECIBAN_GRADES = (
    (1.0, "next to nothing"),
    (5.0, "barely {}"),
    (10.0, "clearly {}"),
    (15.0, "strongly {}"),
    (20.0, "very strongly {}"),
)
"""Upper ends in decibans with their words: grades of evidence at half powers of ten, after H. Jeffreys, Theory of
Probability, appendix B (from memory); below one deciban is common practice, no source."""

ACCESS_WORDS = {
    "outside": "from outside",
    "back off": "with the back off",
    "chassis out": "with the chassis out",
    "underside": "on the underside of the chassis",
    "powered": "with power on",
    "lead lifted": "with a lead lifted",
}
PERMANENCE_WORDS = {
    "stamped": "stamped or printed on",
    "riveted": "riveted",
    "soldered": "soldered",
    "plugged": "plugged in",
    "consumable": "a part that is often replaced",
}
CONDITION_WORDS = {
    "untouched": "Untouched",
    "repaired": "Repaired here and there",
    "heavily rebuilt": "Heavily rebuilt",
}
SURE_WORDS = {"certain": "", "likely": "likely", "guess": "a guess"}


def percent(probability: float) -> str:
    """A probability for reading, as identity's sentences have it, kept on one line.

    >>> [percent(p).replace(KEEP, " ") for p in (0.874, 0.003, 0.9991, 0.0, 1.0)]
    ['87 %', 'under 1 %', 'over 99 %', '0 %', '100 %']
    """
    return explain.percent(probability).replace(" ", KEEP)


def weight_in_words(decibans: float) -> str:
    """What a weight of evidence means for the leading verdict.

    >>> weight_in_words(12.0), weight_in_words(-30.0), weight_in_words(0.2)
    ('strongly for', 'decisively against', 'next to nothing')
    """
    side = "for" if decibans > 0 else "against"
    for limit, words in DECIBAN_GRADES:
        if abs(decibans) < limit:
            return words.format(side)
    return f"decisively {side}"


def odds_factor(decibans: float) -> str:
    """The factor by which the odds change, as one says it.

    >>> odds_factor(10.0), odds_factor(-10.0), odds_factor(0.0)
    ('odds × 10', 'odds ÷ 10', 'odds unchanged')
    """
    factor = 10 ** (abs(decibans) / 10)
    if factor < 1.05:
        return "odds unchanged"
    if factor >= 1e6:
        shown = "a million or more"
    elif factor >= 9.95:
        shown = f"{float(f'{factor:.2g}'):,.0f}"
    else:
        shown = f"{factor:.1f}"
    return f"odds {'×' if decibans > 0 else '÷'} {shown}"


def minutes_in_words(minutes: float) -> str:
    """A time at the bench.

    >>> minutes_in_words(0.5), minutes_in_words(1), minutes_in_words(31.2), minutes_in_words(90)
    ('half a minute', '1 minute', '31 minutes', '1 h 30 min')
    """
    if minutes < 0.75:
        return "half a minute"
    whole = round(minutes)
    if whole >= 60:
        return f"{whole // 60} h {whole % 60} min" if whole % 60 else f"{whole // 60} h"
    return "1 minute" if whole == 1 else f"{whole} minutes"


def listing(words: Iterable[str], last: str = "and") -> str:
    """Words in a sentence.

    >>> listing(["tube", "label", "rivet"])
    'tube, label and rivet'
    """
    items = list(words)
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {last} {items[-1]}"


def closed(sentence: str) -> str:
    """A sentence with its full stop, which people's own words may have already.

    >>> closed("Glass whole"), closed("Do not wipe."), closed("Chassis: cracked?")
    ('Glass whole.', 'Do not wipe.', 'Chassis: cracked?')
    """
    return sentence if sentence.endswith((".", "!", "?", "…")) else f"{sentence}."


def count(number: int, one: str, many: str | None = None) -> str:
    """A number with its noun.

    >>> count(1, "set"), count(1200, "set"), count(0, "family", "families")
    ('1 set', '1,200 sets', 'no families')
    """
    noun = one if number == 1 else many or f"{one}s"
    return f"{'no' if number == 0 else f'{number:,}'} {noun}"


def place_words(family: Family, line: str, position: float, unit: str) -> str:
    """One place on an axis: its serial, or how far into the run it is.

    position : place on the axis, or a part of the run from 0 to 1 where `unit` is not serials.
    """
    if unit == SERIAL_UNIT:
        return describe(family, line, round(position))
    return f"{round(100 * position)} % of the run"


def interval_words(family: Family, line: str, interval: Interval, unit: str) -> str:
    """A range of places, as "B1204 to B1380"."""
    if unit != SERIAL_UNIT:
        low, high = round(100 * interval.low), round(100 * interval.high)
        return f"{low} % of the run" if low == high else f"{low} to {high} % of the run"
    low_words = place_words(family, line, interval.low, unit)
    high_words = place_words(family, line, interval.high, unit)
    return low_words if low_words == high_words else f"{low_words} to {high_words}"
