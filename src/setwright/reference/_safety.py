"""Published limits that cautions name."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True, slots=True)
class SafetyLimit:
    """One published limit: value and unit (SI, but for exposure rates, which are given as published), who published
    it, where in the document, how it was checked."""

    id: str
    quantity: str
    value: float
    unit: str
    source: str
    clause: str
    checked: str


def safety_limit(limit_id: str) -> SafetyLimit:
    """The limit of that id from data/safety_limits.csv; KeyError if there is none.

    >>> safety_limit("shock-ac-volts").value
    50.0
    """
    return _limits()[limit_id]


@cache
def _limits() -> dict[str, SafetyLimit]:
    text = files("setwright.reference").joinpath("data/safety_limits.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(text.splitlines())
    return {
        row["id"]: SafetyLimit(
            id=row["id"],
            quantity=row["quantity"],
            value=float(row["value"]),
            unit=row["unit"],
            source=row["source"],
            clause=row["clause"],
            checked=row["checked"],
        )
        for row in rows
    }
