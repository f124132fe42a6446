"""The machine-readable chart of a set: the same object from the command line and from pages."""

from __future__ import annotations

import math
from typing import Any

from setwright.circuits import Expectation, PointExpectation
from setwright.circuits.readings import ChartRow

EXPECT_FORMAT = "setwright-expect/1"


def expectation_as_json(answer: Expectation, chart: list[ChartRow] | None = None) -> dict[str, Any]:
    """The answer as plain dicts, lists, texts and numbers, every key of format setwright-expect/1 present.

    chart : a printed or measured chart that was compared, added as `readings`.

    Raises ValueError for a figure that is not finite, which JSON has no word for.
    """
    data: dict[str, Any] = {
        "format": EXPECT_FORMAT,
        "circuit": answer.circuit,
        "condition": answer.condition,
        "line_volts": _number(answer.line_volts),
        "meter": answer.meter,
        "points": [_point(p) for p in answer.points],
        "tubes": [
            {
                "ref": t.ref,
                "section": t.section or None,
                "type": t.type,
                "plate_volts": _number(t.plate_volts),
                "plate_amps": _number(t.plate_amps),
                "screen_amps": _number(t.screen_amps),
                "grid_amps": _number(t.grid_amps),
                "dissipation_watts": _number(t.dissipation_watts),
                "model_misfit": None if t.misfit is None else _number(t.misfit),
                "from_memory": not t.proven,
            }
            for t in answer.tubes
        ],
        "supplies": [
            {
                "node": s.node,
                "volts": _number(s.volts),
                "ripple_volts_peak_to_peak": _number(s.ripple_volts),
                "peak_amps": _number(s.peak_amps),
                "mean_amps": _number(s.mean_amps),
            }
            for s in answer.supplies
        ],
        "stages": [
            {
                "ref": s.ref,
                "section": s.section or None,
                "gain": _number(s.gain),
                "hertz": _number(s.hertz),
                "transconductance_s": _number(s.transconductance),
                "output_watts": None if s.output_watts is None else _number(s.output_watts),
            }
            for s in answer.stages
        ],
        "time_constants": [
            {"part": t.ref, "seconds": _number(t.seconds), "corner_hertz": _number(t.corner_hertz)}
            for t in answer.time_constants
        ],
        "warnings": list(answer.warnings),
        "cautions": list(answer.cautions),
    }
    if chart is not None:
        data["readings"] = [_row(row) for row in chart]
    return data


def _point(p: PointExpectation) -> dict[str, Any]:
    return {
        "point": p.point,
        "reference": p.reference,
        "quantity": p.quantity,
        "value": None if p.value is None else _number(p.value),
        "low": None if p.low is None else _number(p.low),
        "high": None if p.high is None else _number(p.high),
        "level": _number(p.level),
        "unit": p.unit,
        "unloaded": None if p.unloaded is None else _number(p.unloaded),
        "meter": p.meter,
        "pins": [{"ref": ref, "section": section or None, "electrode": name} for ref, section, name in p.pins],
    }


def _row(row: ChartRow) -> dict[str, Any]:
    c = row.comparison
    return {
        "point": c.reading.point,
        "reference": c.reading.reference,
        "quantity": c.reading.quantity,
        "condition": c.reading.condition,
        "measured": _number(c.reading.value),
        "expected": None if c.expected is None else _number(c.expected),
        "low": None if c.low is None else _number(c.low),
        "high": None if c.high is None else _number(c.high),
        "z": None if c.z is None else _number(c.z),
        "misfit": c.misfit,
        "reason": row.reason,
    }


def _number(value: float) -> float:
    """A plain float of nine figures; anything finer is noise of the solution."""
    if not math.isfinite(value):
        raise ValueError(f"{value} is no figure for an answer")
    return float(f"{value:.9g}")
