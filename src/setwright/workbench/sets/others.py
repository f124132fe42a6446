"""This set beside others: its sisters, and what their owners could tell."""

from __future__ import annotations

from dataclasses import dataclass

from setwright.identity.answer import Answer, Sister
from setwright.identity.letter import letters
from setwright.identity.model import Family
from setwright.identity.phrases import apart_phrase
from setwright.workbench.services.identity import IdentityCase
from setwright.workbench.sets.evidence import FULL_BAR_DECIBANS, WEIGHS_SOMETHING
from setwright.workbench.sets.looks import bits_in_words, worth_in_words
from setwright.workbench.site.words import (
    ACCESS_WORDS,
    count,
    listing,
    odds_factor,
    percent,
    weight_in_words,
)
from setwright.workbench.survivors.reading import index_of, view_of

FEW = 3
"""So many sisters, and questions, stand on the identity page."""

MOST_SISTERS = 30
MOST_SISTERS_AT_ONCE = 10
"""So many stand on the page of sisters at once; the others behind a fold."""

MOST_DIFFERENCES_NAMED = 3
LEAST_BITS = 0.005


@dataclass(frozen=True, slots=True)
class SisterRow:
    """One set like this one; what it differs in is named with the other's state.

    words : what it says of their having been made alike. changes and of_both are the figures of `apart` and `alike`,
    for a table whose headings say the rest.
    """

    name: str
    serial: str
    apart: str
    changes: str
    same_line: str
    decibans: float
    words: str
    alike: str
    of_both: str
    differs: str


@dataclass(frozen=True, slots=True)
class DifferenceRow:
    """One feature of both sets. `bar` is the filled part of its half of the scale, in per cent."""

    label: str
    state: str
    other_state: str
    differs: bool
    decibans: float
    words: str
    odds: str
    bar: float
    against: bool


@dataclass(frozen=True, slots=True)
class Comparison:
    """This set beside one other."""

    name: str
    summary: str
    facts: tuple[tuple[str, str], ...]
    rows: tuple[DifferenceRow, ...]
    only_here: tuple[str, ...]
    only_there: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AskRow:
    """One look at another set."""

    name: str
    label: str
    where: str
    bits: str


@dataclass(frozen=True, slots=True)
class LetterView:
    """A letter with what it is about. worth : how much its answer tells, in words; bits : the figure."""

    name: str
    bits: str
    worth: str
    asks: str
    text: str
    wrapped: str


def sister_rows(case: IdentityCase, most: int = MOST_SISTERS) -> tuple[SisterRow, ...]:
    """The sets most like this one, the most alike first."""
    return tuple(_sister_row(case, sister) for sister in case.answer.sisters[:most])


def _sister_row(case: IdentityCase, sister: Sister) -> SisterRow:
    family = case.family
    differing = [item for item in sister.differences if item.state != item.other_state]
    named = [f"{family.feature(item.feature).label} ({item.other_state})" for item in differing]
    if len(named) > MOST_DIFFERENCES_NAMED + 1:
        more = len(named) - MOST_DIFFERENCES_NAMED
        named = [*named[:MOST_DIFFERENCES_NAMED], f"{more} more"]
    alike = len(sister.differences) - len(differing)
    return SisterRow(
        name=sister.id,
        serial=_serial(case, sister.id),
        apart=apart_phrase(sister.apart),
        changes=f"{sister.apart:.1f}",
        same_line=percent(sister.same_line_probability) if len(family.lines) > 1 else "",
        decibans=sister.decibans,
        words=weight_in_words(sister.decibans),
        alike=f"alike in {alike} of {count(len(sister.differences), 'feature')}",
        of_both=f"{alike} of {len(sister.differences)}",
        differs=listing(named),
    )


def _serial(case: IdentityCase, name: str) -> str:
    index = index_of(case.survivors, name)
    return "" if index is None else view_of(case.family, case.survivors, index).serial


def comparison_of(case: IdentityCase, name: str) -> Comparison | None:
    """This set beside the survivor of that id; None where nothing can be compared."""
    sister = next((sister for sister in case.answer.sisters if sister.id == name), None)
    index = index_of(case.survivors, name)
    if sister is None or index is None:
        return None
    family, view = case.family, view_of(case.family, case.survivors, index)
    both = {item.feature for item in sister.differences}
    facts = [("Its serial", view.serial or "not known")]
    if len(family.lines) > 1:
        facts.append(("Of the same line", percent(sister.same_line_probability)))
    return Comparison(
        name=name,
        summary=f"{apart_phrase(sister.apart).capitalize()}; {_made_alike(sister.decibans)}.",
        facts=tuple(facts),
        rows=tuple(_difference(family, sister, n) for n in range(len(sister.differences))),
        only_here=tuple(family.feature(f).label for f in case.bench_set.latest if f not in both and f not in view.seen),
        only_there=tuple(
            f"{family.feature(f).label} ({seen.text})"
            for f, seen in view.seen.items()
            if f not in both and f not in case.bench_set.latest
        ),
    )


def _made_alike(decibans: float) -> str:
    words = weight_in_words(decibans)
    if abs(decibans) < WEIGHS_SOMETHING:
        return "what was seen of both does not tell whether they were made alike"
    return f"what was seen of both speaks {words} their having been made alike"


def _difference(family: Family, sister: Sister, number: int) -> DifferenceRow:
    item = sister.differences[number]
    return DifferenceRow(
        label=family.feature(item.feature).label,
        state=item.state,
        other_state=item.other_state,
        differs=item.state != item.other_state,
        decibans=item.decibans,
        words=weight_in_words(item.decibans),
        odds=odds_factor(item.decibans),
        bar=round(100 * min(abs(item.decibans) / FULL_BAR_DECIBANS, 1.0), 1),
        against=item.decibans < 0,
    )


def ask_rows(family: Family, answer: Answer) -> tuple[AskRow, ...]:
    """The looks at other sets that would tell most."""
    return tuple(
        AskRow(item.set, family.feature(item.feature).label, ACCESS_WORDS[item.access], bits_in_words(item.bits))
        for item in answer.ask[:FEW]
        if item.bits >= LEAST_BITS
    )


def letter_views(case: IdentityCase) -> tuple[LetterView, ...]:
    """A letter for each set whose owner could tell something, the most telling first."""
    family = case.family
    return tuple(
        LetterView(
            name=letter.set,
            bits=bits_in_words(letter.bits),
            worth=worth_in_words(letter.bits),
            asks=listing(family.feature(feature).label for feature in letter.features),
            text=letter.text(None),
            wrapped=letter.text(),
        )
        for letter in letters(family, case.bench_set, case.survivors, case.answer)
    )
