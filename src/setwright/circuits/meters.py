"""Meters: what they draw from the point they are put on, and how finely they read."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from setwright.notation import NotationError, parse_quantity

RANGES = (2.5, 10.0, 50.0, 250.0, 1000.0, 5000.0)
"""Full scales, in volts, of which the least that holds a reading is taken where none is named.

Common practice, no source.
"""
_SCALE_PARTS = 200.0
_DIGITS_RELATIVE, _DIGITS_LEAST = 1e-3, 0.01
_EXAMPLES = 'write "10M" for an input resistance, or "20k/V@250" for ohms per volt and range'


@dataclass(frozen=True, slots=True)
class Meter:
    """A direct-voltage meter. input_ohms, or else ohms_per_volt with its range (None: the least that holds)."""

    text: str
    input_ohms: float | None = None
    ohms_per_volt: float | None = None
    full_scale: float | None = None

    def on(self, volts: float) -> Meter:
        """The meter on the range for a voltage."""
        if self.ohms_per_volt is None or self.full_scale is not None:
            return self
        return replace(self, full_scale=next((r for r in RANGES if abs(volts) <= r), RANGES[-1]))

    @property
    def ohms(self) -> float:
        """What it puts across the point; a meter with ohms per volt must be on a range."""
        if self.input_ohms is not None:
            return self.input_ohms
        assert self.ohms_per_volt is not None
        assert self.full_scale is not None, "put on a range by `on`"
        return self.ohms_per_volt * self.full_scale

    def resolution(self, value: float) -> float:
        """The least step it shows at a reading: a two-hundredth of the range, or three digits and not under 10 mV."""
        if self.full_scale is not None:
            return self.full_scale / _SCALE_PARTS
        return max(abs(value) * _DIGITS_RELATIVE, _DIGITS_LEAST)


def parse_meter(text: str) -> Meter:
    """Read a meter as the readings format writes it.

    Raises NotationError for anything else.

    >>> parse_meter("10M").ohms, parse_meter("20k/V@250").ohms, parse_meter("1k/V").on(180.0).ohms
    (10000000.0, 5000000.0, 250000.0)
    """
    plain = text.strip()
    per_volt = re.fullmatch(r"(.+?)\s*(?:ohms?|Ω)?\s*/\s*V\s*(?:@\s*(.+))?", plain, re.IGNORECASE)
    if per_volt is None:
        if "/" in plain or "@" in plain:
            raise NotationError(f'"{text}" is not clear; {_EXAMPLES}')
        return Meter(plain, input_ohms=_ohms(plain, text))
    sensitivity = _ohms(per_volt[1], text)
    if per_volt[2] is None:
        return Meter(plain, ohms_per_volt=sensitivity)
    try:
        full_scale = parse_quantity(per_volt[2], "V").value
    except NotationError as error:
        raise NotationError(f"the range behind @ is full scale in volts: {error.message}") from None
    return Meter(plain, ohms_per_volt=sensitivity, full_scale=full_scale)


def _ohms(words: str, text: str) -> float:
    """Ohms; of a meter M is always million, as on its case."""
    plain = re.sub(r"(?<=\d)\s*M(?:ohms?|Ω)?$", " meg", words.strip())
    try:
        return parse_quantity(plain, "ohm").value
    except NotationError as error:
        raise NotationError(f'"{text}" is no meter known here ({error.message}); {_EXAMPLES}') from None
