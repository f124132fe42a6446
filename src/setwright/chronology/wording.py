"""The dating answer in sentences."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from setwright.chronology.answer import DateAnswer, DateRange
from setwright.chronology.fit import Fitted
from setwright.chronology.model import DatedSet, PlaceBelief
from setwright.chronology.parts import NEWEST

_FEW = 5


def day_words(day: date) -> str:
    """A day as one says it.

    >>> day_words(date(1948, 8, 17))
    '17 August 1948'
    """
    return f"{day.day} {day:%B %Y}"


def range_words(span: DateRange) -> str:
    """A range as one says it."""
    return f"{day_words(span.low)} to {day_words(span.high)}"


def explanations(fitted: Fitted, one: DatedSet, answer: DateAnswer) -> tuple[str, ...]:
    """Where the date comes from, in the order of reading."""
    return tuple(_explanations(fitted, one, answer))


def _explanations(fitted: Fitted, one: DatedSet, answer: DateAnswer) -> Iterator[str]:
    level = round(100 * answer.date.level)
    yield f"Finished about {day_words(answer.date.median)}; {level} % range {range_words(answer.date)}."
    chained = answer.method.survivors
    if chained:
        sets = "one dated survivor" if chained == 1 else f"{chained} dated survivors"
        yield (
            f"Its place in the run alone, between {sets}, gives {range_words(answer.before_evidence)}."
            if one.position is not None
            else f"What its serial leaves open, and {sets}, give {range_words(answer.before_evidence)}."
        )
    else:
        yield f"Without dated survivors, only the years of production speak: {range_words(answer.before_evidence)}."
    genuine = [part for part in answer.parts if part.dates and part.later_replacement_probability < 0.5]
    for part in genuine:
        low, median, high = (round(weeks) for weeks in part.lag_weeks)
        name = part.part.replace("-", " ").replace("_", " ")
        yield (
            f"The {name} was made {part.dates[0].date}; such a part usually lay {median} weeks in stock "
            f"({low} to {high}; {_teachers(fitted, part.part)})."
        )
    if len(genuine) > 1:
        yield f"The newest of these parts decides (the time it lay in stock: {_teachers(fitted, NEWEST)})."


def _teachers(fitted: Fitted, name: str) -> str:
    """Where what is known of a stock lag comes from."""
    known = fitted.lags.items.get(name, 0)
    if known:
        return "learnt from one set" if known == 1 else f"learnt from {known} sets"
    return "as of the other kinds of parts" if fitted.lags.items else "common practice, no source"


def warnings(fitted: Fitted, one: DatedSet, belief: Sequence[PlaceBelief]) -> tuple[str, ...]:
    """What keeps the answer from being better than it is."""
    return tuple(_warnings(fitted, one, belief))


def _warnings(fitted: Fitted, one: DatedSet, belief: Sequence[PlaceBelief]) -> Iterator[str]:
    chained = sum(len(line.node_of) for line in fitted.lines.values())
    if 0 < chained < _FEW:
        yield f"Only {chained} of the survivors have both a full serial and a date; the run between them is guesswork."
    elsewhere = sum(bool(given.evidence) for given in fitted.sets) - chained
    if elsewhere > 0:
        who = "One dated survivor has" if elsewhere == 1 else f"{elsewhere} dated survivors have"
        yield f"{who} no full serial; stock lags are learnt from those with a stamp, the run is not dated by them."
    if one.position is None:
        yield (
            "The serial is not known in full; the place in the run is what the features seen say."
            if belief
            else "The serial is not known in full: every place it can have counts alike."
        )
    if fitted.weeks.step > 1:
        yield f"The time is so long that dates are counted in steps of {fitted.weeks.step} weeks."
    if fitted.production.introduced is None and fitted.production.discontinued is None:
        yield "No document says when the family was introduced or discontinued."
    crowded = [line.run.line for line in fitted.lines.values() if len(line.node_of) > len(line.chain.position)]
    if crowded:
        yield "There are so many dated survivors that neighbours in serial count as finished in the same week."
