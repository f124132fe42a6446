"""The tables of an identity answer as CSV: full figures, ids as in the family file."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from setwright.identity.answer import Answer

Rows = Iterable[tuple[object, ...]]

TITLES = {
    "verdict": "verdict",
    "changes": "changes",
    "observations": "observations",
    "predicted": "predictions",
    "next": "next looks",
}


def _verdict(answer: Answer) -> Rows:
    yield ("label", "line", "version", "between_first", "between_second", "probability")
    for entry in answer.verdict:
        first, second = entry.between or ("", "")
        yield (entry.label, entry.line, entry.version or "", first, second, entry.probability)


def _changes(answer: Answer) -> Rows:
    yield ("id", "feature", "from", "to", "line", "block", "low", "median", "high", "level", "applied_probability")
    for change in answer.changes:
        span = change.cut_in
        block = "" if change.block is None else change.block
        yield (
            *(change.id, change.feature, change.from_state, change.to_state, change.line, block),
            *(span.low, span.median, span.high, span.level, change.applied_probability),
        )


def _observations(answer: Answer) -> Rows:
    yield ("feature", "state", "decibans", "altered_probability", "misread_probability")
    for item in answer.observations:
        yield (item.feature, item.state, item.decibans, item.altered_probability, item.misread_probability)


def _predicted(answer: Answer) -> Rows:
    yield ("feature", "state", "probability")
    for prediction in answer.predicted:
        for state, probability in prediction.states.items():
            yield (prediction.feature, state, probability)


def _next(answer: Answer) -> Rows:
    yield ("feature", "bits", "minutes", "bits_per_minute", "access")
    for look in answer.next:
        yield (look.feature, look.bits, look.minutes, look.bits_per_minute, look.access)


TABLES: dict[str, Callable[[Answer], Rows]] = {
    "verdict": _verdict,
    "changes": _changes,
    "observations": _observations,
    "predicted": _predicted,
    "next": _next,
}
