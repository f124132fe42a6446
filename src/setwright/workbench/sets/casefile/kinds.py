"""The lists of a set's file that are kept by hand, each with its form and its words."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from setwright.files import SetFile
from setwright.identity.model import Family, Observation
from setwright.workbench.sets.bench.words import feature_label, seen_words
from setwright.workbench.sets.casefile import forms, words
from setwright.workbench.sets.casefile.dates import DateEvidenceForm, date_evidence_words


@dataclass(frozen=True, slots=True)
class ListKind:
    """One list: `table` is its name in the file, `slug` in addresses, `one` in a sentence of the history.

    entries : all of them, in the order of the file. words : of one entry, what it says and what is known of it.
    adds : whether new ones are made on its own page. says : what the page is for. serves : name of the address of the
    set's page that it is for, and what that is called.
    """

    table: str
    slug: str
    title: str
    one: str
    says: str
    form: type[forms.EntryForm]
    entries: Callable[[SetFile], tuple[Any, ...]]
    words: Callable[[Any, Family], tuple[str, str]]
    newest_first: bool = False
    adds: bool = True
    wrong: str = "Remove"
    serves: tuple[str, str] | None = None

    def name(self, of: str = "") -> str:
        """The name of its address; of="entry" that of one entry, of="remove" that of the button beside it."""
        return f"sets:{self.slug}-{of}" if of else f"sets:{self.slug}"


def _observations(file: SetFile) -> tuple[tuple[Observation, str], ...]:
    """Every observation, and how its value was got."""
    raw = file.document.unwrap().get("observation", [])
    return tuple(
        (observation, str(table.get("how", "marked")))
        for observation, table in zip(file.set.observations, raw, strict=True)
    )


def _observation_words(entry: tuple[Observation, str], family: Family) -> tuple[str, str]:
    label = feature_label(family.feature(entry[0].feature))
    return f"{label}: {seen_words(entry[0])}", entry[0].note


CONDITION = ListKind(
    table="condition",
    slug="condition",
    title="Condition",
    one="condition note",
    says="How each part of the set was found, before anything is cleaned or mended.",
    form=forms.ConditionForm,
    entries=lambda file: file.case.condition,
    words=lambda entry, family: words.condition_words(entry),
)
WANTS = ListKind(
    table="want",
    slug="wants",
    title="Parts to find",
    one="want",
    says="What is looked for to complete or repair the set.",
    form=forms.WantForm,
    entries=lambda file: file.case.wants,
    words=lambda entry, family: words.want_words(entry),
)
READINGS = ListKind(
    table="reading",
    slug="readings",
    title="Readings",
    one="reading",
    says="What was measured, with the meter it was measured by: a meter loads what it measures.",
    form=forms.ReadingForm,
    entries=lambda file: file.case.readings,
    words=lambda entry, family: words.reading_words(entry),
)
NOTES = ListKind(
    table="note",
    slug="notes",
    title="Notes",
    one="note",
    says="Whatever is worth keeping.",
    form=forms.NoteForm,
    entries=lambda file: file.case.notes,
    words=words.note_words,
    newest_first=True,
)
DATES = ListKind(
    table="date_evidence",
    slug="dates",
    title="What dates it",
    one="date",
    says="Stamps, pencilled dates, date codes of parts, and documents that know of the set.",
    form=DateEvidenceForm,
    entries=lambda file: file.date_evidence,
    words=lambda entry, family: date_evidence_words(entry),
    serves=("dating:date", "When it was built"),
)
OBSERVATIONS = ListKind(
    table="observation",
    slug="seen",
    title="What was seen",
    one="observation",
    says="Every observation in the order in which it was made. Of two of one feature the later one counts.",
    form=forms.SeenForm,
    entries=_observations,
    words=_observation_words,
    newest_first=True,
    adds=False,
    wrong="It was wrong: take it out",
)

KINDS = (CONDITION, WANTS, READINGS, NOTES, DATES, OBSERVATIONS)
