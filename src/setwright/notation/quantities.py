"""One quantity as the trade writes it: ".02 mfd", "500 mmf", "2.2 meg", "470k", "1/2 W", "455 kc", "10 H"."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from setwright.notation.errors import NotationError
from setwright.notation.numbers import NUMBER, groups_thousands, read_number, tidy
from setwright.notation.units import (
    QUANTITY_NAMES,
    WORD,
    check_unit,
    is_ambiguous_m,
    near_unit_word,
    unit_of,
)

_QUANTITY = re.compile(rf"(?P<number>{NUMBER})\s*-?\s*(?P<word>.*)", re.DOTALL)
_LETTER_FOR_POINT = re.compile(r"(\d{1,4})([RrKkMUuNnPp])(\d{1,3})(?:\s*(?:Ω|ohms?|F|H))?")
_GROUPED_BY_POINTS = re.compile(r"\d{1,3}(?:\.\d{3})+,\d+(?: |$)")
_BARE_FARADS = (Fraction(1, 100_000), Fraction(1))


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value in SI units: F, ohm, V, A, H, W or Hz."""

    value: float
    unit: str


def parse_quantity(text: str, unit: str | None = None, *, m_means_thousand: bool = False) -> Quantity:
    """Read one quantity; `unit`, where given, is the unit it must have and the one a bare number gets.

    text : the quantity as written.
    unit : "F", "ohm", "V", "A", "H", "W" or "Hz", or None to take whatever the text says.
    m_means_thousand : read "470M" as 470,000 ohms, as old drawings mean it. "MEG" is always million.

    A bare number below one with unit "F" is in microfarads, as drawings note it; from one up it could be
    micromicrofarads as well and is refused. Zero and negative values are refused: no part has them.

    Raises NotationError for what cannot be read and for what can be read in two ways.

    >>> parse_quantity(".02 mfd")
    Quantity(value=2e-08, unit='F')
    >>> parse_quantity("500 mmf") == parse_quantity("500 µµF") == parse_quantity("0.5 nF")
    True
    >>> parse_quantity("2.2 meg").value, parse_quantity("470,000 ohms").value, parse_quantity("4k7").value
    (2200000.0, 470000.0, 4700.0)
    >>> parse_quantity("470M", m_means_thousand=True)
    Quantity(value=470000.0, unit='ohm')
    >>> parse_quantity("470M")
    Traceback (most recent call last):
        ...
    setwright.notation.errors.NotationError: "470M" can be read in two ways: 470,000 ohms, because on old drawings \
M means thousand, or 470 megohms; write "470k" or "470 meg"
    """
    check_unit(unit)
    tidied = tidy(text).rstrip(" ,;")
    if _GROUPED_BY_POINTS.match(tidied):
        read_number(tidied.split(" ")[0])  # says how to write it
    found = _letter_for_point(tidied, unit, m_means_thousand)
    if found is None:
        match = _QUANTITY.fullmatch(tidied)
        if match is None:
            raise NotationError(_not_a_quantity(text, unit))
        found = _number_and_word(text, match["number"], match["word"].strip(), unit, m_means_thousand)
    return _checked(text, found, unit)


def _not_a_quantity(text: str, unit: str | None) -> str:
    example = {"F": ".05 mfd", "ohm": "470k", "H": "10 H", "W": "1/2 W", "A": "150 mA", "Hz": "455 kc"}
    wanted = f"a {QUANTITY_NAMES[unit]}" if unit else "a value"
    if not text.strip():
        return f'nothing is written where {wanted} belongs, such as "{example.get(unit or "F", "400 V")}"'
    if tidy(text).startswith("-"):
        return f'"{text}" is negative; the value of a part is above zero'
    return f'"{text}" is not {wanted} such as "{example.get(unit or "F", "400 V")}"'


def _letter_for_point(tidied: str, unit: str | None, m_means_thousand: bool) -> tuple[Fraction, str] | None:
    """ "4k7", "4R7", "2n2": the multiplier's letter stands where the decimal point would."""
    match = _LETTER_FOR_POINT.fullmatch(tidied)
    if match is None:
        return None
    whole, letter, decimals = match.groups()
    if letter == "M":
        if m_means_thousand:
            raise NotationError(
                f'"{tidied}" can be read in two ways here, where M means thousand; '
                f'write "{whole}.{decimals}k" or "{whole}.{decimals} meg"'
            )
        return Fraction(f"{whole}.{decimals}") * 10**6, "ohm"
    known = unit_of(letter, unit) or unit_of(letter)
    assert known is not None  # every letter of the pattern is a unit word of its own
    return Fraction(f"{whole}.{decimals}") * known[1], known[0]


