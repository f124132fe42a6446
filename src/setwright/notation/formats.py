"""Values written out: the modern way ("20 nF", "470 kΩ") and the period way (".02 mfd", "470,000 ohms").

Both ways lose nothing unless a number of digits is asked for: what is written reads back as the same value.
"""

from __future__ import annotations

from decimal import Decimal
from math import isfinite

from setwright.notation.errors import NotationError
from setwright.notation.part_values import PartValue
from setwright.notation.units import QUANTITY_NAMES

# (power of ten, name) from the smallest; a value takes the last one it reaches. Farads above microfarads are not in
# use in the trade, so 2,000 mfd stays "2000 µF"; "MΩ" is the largest resistance.
_MODERN = {
    "F": ((-12, "pF"), (-9, "nF"), (-6, "µF"), (0, "F")),
    "ohm": ((0, "Ω"), (3, "kΩ"), (6, "MΩ")),
    "V": ((-6, "µV"), (-3, "mV"), (0, "V"), (3, "kV")),
    "A": ((-6, "µA"), (-3, "mA"), (0, "A")),
    "H": ((-6, "µH"), (-3, "mH"), (0, "H")),
    "W": ((-3, "mW"), (0, "W"), (3, "kW")),
    "Hz": ((0, "Hz"), (3, "kHz"), (6, "MHz")),
}
_PERIOD = {
    "F": ((-12, "mmf"), (-6, "mfd")),
    "ohm": ((0, "ohms"), (6, "meg")),
    "V": ((-3, "mv"), (0, "volts")),
    "A": ((-6, "ua"), (-3, "ma"), (0, "amp")),
    "H": ((-6, "uh"), (-3, "mh"), (0, "henries")),
    "W": ((0, "watts"),),
    "Hz": ((0, "cycles"), (3, "kc"), (6, "mc")),
}
_MEG_STEPS = (Decimal("0.1"), Decimal("0.25"))
_WATT_FRACTIONS = {Decimal("0.125"): "1/8", Decimal("0.25"): "1/4", Decimal("0.5"): "1/2"}


def format_modern(value: float, unit: str, digits: int | None = None) -> str:
    """The value with the prefix in use today; `digits` rounds to so many significant digits.

    >>> format_modern(2e-8, "F"), format_modern(470e3, "ohm"), format_modern(2.2e6, "ohm"), format_modern(10, "H")
    ('20 nF', '470 kΩ', '2.2 MΩ', '10 H')
    >>> format_modern(47123.4, "ohm", digits=3)
    '47.1 kΩ'
    """
    exact = _exact(value, unit, digits)
    power, name = _step(_MODERN[unit], exact)
    return f"{_plain(exact.scaleb(-power))} {name}"


def format_period(value: float, unit: str, digits: int | None = None) -> str:
    """The value as lists of the period write it; `digits` rounds to so many significant digits.

    Capacitors are mfd from .001 up and mmf below; resistors are ohms up to a megohm, except round parts of one
    (.1, .25, .5 meg), as the lists of the period have them (common practice, no source).

    >>> format_period(2e-8, "F"), format_period(5e-10, "F"), format_period(470e3, "ohm"), format_period(5e5, "ohm")
    ('.02 mfd', '500 mmf', '470,000 ohms', '.5 meg')
    >>> format_period(0.5, "W"), format_period(455e3, "Hz"), format_period(10, "H")
    ('1/2 watt', '455 kc', '10 henries')
    """
    exact = _exact(value, unit, digits)
    if unit == "W" and exact in _WATT_FRACTIONS:
        return f"{_WATT_FRACTIONS[exact]} watt"
    power, name = _step(_PERIOD[unit], exact)
    if unit == "F":
        power, name = (-6, "mfd") if exact >= Decimal("1e-9") else (-12, "mmf")
    if unit == "ohm":
        power, name = (6, "meg") if _is_written_in_megs(exact) else (0, "ohms")
    number = exact.scaleb(-power)
    if number == 1:
        name = {"ohms": "ohm", "volts": "volt", "henries": "henry", "watts": "watt", "cycles": "cycle"}.get(name, name)
    grouped = f"{number:,f}" if number >= 1000 and name != "meg" else _plain(number)
    return f"{_trimmed(grouped).removeprefix('0') if number < 1 else _trimmed(grouped)} {name}"


def format_part_value(part: PartValue, period: bool = False) -> str:
    """Value, tolerance and ratings in one line that reads back as the same part value.

    >>> format_part_value(PartValue(2e-8, "F", 0.1, 600.0, None))
    '20 nF ±10 % 600 V'
    >>> format_part_value(PartValue(470e3, "ohm", None, None, 0.5), period=True)
    '470,000 ohms 1/2 watt'
    """
    write = format_period if period else format_modern
    words = [write(part.value, part.unit)]
    if part.tolerance is not None:
        words.append(f"±{_plain(Decimal(repr(part.tolerance)).scaleb(2))} %")
    if part.rated_volts is not None:
        words.append(write(part.rated_volts, "V"))
    if part.rated_watts is not None:
        words.append(write(part.rated_watts, "W"))
    return " ".join(words)


def _exact(value: float, unit: str, digits: int | None) -> Decimal:
    """The shortest decimal that is this float, rounded where digits are asked for."""
    if unit not in QUANTITY_NAMES:
        raise NotationError(f'unit "{unit}" is not known; the units are {", ".join(QUANTITY_NAMES)}')
    if not isfinite(value):
        raise NotationError(f"{value} cannot be written as a {QUANTITY_NAMES[unit]}")
    exact = Decimal(repr(float(value)))
    if digits is None or not exact:
        return exact
    return exact.quantize(Decimal(1).scaleb(exact.adjusted() - digits + 1))


def _step(steps: tuple[tuple[int, str], ...], exact: Decimal) -> tuple[int, str]:
    """The last power of ten the value reaches; the first one for anything smaller."""
    reached = [step for step in steps if abs(exact) >= Decimal(1).scaleb(step[0])]
    return reached[-1] if reached else steps[0]


def _is_written_in_megs(ohms: Decimal) -> bool:
    megohms = ohms.scaleb(-6)
    return megohms >= 1 or (megohms >= _MEG_STEPS[0] and any(megohms % step == 0 for step in _MEG_STEPS))


def _plain(number: Decimal) -> str:
    """Digits without exponent and without trailing zeros behind the point."""
    return _trimmed(f"{number:f}")


def _trimmed(number: str) -> str:
    return number.rstrip("0").rstrip(".") if "." in number else number
