"""A printed chart beside the circuit, put into words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from setwright.circuits import ChartRow
from setwright.workbench.circuits.words import Fit, band_words, fit_of, shown
from setwright.workbench.site.words import KEEP, count


@dataclass(frozen=True, slots=True)
class PrintedRow:
    """One row of the chart. row : where it stands in the file. reason : why it disagrees, "" where it agrees."""

    row: int
    point: str
    printed: str
    expected: str
    band: str
    meter: str
    fit: Fit
    reason: str


@dataclass(frozen=True, slots=True)
class PrintedPage:
    """Everything the page shows. lead : how far the chart agrees. left : rows at points this set does not have."""

    lead: str
    rows: tuple[PrintedRow, ...]
    left: str


def printed_page(rows: Sequence[tuple[int, ChartRow]], all_rows: int) -> PrintedPage:
    """Lays the comparison out. all_rows : how many the chart has."""
    shown_rows = tuple(_row(number, row) for number, row in rows)
    off = len([row for row in shown_rows if row.fit.fits is False])
    compared = len([row for row in shown_rows if row.fit.fits is not None])
    lead = f"{count(compared, 'row')} compared, {'all in band' if not off else f'{off} out of band'}."
    left = all_rows - len(shown_rows)
    return PrintedPage(lead, shown_rows, f"{count(left, 'row')} at points that this set does not have." if left else "")


def _row(number: int, row: ChartRow) -> PrintedRow:
    reading, comparison = row.comparison.reading, row.comparison
    unit = {"ohms": "ohm", "amps": "A"}.get(reading.quantity, "V")
    expected = "" if comparison.expected is None else shown(comparison.expected, unit)
    line = f"{reading.line_volts:g}{KEEP}V line" if reading.line_volts is not None else ""
    meter = reading.meter.text if reading.meter is not None else "ohmmeter" if reading.quantity == "ohms" else ""
    return PrintedRow(
        row=number,
        point=reading.point,
        printed=shown(reading.value, unit),
        expected=expected,
        band=band_words(comparison.low, comparison.high, unit),
        meter=", ".join(part for part in (meter, line) if part),
        fit=fit_of(comparison),
        reason=row.reason,
    )
