"""Numbers as drawings and parts lists write them: ".02", "470,000", "0,047", "1/2", "1½", "2.2e-8".

Everything is read into exact fractions, so that ".05 mfd" and "50 nF" end up as one and the same float.

A comma followed by exactly three digits groups thousands ("470,000"), because that is how the American
lists write it; any other comma is the decimal comma ("0,047", "4,7", "2,25"). "0,047" is decimal too: nobody
groups thousands behind a lone zero.
"""

from __future__ import annotations

import re
import unicodedata
from fractions import Fraction
from math import gcd

from setwright.notation.errors import NotationError

_WHOLE_FRACTION = r"[1-9](?:\s|-)\d{1,3}/\d{1,3}(?![\d/.,])"
_PLAIN_FRACTION = r"\d{1,3}/\d{1,3}(?![\d/.,])"
_EXPONENT = r"(?:\d+\.?\d*|\.\d+)[eE][+-]?\d{1,3}(?![\d.])"
_GROUPED = r"\d{1,3}(?:,\d{3})+(?![\d])(?:\.\d+)?"
_DECIMAL = r"\d+[.,]\d+|[.,]\d+|\d+\.(?!\d)|\d+"

NUMBER = f"(?:{_WHOLE_FRACTION}|{_PLAIN_FRACTION}|{_EXPONENT}|{_GROUPED}|{_DECIMAL})"
"""A regular expression for one number in tidied text (see `tidy`)."""

_FRACTION_DENOMINATORS = {2, 3, 4, 5, 8, 10, 16, 32}
_LONGEST = 200
_LARGEST_EXPONENT = 30
_SAME_CHARACTER = str.maketrans(
    {
        "µ": "u",
        "μ": "u",
        "\N{OHM SIGN}": "Ω",
        "−": "-",
        "–": "-",
        "—": "-",
        "‐": "-",
        "‑": "-",
        "·": ".",
        "∙": ".",
        "⁄": "/",
        "∕": "/",
        "±": "+-",
        "\t": " ",
    }
)
_NARROW_SPACES = "[\u00a0\u2007\u2009\u202f]"


def tidy(text: str, longest: int = _LONGEST) -> str:
    """One spelling for characters that mean the same: micro, ohm and minus signs, dots, ½, odd spaces.

    >>> tidy("1½ µµF  ±10 %")
    '1 1/2 uuF +-10 %'
    """
    if len(text) > longest:
        raise NotationError(f'"{text[:30]}…" is {len(text)} characters long; a value has at most {longest}')
    text = "".join(_vulgar_fraction(character) for character in text)
    text = re.sub(rf"(?<=\d){_NARROW_SPACES}(?=\d\d\d(?!\d))", ",", text)
    text = text.translate(_SAME_CHARACTER).replace("+/-", "+-")
    return " ".join(text.split())


def _vulgar_fraction(character: str) -> str:
    """ "½" as " 1/2", any other character as it is."""
    kind, _, parts = unicodedata.decomposition(character).partition(" ")
    if kind != "<fraction>":
        return character
    return " " + "".join(chr(int(code, 16)) for code in parts.split()).replace("⁄", "/")


def is_fraction(text: str) -> bool:
    """Whether "a/b" is a fraction such as 1/2 or 3/16, and not a pair such as 20/450 (20 mfd, 450 volts).

    >>> is_fraction("1/2"), is_fraction("20/450"), is_fraction("10/16")
    (True, False, False)
    """
    numerator, denominator = (int(part) for part in text.split("/"))
    return denominator in _FRACTION_DENOMINATORS and numerator < denominator and gcd(numerator, denominator) == 1


def groups_thousands(text: str) -> bool:
    """Whether the commas of this number group thousands."""
    return re.fullmatch(_GROUPED, text) is not None and not text.startswith("0")


def read_number(text: str) -> Fraction:
    """The exact value of one number; NotationError where it cannot be one.

    >>> read_number("470,000"), read_number("0,047"), read_number(".5"), read_number("1 1/2")
    (Fraction(470000, 1), Fraction(47, 1000), Fraction(1, 2), Fraction(3, 2))
    """
    text = text.strip()
    if "/" in text:
        return _read_fraction(text)
    if "e" in text.lower():
        return _read_exponent(text)
    if text.startswith("0") and re.fullmatch(_GROUPED, text):
        if text.count(",") > 1:
            raise NotationError(f'"{text}" has two commas behind a zero; write it with a point, such as 0.047')
        return Fraction(text.replace(",", "."))
    if groups_thousands(text):
        return Fraction(text.replace(",", ""))
    if re.fullmatch(_DECIMAL, text):
        if re.match(r"[1-9]\d*,\d{4}", text):
            point = text.replace(",", ".")
            raise NotationError(f'the comma in "{text}" neither groups thousands nor is clearly decimal; write {point}')
        return Fraction(text.replace(",", ".").rstrip("."))
    if re.fullmatch(r"\d{1,3}(?:\.\d{3})+,\d+", text):
        plain = text.replace(".", "").replace(",", ".")
        raise NotationError(f'"{text}" groups thousands with points; write {plain}', plain)
    raise NotationError(f'"{text}" is not a number; write digits with a decimal point, such as 0.047 or 470,000')


def _read_fraction(text: str) -> Fraction:
    whole, _, fraction = text.replace("-", " ").rpartition(" ")
    if not re.fullmatch(r"\d+/\d+", fraction) or not is_fraction(fraction):
        raise NotationError(
            f'"{text}" is not a fraction such as 1/2 or 1/4; a capacitor and its voltage are written ".05 mfd 400 V"'
        )
    return Fraction(fraction) + (Fraction(whole.strip()) if whole.strip() else 0)


def _read_exponent(text: str) -> Fraction:
    mantissa, _, exponent = text.lower().partition("e")
    if abs(int(exponent)) > _LARGEST_EXPONENT:
        raise NotationError(f'"{text}" is far outside anything a part can have')
    return Fraction(mantissa.rstrip(".")) * Fraction(10) ** int(exponent)
