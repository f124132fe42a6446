"""The machine-readable identity answer: the same object from the command line and from pages."""

from __future__ import annotations

import math
from typing import Any

from setwright.identity.answer import (
    Answer,
    AxisAnswer,
    Batch,
    ChangeAnswer,
    FreeAnswer,
    GroupAnswer,
    Interval,
    LearnedRate,
    Look,
    Method,
    ObservationAnswer,
    Sister,
    VerdictEntry,
)

IDENTITY_FORMAT = "setwright-identity/1"
_SERIAL = "serial"
_ROUNDING = 1e-9


def answer_as_json(answer: Answer, *, drawing: bool = False) -> dict[str, Any]:
    """The answer as plain dicts, lists, texts and numbers, every key of format setwright-identity/1 present.

    drawing : add what only a picture needs: `axes` with the cells of each line and where the set stands on
        them, and `mass`, each change's cut-in over these cells.

    Ends of ranges are whole numbers on an axis of serials, parts of the run (0 to 1) where no serial is known.

    Raises ValueError for a figure that is not finite, which JSON has no word for.
    """
    whole = {axis.line: axis.unit == _SERIAL for axis in answer.axes}
    # The set's own range is told on the axis of its most probable line.
    likeliest = max(answer.axes, key=lambda axis: axis.probability, default=None)
    on_serials = likeliest is None or likeliest.unit == _SERIAL
    data: dict[str, Any] = {
        "format": IDENTITY_FORMAT,
        "family": answer.family,
        "set": answer.set,
        "verdict": [_verdict(entry) for entry in answer.verdict],
        "changes": [_change(change, whole.get(change.line, True), drawing) for change in answer.changes],
        "observations": [_observation(seen) for seen in answer.observations],
        "condition": _probabilities(answer.condition),
        "groups": [_group(group, whole.get(group.line, on_serials)) for group in answer.groups],
        "free": [_free(feature) for feature in answer.free],
        "predicted": [{"feature": item.feature, "states": _probabilities(item.states)} for item in answer.predicted],
        "next": [_look(look) for look in answer.next],
        "batches": [_batch(batch) for batch in answer.batches],
        "serial": _interval(answer.serial, on_serials),
        "misfit": _misfit(answer),
        "sisters": [_sister(sister) for sister in answer.sisters],
        "ask": [
            {"set": asked.set, "feature": asked.feature, "bits": _number(asked.bits), "access": asked.access}
            for asked in answer.ask
        ],
        "learned": [_learned(rate) for rate in answer.learned],
        "explanations": list(answer.explanations),
        "warnings": list(answer.warnings),
        "method": _method(answer.method),
    }
    if drawing:
        data["axes"] = [_axis(axis) for axis in answer.axes]
    return data


def _verdict(entry: VerdictEntry) -> dict[str, Any]:
    return {
        "label": entry.label,
        "line": entry.line,
        "version": entry.version,
        "between": None if entry.between is None else list(entry.between),
        "probability": _probability(entry.probability),
        "applied": _probabilities(entry.applied),
        "states": dict(entry.states),
    }


def _change(change: ChangeAnswer, whole: bool, drawing: bool) -> dict[str, Any]:
    data: dict[str, Any] = {
        "id": change.id,
        "feature": change.feature,
        "from": change.from_state,
        "to": change.to_state,
        "line": change.line,
        "block": None if change.block is None else int(change.block),
        "cut_in": _interval(change.cut_in, whole),
        "applied_probability": _probability(change.applied_probability),
        "probability": _probability(change.probability),
    }
    if drawing:
        data["mass"] = [_probability(mass) for mass in change.mass]
    return data


def _observation(seen: ObservationAnswer) -> dict[str, Any]:
    return {
        "feature": seen.feature,
        "state": seen.state,
        "decibans": _number(seen.decibans),
        "altered_probability": _probability(seen.altered_probability),
        "misread_probability": _probability(seen.misread_probability),
    }


