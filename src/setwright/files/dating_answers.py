"""The machine-readable dating answer: the same object from the command line and from pages; and its table."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from typing import Any

import numpy as np

from setwright.chronology.answer import DateAnswer, DateRange, HowMany, PartAnswer, Picture, RunCurve, Trust

DATE_FORMAT = "setwright-date/1"

COLUMNS = ("what", "item", "low", "median", "high", "level", "probability", "note")
"""Columns of the table `date_answer_rows` gives."""


def date_answer_as_json(answer: DateAnswer, trust: Trust | None = None, *, drawing: bool = False) -> dict[str, Any]:
    """The answer as plain dicts, lists, texts and numbers, every key of format setwright-date/1 present.

    trust : how well the family's stamped sets are dated from each other, where that was asked for.
    drawing : add what only a picture needs, under `picture`: the set's probability over the weeks, the date curves, the
        dated sets.
    """
    data: dict[str, Any] = {
        "format": DATE_FORMAT,
        "family": answer.family,
        "set": answer.set,
        "date": _range(answer.date),
        "half": _range(answer.half),
        "mean": answer.mean.isoformat(),
        "before_evidence": _range(answer.before_evidence),
        "lines": {line: _probability(value) for line, value in answer.lines.items()},
        "parts": [_part(part) for part in answer.parts],
        "production": _production(answer.production),
        "findings": [
            {"kind": found.kind, "item": found.item, "text": found.text, "probability": _maybe(found.probability)}
            for found in answer.findings
        ],
        "narrowing": [
            {"what": item.what, "text": item.text, "days_less": item.days_less, "days_left": item.days_left}
            for item in answer.narrowing
        ],
        "cut_ins": [{"id": cut_in.change, "date": _range(cut_in.date)} for cut_in in answer.cut_ins],
        "explanations": list(answer.explanations),
        "warnings": list(answer.warnings),
        "method": {
            "survivors": answer.method.survivors,
            "elsewhere": answer.method.elsewhere,
            "nodes": answer.method.nodes,
            "step_weeks": answer.method.step_weeks,
        },
        "trust": None if trust is None else _trust(trust),
    }
    if drawing:
        data["picture"] = _picture(answer.picture)
    return data


def date_answer_rows(answer: DateAnswer, trust: Trust | None = None) -> Iterator[tuple[object, ...]]:
    """The answer as rows of a table with the columns `COLUMNS`; empty cells are ""."""
    yield ("date", answer.set, *_days(answer.date), "", "")
    yield ("half", answer.set, *_days(answer.half), "", "")
    yield ("place in the run", answer.set, *_days(answer.before_evidence), "", "")
    for part in answer.parts:
        for found in part.dates:
            note = "" if found.misread is None else f"if it reads {found.misread}"
            yield ("part", f"{part.part} {part.code}", "", found.date, "", "", found.probability, note)
        yield ("later replacement", part.part, "", "", "", "", part.later_replacement_probability, "")
    for made in (answer.production, *answer.production.parts):
        ends = ("" if end is None else end for end in (made.low, made.median, made.high))
        yield ("made", made.what, *ends, made.level, "", "; ".join(made.remarks))
    for cut_in in answer.cut_ins:
        yield ("cut-in", cut_in.change, *_days(cut_in.date), "", "")
    for finding in answer.findings:
        yield ("finding", finding.item, "", "", "", "", _blank(finding.probability), finding.text)
    for left in () if trust is None else trust.sets:
        yield ("left out", left.set, *_days(left.date), "", f"stamp {left.stamp}, {left.error_days:+.0f} days")


def _range(span: DateRange) -> dict[str, Any]:
    low, median, high, level = _days(span)
    return {"low": low, "median": median, "high": high, "level": level}


def _days(span: DateRange) -> tuple[str, str, str, float]:
    return span.low.isoformat(), span.median.isoformat(), span.high.isoformat(), float(span.level)


def _part(part: PartAnswer) -> dict[str, Any]:
    return {
        "part": part.part,
        "code": part.code,
        "dates": [
            {"date": found.date, "probability": _probability(found.probability), "misread": found.misread}
            for found in part.dates
        ],
        "later_replacement_probability": _probability(part.later_replacement_probability),
        "lag_weeks": [float(weeks) for weeks in part.lag_weeks],
        "remarks": list(part.remarks),
    }


def _production(made: HowMany) -> dict[str, Any]:
    return {
        "what": made.what,
        "known": made.known,
        "low": made.low,
        "median": made.median,
        "high": made.high,
        "level": float(made.level),
        "unbiased_estimate": made.unbiased_estimate,
        "mean": made.mean,
        "standard_deviation": made.standard_deviation,
        "remarks": list(made.remarks),
        "blocks": [_production(part) for part in made.parts],
    }


def _trust(trust: Trust) -> dict[str, Any]:
    return {
        "sets": len(trust.sets),
        "median_days": trust.median_days,
        "ninth_days": trust.ninth_days,
        "covered": trust.covered,
        "alone_median_days": trust.alone_median_days,
        "alone_ninth_days": trust.alone_ninth_days,
        "alone_covered": trust.alone_covered,
        "level": float(trust.level),
    }


def _picture(picture: Picture) -> dict[str, Any]:
    return {
        "weeks": [_day(edge) for edge in picture.weeks.edges[:-1]],
        "mass": [_probability(value) for value in picture.mass],
        "curves": [_curve(curve) for curve in picture.curves],
        "marks": [
            {
                "set": mark.set,
                "line": mark.line,
                "position": int(mark.position),
                "low": mark.low.isoformat(),
                "high": mark.high.isoformat(),
                "kind": mark.kind,
                "odd": mark.odd,
            }
            for mark in picture.marks
        ],
    }


def _curve(curve: RunCurve) -> dict[str, Any]:
    return {
        "line": curve.line,
        "positions": [int(position) for position in curve.positions],
        "low": [_day(day) for day in curve.low],
        "median": [_day(day) for day in curve.median],
        "high": [_day(day) for day in curve.high],
        "level": float(curve.level),
        "sets_a_week": [float(np.clip(pace, 0.0, 1e9)) for pace in curve.pace],
    }


def _day(ordinal: float) -> str:
    return datetime.date.fromordinal(int(ordinal)).isoformat()


def _probability(value: float) -> float:
    """A probability without the last digit's rounding, by which sums may pass 1."""
    return min(max(float(value), 0.0), 1.0)


def _maybe(value: float | None) -> float | None:
    return None if value is None else _probability(value)


def _blank(value: float | None) -> float | str:
    return "" if value is None else value
