"""Printings of a parts list, pasted into a form, compared."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from setwright.files import FileProblems, Problem
from setwright.files.partslists.comparison import Comparison, compare_lists
from setwright.files.partslists.reading import PartsList, read_parts_list

MOST_PRINTINGS = 4
USUAL_LABELS = ("First printing", "Second printing", "Third printing", "Fourth printing")

_ON_THE_COMMAND_LINE = "say so with --changes-only"
_ON_THE_PAGE = "tick “only what changed” for it"


@dataclass(frozen=True, slots=True)
class Printing:
    """One pasted list. `number` counts the form's places from 1."""

    number: int
    label: str
    text: str
    changes_only: bool


def posted_printings(posted: Mapping[str, str]) -> tuple[Printing, ...]:
    """The form's places for lists, with what was entered."""
    return tuple(
        Printing(
            number,
            " ".join(posted.get(f"label-{number}", usual).split())[:200] or usual,
            posted.get(f"text-{number}", ""),
            f"changes-{number}" in posted and number > 1,
        )
        for number, usual in enumerate(USUAL_LABELS, 1)
    )


def compared(printings: tuple[Printing, ...], *, m_means_thousand: bool = False) -> Comparison:
    """Compare those printings that hold something, the earliest first.

    Raises FileProblems for all lists together: one in which no part is found, or fewer than two.
    """
    given = [one for one in printings if one.text.strip()]
    problems = _problems_of(given)
    lists: list[PartsList] = []
    for one in given:
        try:
            content = one.text.encode("utf-8")
            lists.append(read_parts_list(content, one.label, name=one.label, m_means_thousand=m_means_thousand))
        except FileProblems as failure:
            problems.extend(failure.problems)
    if problems:
        raise FileProblems(tuple(problems))
    return compare_lists(lists, [number for number, one in enumerate(given) if one.changes_only and number])


def _problems_of(given: list[Printing]) -> list[Problem]:
    if len(given) < 2:
        message = "paste two printings or more; with one there is nothing to compare"
        return [Problem(given[0].label if given else "the lists", "", None, message)]
    labels = [one.label.casefold() for one in given]
    twice = next((one for one in given if labels.count(one.label.casefold()) > 1), None)
    return [Problem(twice.label, "", None, "two printings are called so; give each its own name")] if twice else []


def notes_of(comparison: Comparison) -> list[str]:
    """What else the reader should know: of the comparison, and what was not understood."""
    notes = [note.replace(_ON_THE_COMMAND_LINE, _ON_THE_PAGE) for note in comparison.notes]
    for one in comparison.lists:
        notes += [f"{one.label}, line {line.line}, not understood: “{line.text}”: {line.why}." for line in one.unread]
        notes += [f"{one.label}, {passed}: passed over." for passed in one.passed_over]
    return notes
