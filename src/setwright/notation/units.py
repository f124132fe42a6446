"""The unit words of the trade and what they multiply by.

Words are compared without case, full stops, hyphens and spaces, so "M.F.D.", "mfd." and "Mfd" are one word. A single
"m" before farad is micro, as the period wrote it ("mf", "mfd", "MF"); "mmf" is micromicrofarad, today's pF. "MEG" is
always million. "M" alone before ohms means thousand on old drawings and million on newer ones: `AMBIGUOUS_M`.
"""

from __future__ import annotations

import difflib
import re
from fractions import Fraction

from setwright.notation.errors import NotationError

QUANTITY_NAMES = {
    "F": "capacitance",
    "ohm": "resistance",
    "V": "voltage",
    "A": "current",
    "H": "inductance",
    "W": "power",
    "Hz": "frequency",
}
"""The units known here, and what each measures."""

_WORDS: dict[tuple[str, int], str] = {
    ("F", 0): "f farad farads",
    ("F", -6): "mf mfd mfds mfarad mfarads uf ufd microfarad microfarads u",
    ("F", -9): "nf nfd nanofarad nanofarads n",
    ("F", -12): "mmf mmfd mmfds uuf uufd uufds pf pfd picofarad picofarads micromicrofarad micromicrofarads p",
    ("ohm", 0): "ohm ohms Ω r",
    ("ohm", 3): "k kohm kohms kΩ kilohm kilohms kiloohm kiloohms",
    ("ohm", 6): "meg megs megohm megohms megΩ megaohm megaohms",
    ("V", -6): "uv microvolt microvolts",
    ("V", -3): "mv millivolt millivolts",
    ("V", 0): "v volt volts vdc vdcw wvdc wv vw dcwv dcvw vdcwkg dcv voltsdc voltsdcw wvolts dcvolts dcworkingvolts "
    "workingvolts voltsworking vac acv voltsac acvolts vwkg vrms",
    ("V", 3): "kv kilovolt kilovolts kvdc",
    ("A", -6): "ua microamp microamps microampere microamperes",
    ("A", -3): "ma mils milliamp milliamps milliampere milliamperes",
    ("A", 0): "a amp amps ampere amperes",
    ("H", -6): "uh uhy microhenry microhenries microhenrys",
    ("H", -3): "mh mhy millihenry millihenries millihenrys",
    ("H", 0): "h hy hys henry henries henrys",
    ("W", -3): "mw milliwatt milliwatts",
    ("W", 0): "w watt watts",
    ("W", 3): "kw kilowatt kilowatts",
    ("Hz", 0): "hz cps c/s cycle cycles cy",
    ("Hz", 3): "kc kcs kc/s kcps khz kilocycle kilocycles",
    ("Hz", 6): "mc mcs mc/s mcps mhz megacycle megacycles",
}
_PREFIX_LETTERS = {
    "F": {"u": -6, "n": -9, "p": -12},
    "ohm": {"k": 3, "r": 0},
    "V": {"k": 3, "m": -3, "u": -6},
    "A": {"m": -3, "u": -6},
    "H": {"m": -3, "u": -6},
    "W": {"k": 3, "m": -3},
    "Hz": {"k": 3},
}

AMBIGUOUS_M = {"m", "mohm", "mohms", "mΩ"}
"""Unit words in which M may mean thousand or million."""

UNIT_WORDS: dict[str, tuple[str, Fraction]] = {
    word: (unit, Fraction(10) ** power) for (unit, power), words in _WORDS.items() for word in words.split()
}

WORD = r"[A-Za-zΩ][A-Za-zΩ.\-]*(?:/s)?"
"""A regular expression for one unit word, full stops and hyphens included."""


def plain_word(word: str) -> str:
    """The word without what does not count: case, full stops, hyphens, spaces.

    >>> plain_word("M.M.F.D."), plain_word("k ohms")
    ('mmfd', 'kohms')
    """
    return re.sub(r"[.\-\s]", "", word).lower().replace("ω", "Ω")


def unit_of(word: str, wanted: str | None = None) -> tuple[str, Fraction] | None:
    """Unit and multiplier of a unit word, None if it is no unit word.

    A lone prefix letter ("47u", "2.5 m") goes with the unit that is wanted.

    >>> unit_of("MFD")
    ('F', Fraction(1, 1000000))
    >>> unit_of("u", wanted="H")
    ('H', Fraction(1, 1000000))
    """
    plain = plain_word(word)
    if wanted is not None and plain in _PREFIX_LETTERS[wanted]:
        return wanted, Fraction(10) ** _PREFIX_LETTERS[wanted][plain]
    return UNIT_WORDS.get(plain)


def is_ambiguous_m(word: str, wanted: str | None = None) -> bool:
    """Whether the word is M before ohms (or alone), which old and new drawings read differently."""
    plain = plain_word(word)
    return plain in AMBIGUOUS_M and not (wanted is not None and plain in _PREFIX_LETTERS[wanted])


def near_unit_word(word: str, wanted: str | None = None) -> str | None:
    """The unit word that was most likely meant: the same letters in another order, or one letter off.

    >>> near_unit_word("mdf"), near_unit_word("kohn", "ohm"), near_unit_word("mica", "F")
    ('mfd', 'kohm', None)
    """
    plain = plain_word(word)
    known = [unit_word for unit_word, (unit, _) in UNIT_WORDS.items() if wanted is None or unit == wanted]
    swapped = [unit_word for unit_word in known if sorted(unit_word) == sorted(plain) and len(plain) > 1]
    near = swapped or difflib.get_close_matches(plain, known, n=1, cutoff=0.75 if len(plain) > 3 else 0.8)
    return near[0] if near else None


def check_unit(unit: str | None) -> None:
    """NotationError if `unit` is none of the units known here."""
    if unit is not None and unit not in QUANTITY_NAMES:
        raise NotationError(f'unit "{unit}" is not known; the units are {", ".join(QUANTITY_NAMES)}')
