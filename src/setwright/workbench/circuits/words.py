"""Voltages, resistances and misfits as a page says them: words first, so that no colour is needed."""

from __future__ import annotations

from dataclasses import dataclass

from setwright.circuits import Comparison, Meter
from setwright.notation import format_modern
from setwright.workbench.site.words import KEEP

OPEN = "open"
SMALL_VOLTS = 2.0
"""Below so many volts expected, a misfit is told in volts: a share of nearly nothing says nothing."""

_GAUGE_WIDTH, _GAUGE_LOW, _GAUGE_HIGH, _GAUGE_EDGE = 96.0, 32.0, 64.0, 6.0


@dataclass(frozen=True, slots=True)
class Fit:
    """How a reading stands to what is expected. fits : None where nothing can be said.

    mark : where it lies on a small scale on which the band reaches from 32 to 64 of 96; None without one.
    """

    words: str
    fits: bool | None
    mark: float | None = None


def shown(value: float | None, unit: str) -> str:
    """A value as one would read it off: three figures, no more than a meter shows.

    >>> [shown(v, "V").replace(KEEP, " ") for v in (293.7, 76.31, -7.494, 0.0, 9307.0)]
    ['294 V', '76.3 V', '−7.49 V', '0 V', '9,307 V']
    >>> shown(470e3, "ohm").replace(KEEP, " "), shown(None, "ohm")
    ('470 kΩ', 'open')
    """
    if value is None:
        return OPEN
    if unit == "ohm":
        return format_modern(value, unit, digits=3).replace(" ", KEEP) if abs(value) >= 1e-3 else f"0{KEEP}Ω"
    return f"{figure(value)}{KEEP}{unit}"


def figure(value: float) -> str:
    """The figure alone, with a true minus sign."""
    size = abs(value)
    if size < 0.005:
        return "0"
    digits = 0 if size >= 99.95 else 1 if size >= 9.995 else 2
    return f"{value:,.{digits}f}".replace("-", "−")


def band_words(low: float | None, high: float | None, unit: str) -> str:
    """The healthy range, as "288 to 300 V"; "" where there is none."""
    if low is None or high is None:
        return ""
    if unit == "V":
        below, above = figure(low), figure(high)
        return f"{below}{KEEP}V" if below == above else f"{below} to {above}{KEEP}V"
    below, above = shown(low, unit), shown(high, unit)
    return below if below == above else f"{below} to {above}"


def range_words(meter: str | None) -> str:
    """Which range a meter is set to, as "250 V range"; "" for one without ranges.

    >>> range_words("20k/V@250").replace(KEEP, " "), range_words("10M")
    ('250 V range', '')
    """
    _, sign, scale = (meter or "").partition("@")
    return f"{scale}{KEEP}V range" if sign else ""


def meter_words(meter: Meter | None) -> str:
    """A meter in a sentence."""
    if meter is None:
        return "no meter connected"
    if meter.ohms_per_volt is not None:
        ohms = format_modern(meter.ohms_per_volt, "ohm", digits=3).replace(" ", KEEP)
        on = f" on its {meter.full_scale:g}{KEEP}V range" if meter.full_scale is not None else ""
        return f"a meter of {ohms} per volt{on}"
    return f"a meter of {format_modern(meter.ohms, 'ohm', digits=3).replace(' ', KEEP)} input"


def fit_of(comparison: Comparison | None) -> Fit:
    """How a reading stands to what is expected on its meter and line."""
    if comparison is None or comparison.expected is None or comparison.low is None or comparison.high is None:
        return Fit("nothing to compare it with", None)
    value, expected = comparison.reading.value, comparison.expected
    mark = _mark(value, comparison.low, comparison.high)
    if comparison.low <= value <= comparison.high:
        return Fit("in band", True, mark)
    if not comparison.misfit:
        return Fit("in band, given the meter’s own error", True, mark)
    return Fit(off_words(value, expected, comparison.reading.quantity), False, mark)


def off_words(value: float, expected: float, quantity: str) -> str:
    """What is wrong with a reading, as "above by 18 %".

    >>> off_words(118.0, 100.0, "volts").replace(KEEP, " "), off_words(-6.0, -7.5, "volts").replace(KEEP, " ")
    ('above by 18 %', 'less negative by 20 %')
    >>> off_words(0.9, 0.5, "volts").replace(KEEP, " "), off_words(30.0, -30.0, "volts")
    ('above by 0.40 V', 'of the other polarity')
    """
    if quantity.startswith("volts") and abs(expected) < SMALL_VOLTS:
        side = "above" if value > expected else "below"
        return f"{side} by {figure(abs(value - expected))}{KEEP}V"
    if expected and value * expected < 0.0:
        return "of the other polarity"
    share = abs(value - expected) / abs(expected) if expected else float("inf")
    much = f"{100.0 * share:,.0f}{KEEP}%" if share < 9.995 else "ten times or more"
    if expected < 0.0:
        return f"{'more' if value < expected else 'less'} negative by {much}"
    return f"{'above' if value > expected else 'below'} by {much}"


def _mark(value: float, low: float, high: float) -> float:
    width = max(high - low, 1e-9)
    place = _GAUGE_LOW + (value - low) / width * (_GAUGE_HIGH - _GAUGE_LOW)
    return round(min(max(place, _GAUGE_EDGE), _GAUGE_WIDTH - _GAUGE_EDGE), 1)
