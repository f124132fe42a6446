"""What contradicts what, and which item is the likely culprit."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

import numpy as np

from setwright.chronology.answer import DateFinding, PartAnswer
from setwright.chronology.fit import Fitted
from setwright.chronology.model import DatedSet, Evidence

_LIKELY = 0.5
_SURELY = 0.8
MOST_NAMED = 12
"""So many survivors are named at most."""


def findings_of(
    fitted: Fitted, one: DatedSet, mass: np.ndarray, parts: Sequence[PartAnswer], today: date | None = None
) -> tuple[DateFinding, ...]:
    """Contradictions of one set and of the register. mass : (count,) probability of the set's week."""
    return (
        *_documents(fitted),
        *_of_set(fitted, one, mass, parts),
        *(finding for item in one.evidence for finding in _future(item, today)),
        *_register(fitted),
    )


def _of_set(fitted: Fitted, one: DatedSet, mass: np.ndarray, parts: Sequence[PartAnswer]) -> Iterator[DateFinding]:
    for item in one.evidence:
        if item.kind == "part":
            continue
        wrong = wrong_probability(fitted, item, mass)
        if wrong > _LIKELY:
            yield DateFinding(item.kind, "", _wrong_text(fitted, item, f"The {item.kind}"), wrong)
    for part in parts:
        for remark in part.remarks:
            yield DateFinding("code", part.part, f"{_of(part.part)}: {remark}.")
    replaced = [part for part in parts if part.dates and part.later_replacement_probability > _LIKELY]
    if len(replaced) > 1 and len(replaced) == sum(bool(part.dates) for part in parts):
        names = ", ".join(f"{_of(part.part)} ({part.code})" for part in replaced)
        yield DateFinding(
            "part",
            "",
            f"All dated parts are later than the set seems to be: {names}. Either the set was rebuilt with "
            "later parts, or its serial, stamp or line is not its own.",
            min(part.later_replacement_probability for part in replaced),
        )
        return
    for part in replaced:
        text = (
            f"{_of(part.part)} ({part.code}, {part.dates[0].date}) is probably a later replacement: it is newer than "
            "the set."
        )
        yield DateFinding("part", part.part, text, part.later_replacement_probability)


def wrong_probability(fitted: Fitted, item: Evidence, mass: np.ndarray) -> float:
    """Probability that a stamp or document does not belong to a set whose week has probability mass (count,)."""
    likelihood = np.exp(fitted.rows.stamps((item,)))
    wrong = fitted.assumptions.wrong_stamp if item.kind == "document" else float(likelihood.min())
    return float(np.minimum(wrong / likelihood, 1.0) @ mass)


def _wrong_text(fitted: Fitted, item: Evidence, what: str) -> str:
    assert item.date is not None
    introduced, discontinued = fitted.production.introduced, fitted.production.discontinued
    if introduced is not None and item.date.last < introduced.first:
        why = f"lies before the introduction ({introduced})"
    elif discontinued is not None and item.date.first > discontinued.last and item.kind == "stamp":
        why = f"lies after the end of production ({discontinued})"
    else:
        why = "contradicts the place in the run and what else is dated"
    return f"{what} {item.date} {why}; it was probably misread, or belongs to another set."


def _future(item: Evidence, today: date | None) -> Iterator[DateFinding]:
    if today is not None and item.date is not None and item.date.first > today:
        name = _of(item.part) if item.kind == "part" else f"The {item.kind}"
        yield DateFinding(item.kind, item.part or "", f"{name}: {item.date} lies in the future; was it misread?")


def _documents(fitted: Fitted) -> Iterator[DateFinding]:
    introduced, discontinued = fitted.production.introduced, fitted.production.discontinued
    if introduced is not None and discontinued is not None and introduced.first > discontinued.last:
        yield DateFinding(
            "documents",
            "",
            f"The family is discontinued ({discontinued}) before it is introduced ({introduced}); one of the two is "
            "wrong, and the discontinuation is not used.",
        )


def _register(fitted: Fitted) -> Iterator[DateFinding]:
    """Survivors whose stamp contradicts the others, the surest first; the documents where most contradict them."""
    outside = [one for one in fitted.sets for item in one.evidence if item.kind == "stamp" and _outside(fitted, item)]
    stamped = sum(any(item.kind == "stamp" for item in one.evidence) for one in fitted.sets)
    if len(outside) > 2 and 2 * len(outside) > stamped:
        yield DateFinding(
            "documents",
            "",
            f"{len(outside)} of {stamped} stamped survivors lie outside the years of production in the family file: "
            "introduced or discontinued is probably wrong.",
        )
        return
    found = sorted(fitted.contradictions, key=lambda pair: -pair[1])
    for number, probability in found[:MOST_NAMED]:
        if probability > _SURELY:
            one = fitted.sets[number]
            stamp = next(item for item in one.evidence if item.kind == "stamp")
            yield DateFinding(
                "survivor", one.id, _wrong_text(fitted, stamp, f"Survivor {one.id}: the stamp"), probability
            )


def _outside(fitted: Fitted, item: Evidence) -> bool:
    assert item.date is not None
    return item.date.last < fitted.weeks.first_day or item.date.first > fitted.weeks.last_day


def _of(part: str | None) -> str:
    words = (part or "part").replace("-", " ").replace("_", " ")
    return f"The {words}"