def _number_and_word(
    text: str, number: str, word: str, unit: str | None, m_means_thousand: bool
) -> tuple[Fraction, str]:
    if not word:
        return _bare(text, number, unit)
    if not re.fullmatch(rf"{WORD}(?:\s{WORD})*", word):
        raise NotationError(_left_over(text, number, word))
    if word == "MΩ" and not m_means_thousand:
        return read_number(number) * 10**6, "ohm"
    if is_ambiguous_m(word, unit):
        return _with_m(text, number, word, unit, m_means_thousand)
    known = unit_of(word, unit)
    if known is None:
        raise _unknown_word(text, number, word)
    if groups_thousands(number) and known[0] == "ohm" and known[1] > 1:
        decimal = number.replace(",", ".", 1)
        raise NotationError(
            f'"{text}" can be read in two ways: the comma may group thousands ({number.replace(",", "")} {word}) '
            f"or stand for the decimal point ({decimal} {word}); write one of these"
        )
    return read_number(number) * known[1], known[0]


def _bare(text: str, number: str, unit: str | None) -> tuple[Fraction, str]:
    """A number without a unit."""
    value = read_number(number)
    if unit is None:
        raise NotationError(f'"{text}" has no unit; write for example "{number} mfd", "{number} ohms" or "{number} V"')
    if unit != "F":
        return value, unit
    low, high = _BARE_FARADS
    if low <= value < high and "e" not in number.lower():
        return value / 10**6, "F"
    raise NotationError(
        f'"{text}" has no unit and could be microfarads or micromicrofarads; write "{number} mfd" or "{number} mmf"'
    )


def _with_m(text: str, number: str, word: str, unit: str | None, m_means_thousand: bool) -> tuple[Fraction, str]:
    """M alone or before ohms: thousand where the drawing says so, otherwise refused with both readings."""
    if unit == "F":
        raise NotationError(f'"{text}": M is no capacitance; write "{number} mfd" or "{number} mmf"')
    if unit not in (None, "ohm"):
        raise NotationError(f'"{text}" is not clear; write the unit out, such as "{number} m{unit}"')
    if m_means_thousand and "Ω" not in word:
        return read_number(number) * 1000, "ohm"
    thousands = read_number(number) * 1000
    shown = f"{int(thousands):,}" if thousands.denominator == 1 else f"{float(thousands):g}"
    raise NotationError(
        f'"{text}" can be read in two ways: {shown} ohms, because on old drawings M means thousand, '
        f'or {number} megohms; write "{number}k" or "{number} meg"',
        None if m_means_thousand else f"{number}k",
    )


def _unknown_word(text: str, number: str, word: str) -> NotationError:
    near = near_unit_word(word)
    if near:
        suggestion = f"{number} {near}"
        return NotationError(f'"{text}": "{word}" is not a unit known here; "{suggestion}" is', suggestion)
    return NotationError(
        f'"{text}": "{word}" is not a unit known here; write for example mfd, mmf, ohms, k, meg, V, mA, H, W or kc'
    )


def _left_over(text: str, number: str, word: str) -> str:
    if re.match(rf"[/x+]\s*{NUMBER}", word) or re.match(NUMBER, word):
        return (
            f'"{text}" holds more than one number; give each section of a capacitor its own reference, '
            f'and write a rating with its unit, such as "{number} mfd 450 V"'
        )
    return f'"{text}": "{word}" after the number {number} is not a unit; write for example "{number} mfd"'


def _checked(text: str, found: tuple[Fraction, str], unit: str | None) -> Quantity:
    value, its_unit = found
    if unit is not None and its_unit != unit:
        raise NotationError(
            f'"{text}" is a {QUANTITY_NAMES[its_unit]} ({its_unit}); here a {QUANTITY_NAMES[unit]} ({unit}) belongs'
        )
    if value <= 0:
        raise NotationError(f'"{text}" is zero; a part has a value above zero (one that is not there is "absent")')
    try:
        return Quantity(float(value), its_unit)
    except OverflowError:
        raise NotationError(f'"{text}" is far outside anything a part can have') from None