def _group(group: GroupAnswer, whole: bool) -> dict[str, Any]:
    return {
        "group": group.group,
        "elsewhere_probability": _probability(group.elsewhere_probability),
        "serial": _interval(group.serial, whole),
        "line": group.line,
    }


def _free(feature: FreeAnswer) -> dict[str, Any]:
    return {
        "feature": feature.feature,
        "line": feature.line,
        "patterns": [
            {"kind": item.kind, "order": list(item.order), "probability": _probability(item.probability)}
            for item in feature.patterns
        ],
        "shares": _probabilities(feature.shares),
    }


def _sister(sister: Sister) -> dict[str, Any]:
    return {
        "set": sister.id,
        "apart": _number(sister.apart),
        "same_line_probability": _probability(sister.same_line_probability),
        "decibans": _number(sister.decibans),
        "differences": [
            {
                "feature": item.feature,
                "state": item.state,
                "other_state": item.other_state,
                "decibans": _number(item.decibans),
            }
            for item in sister.differences
        ],
    }


def _misfit(answer: Answer) -> dict[str, Any]:
    return {
        "p_value": _probability(answer.misfit_p_value),
        "drivers": [
            {"feature": item.feature, "state": item.state, "decibans": _number(item.decibans)}
            for item in answer.misfit_drivers
        ],
        "suggestions": list(answer.misfit_suggestions),
    }


def _learned(rate: LearnedRate) -> dict[str, Any]:
    return {
        "what": rate.what,
        "value": _number(rate.value),
        "low": _number(rate.low),
        "high": _number(rate.high),
        "default": None if math.isnan(rate.default) else _number(rate.default),
        "items": int(rate.items),
        "level": _probability(rate.level),
    }


def _look(look: Look) -> dict[str, Any]:
    return {
        "feature": look.feature,
        "bits": _number(look.bits),
        "minutes": _number(look.minutes),
        "bits_per_minute": _number(look.bits_per_minute),
        "access": look.access,
    }


def _batch(batch: Batch) -> dict[str, Any]:
    return {
        "access": batch.access,
        "features": list(batch.features),
        "bits": _number(batch.bits),
        "minutes": _number(batch.minutes),
        "bits_per_minute": _number(batch.bits_per_minute),
        "cautions": list(batch.cautions),
    }


def _method(method: Method) -> dict[str, Any]:
    return {
        "class": method.kind,
        "draws": method.draws,
        "effective_draws": None if method.effective_draws is None else _number(method.effective_draws),
        "seed": int(method.seed),
        "cells": int(method.cells),
        "r_hat": None if method.r_hat is None else _number(method.r_hat),
        "learned_rates": bool(method.learned_rates),
    }


def _axis(axis: AxisAnswer) -> dict[str, Any]:
    return {
        "line": axis.line,
        "unit": axis.unit,
        "edges": [int(edge) for edge in axis.edges],
        "probability": _probability(axis.probability),
        "position_mass": [_probability(mass) for mass in axis.position_mass],
    }


def _interval(interval: Interval, whole: bool) -> dict[str, float | int]:
    ends = {"low": interval.low, "median": interval.median, "high": interval.high}
    numbers: dict[str, float | int] = {
        name: int(end) if whole and float(end).is_integer() else _number(end) for name, end in ends.items()
    }
    return {**numbers, "level": _number(interval.level)}


def _probabilities(values: Any) -> dict[str, float]:
    return {str(name): _probability(value) for name, value in values.items()}


def _probability(value: float) -> float:
    """A probability without the last digit's rounding, by which sums may pass 1."""
    number = _number(value)
    if not -_ROUNDING <= number <= 1.0 + _ROUNDING:
        raise ValueError(f"the answer holds {number} as a probability")
    return min(max(number, 0.0), 1.0)


def _number(value: float) -> float:
    """A plain float, whatever numeric type the computation used."""
    number = float(value)
    if not math.isfinite(number):
        raise ValueError(f"the answer holds {number}, which JSON cannot carry")
    return number
