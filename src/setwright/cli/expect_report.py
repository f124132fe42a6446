"""A voltage or resistance chart in the terminal, readable at 80 columns and without colour."""

from __future__ import annotations

from collections.abc import Sequence

from setwright.circuits import Expectation, PointExpectation
from setwright.circuits.readings import ChartRow, Comparison
from setwright.cli.paper import Paper
from setwright.notation import format_modern


def print_report(answer: Expectation, chart: Sequence[ChartRow] | None, paper: Paper) -> None:
    """Print cautions first, then the chart, what was measured, tubes, supplies and what to know beside them."""
    on = f"on a line of {answer.line_volts:g} V" if answer.condition == "on" else "unplugged, tubes cold"
    paper.say(f"{answer.circuit}: what a sound set shows, {on}")
    for caution in answer.cautions:
        paper.paragraph(f"! {caution}", hang=2)
    if chart is not None:
        _print_chart(chart, paper)
    _print_points(answer, paper)
    if answer.tubes:
        _print_tubes(answer, paper)
    if answer.stages:
        _print_stages(answer, paper)
    if answer.supplies:
        _print_supplies(answer, paper)
    if answer.warnings:
        paper.heading("To know beside these figures")
        for warning in answer.warnings:
            paper.paragraph(f"- {warning}", hang=2)


def _print_points(answer: Expectation, paper: Paper) -> None:
    paper.heading("Points" if answer.meter is None else f"Points, as a {answer.meter} meter shows them")
    ground = answer.points[0].reference if answer.points else ""
    paper.say(f"Against {ground}; nine sound sets in ten lie within the range." if ground else "No points.")
    by_range = answer.meter is not None and "/" in answer.meter
    headings = ["point", "expected", "healthy range", *(["range of meter"] if by_range else []), "pins"]
    rows = [
        [
            *(p.point, _shown(p.value, p.unit), _range(p.low, p.high, p.unit)),
            *([_meter_range(p)] if by_range else []),
            _pins(p),
        ]
        for p in answer.points
    ]
    _table(paper, headings, rows)


def _table(paper: Paper, headings: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Names to the left, figures to the right; the last column gives way where space is short."""
    table = paper.table(*headings, right=range(1, len(headings) - 1), fold=(len(headings) - 1,))
    for row in rows:
        table.add_row(*row)
    paper.show(table)


def _meter_range(p: PointExpectation) -> str:
    return f"{p.meter.rpartition('@')[2]} V" if p.meter and "@" in p.meter else ""


def _pins(p: PointExpectation) -> str:
    return ", ".join(f"{ref} {name}" for ref, _, name in p.pins)


def _print_chart(chart: Sequence[ChartRow], paper: Paper) -> None:
    paper.heading("Readings")
    rows = []
    for row in chart:
        c = row.comparison
        unit = {"ohms": "ohm", "amps": "A"}.get(c.reading.quantity, "V")
        rows.append(
            (
                _mark(c),
                c.reading.point,
                _shown(c.reading.value, unit),
                "-" if c.expected is None else _shown(c.expected, unit),
                _range(c.low, c.high, unit),
                c.reading.meter.text if c.reading.meter else "",
            )
        )
    _table(paper, ("", "point", "read", "expected", "healthy range", "meter"), rows)
    paper.say("ok: fits. !!: does not fit. ??: nothing is expected there, so nothing is said.")
    for row in chart:
        if row.reason:
            paper.paragraph(f"- {row.comparison.reading.point}: {row.reason}", hang=2)


def _mark(c: Comparison) -> str:
    return "??" if c.z is None else "!!" if c.misfit else "ok"


def _print_tubes(answer: Expectation, paper: Paper) -> None:
    paper.heading("Tubes")
    rows = [
        (
            f"{t.ref} {t.section}".strip(),
            t.type,
            f"{t.plate_volts:.0f} V" if abs(t.plate_volts) >= 10.0 else f"{t.plate_volts:.1f} V",
            f"{1e3 * t.plate_amps:.2f} mA",
            f"{1e3 * t.screen_amps:.2f} mA" if t.screen_amps else "",
            f"{t.dissipation_watts:z.2f} W",
        )
        for t in answer.tubes
    ]
    _table(paper, ("tube", "type", "plate", "plate current", "screen", "at the plate"), rows)


def _print_stages(answer: Expectation, paper: Paper) -> None:
    paper.heading("Stages")
    rows = [
        (
            f"{s.ref} {s.section}".strip(),
            f"{s.gain:.1f}",
            f"{s.hertz:g} Hz",
            "" if s.output_watts is None else f"{s.output_watts:.2g} W",
        )
        for s in answer.stages
    ]
    _table(paper, ("stage", "gain, grid to plate", "at", "output at full swing"), rows)


def _print_supplies(answer: Expectation, paper: Paper) -> None:
    paper.heading("Supplies")
    rows = [
        (
            s.node,
            f"{s.volts:.0f} V",
            f"{s.ripple_volts:.1f} V",
            f"{1e3 * s.mean_amps:.0f} mA",
            f"{1e3 * s.peak_amps:.0f} mA",
        )
        for s in answer.supplies
    ]
    _table(paper, ("reservoir", "direct", "ripple, peak to peak", "mean", "peak in a rectifier"), rows)


def _shown(value: float | None, unit: str) -> str:
    if value is None:
        return "open"
    if unit == "V":
        return f"{value:.1f} V" if abs(value) >= 10.0 else f"{value:z.2f} V"
    return format_modern(value, unit, digits=3) if value else f"0 {unit}"


def _range(low: float | None, high: float | None, unit: str) -> str:
    if low is None or high is None:
        return ""
    return f"{_shown(low, unit)} to {_shown(high, unit)}"
