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
    "groups": "groups",
    "free": "undocumented features",
    "sisters": "sisters",
    "ask": "questions to other owners",
    "learned": "learnt rates",
    "misfit": "misfit",
}


def _verdict(answer: Answer) -> Rows:
    yield ("label", "line", "version", "between_first", "between_second", "probability")
    for entry in answer.verdict:
        first, second = entry.between or ("", "")
        yield (entry.label, entry.line, entry.version or "", first, second, entry.probability)


def _changes(answer: Answer) -> Rows:
    yield (
        *("id", "feature", "from", "to", "line", "block"),
        *("low", "median", "high", "level", "applied_probability", "probability"),
    )
    for change in answer.changes:
        span = change.cut_in
        block = "" if change.block is None else change.block
        yield (
            *(change.id, change.feature, change.from_state, change.to_state, change.line, block),
            *(span.low, span.median, span.high, span.level, change.applied_probability, change.probability),
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


def _groups(answer: Answer) -> Rows:
    yield ("group", "elsewhere_probability", "line", "low", "median", "high", "level")
    for group in answer.groups:
        span = group.serial
        yield (group.group, group.elsewhere_probability, group.line, span.low, span.median, span.high, span.level)


def _free(answer: Answer) -> Rows:
    yield ("feature", "line", "kind", "order", "probability")
    for item in answer.free:
        for pattern in item.patterns:
            yield (item.feature, item.line, pattern.kind, " > ".join(pattern.order), pattern.probability)


def _sisters(answer: Answer) -> Rows:
    yield ("set", "apart", "same_line_probability", "feature", "state", "other_state", "decibans")
    for sister in answer.sisters:
        for item in sister.differences:
            yield (
                *(sister.id, sister.apart, sister.same_line_probability),
                *(item.feature, item.state, item.other_state, item.decibans),
            )


def _ask(answer: Answer) -> Rows:
    yield ("set", "feature", "bits", "access")
    for item in answer.ask:
        yield (item.set, item.feature, item.bits, item.access)


def _learned(answer: Answer) -> Rows:
    yield ("what", "value", "low", "high", "level", "default", "items")
    for rate in answer.learned:
        default = "" if rate.default != rate.default else rate.default  # NaN stands for none
        yield (rate.what, rate.value, rate.low, rate.high, rate.level, default, rate.items)


def _misfit(answer: Answer) -> Rows:
    yield ("p_value", "feature", "state", "decibans")
    if not answer.misfit_drivers:
        yield (answer.misfit_p_value, "", "", "")
    for item in answer.misfit_drivers:
        yield (answer.misfit_p_value, item.feature, item.state, item.decibans)


def filled_tables(answer: Answer) -> list[tuple[str, str]]:
    """Names and titles of the tables that hold more than their headings for this answer."""
    return [(name, title) for name, title in TITLES.items() if len(list(TABLES[name](answer))) > 1]


TABLES: dict[str, Callable[[Answer], Rows]] = {
    "verdict": _verdict,
    "changes": _changes,
    "observations": _observations,
    "predicted": _predicted,
    "next": _next,
    "groups": _groups,
    "free": _free,
    "sisters": _sisters,
    "ask": _ask,
    "learned": _learned,
    "misfit": _misfit,
}
