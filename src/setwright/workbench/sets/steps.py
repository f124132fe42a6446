"""A set's page: the steps of the job in their order, each with its answer in a sentence or what it still needs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from django.urls import reverse

from setwright.files import SetFile
from setwright.identity.model import Family
from setwright.workbench.circuits.step import volts_sentences
from setwright.workbench.dating.step import date_sentences
from setwright.workbench.services.records import family_file_of, family_of, set_file_of
from setwright.workbench.sets.casefile.words import date_words, price_words
from setwright.workbench.sets.models import SetRecord, ShelfLine
from setwright.workbench.sets.shelf_lines import line_of, sentence_of
from setwright.workbench.sets.words import capital
from setwright.workbench.site.words import ACCESS_WORDS, closed, count, listing

FEW = 3


@dataclass(frozen=True, slots=True)
class Link:
    """Where a step goes on. main : the one that is wanted most, shown as a button."""

    label: str
    address: str
    main: bool = False


@dataclass(frozen=True, slots=True)
class Step:
    """One step: its name, its answer in sentences, what it still needs ("" where nothing), and where it goes on."""

    anchor: str
    title: str
    sentences: tuple[str, ...]
    needs: str = ""
    links: tuple[Link, ...] = ()


@dataclass(frozen=True, slots=True)
class SetCase:
    """What the steps are told from. may_write : whether links to forms are of any use to whoever looks."""

    record: SetRecord
    family: Family
    file: SetFile
    line: ShelfLine
    may_write: bool

    def address(self, name: str, *more: object) -> str:
        """The address of one of the set's own pages."""
        return reverse(name, args=[self.record.key, *more])


Provider = Callable[[SetCase], Step | None]


def steps_of(record: SetRecord, *, may_write: bool) -> tuple[Step, ...]:
    """All steps that have something to say of this set, in the order of the job."""
    case = SetCase(record, family_of(record.family), set_file_of(record), line_of(record), may_write)
    return tuple(step for provider in STEPS if (step := provider(case)) is not None)


def _intake(case: SetCase) -> Step:
    """What came in, in what state, from where."""
    intake = case.file.case.intake
    came = " ".join(
        part
        for part in (
            f"on {date_words(intake.on)}" if intake.on else "",
            f"from {intake.from_whom}" if intake.from_whom else "",
            f"in {intake.place}" if intake.place else "",
            price_words(intake.price),
            f"taken in by {intake.by}" if intake.by else "",
        )
        if part
    )
    sentences = [closed(f"Came in {came}")] if came else []
    if intake.provenance:
        sentences.append(f"Known of its past: {_short(intake.provenance)}")
    if intake.missing:
        sentences.append(closed(f"Missing: {listing(intake.missing)}"))
    if intake.came_with:
        sentences.append(closed(f"Came with it: {listing(intake.came_with)}"))
    needs = "" if sentences else "When it came in, from whom, for how much, what is missing and what came with it."
    return Step(
        "intake",
        "Intake",
        tuple(sentences),
        needs,
        _forms(case, "sets:intake", not sentences, "Write down the intake", "Change the intake"),
    )


def _identity(case: SetCase) -> Step:
    """Which version it is, and what to look at next."""
    line, bench_set = case.line, case.file.set
    known = line.probability is not None
    sentences = [sentence_of(line)]
    if known and line.quick:
        sentences[0] += " This is the quick answer; the page of the answer has the full one."
    seen = f"{len(bench_set.latest)} of {count(len(case.family.features), 'feature')} seen"
    sentences.append(f"{seen}; opened so far: {ACCESS_WORDS[bench_set.open_to]}.")
    links = [Link("The whole answer", case.address("sets:identity"))]
    if case.may_write:
        links.insert(0, Link("Look, and note what you see", case.address("sets:bench"), main=True))
    if known:
        links.append(Link("Look sheet to print", case.address("sets:looks")))
    return Step("identity", "Identity", tuple(sentences), f"Look next: {line.step}" if line.step else "", tuple(links))


def _chronology(case: SetCase) -> Step:
    """When it was built, and which parts are later."""
    dated = case.file.date_evidence
    links = [Link("How it was dated", case.address("dating:date"))]
    if dated or case.may_write:
        label = "Add a stamp, a date code, a document" if case.may_write else "What dates it"
        links.append(Link(label, case.address("sets:dates")))
    sentences, needs = date_sentences(case.record)
    if not dated:
        needs = needs or "A stamp or a pencilled date inside, or date codes of its parts, would date it more closely."
    return Step("chronology", "Chronology", sentences, needs, tuple(links))


def _condition(case: SetCase) -> Step:
    """What state it is in, area by area."""
    areas: dict[str, list[str]] = {}
    for found in case.file.case.condition:
        areas.setdefault(found.area, []).append(found.text)
    sentences = tuple(closed(f"{capital(area)}: {'; '.join(texts)}") for area, texts in areas.items())
    needs = "" if sentences else "How cabinet, finish, dial, chassis, tubes and cords were found."
    return Step(
        "condition",
        "Condition",
        sentences,
        needs,
        _forms(case, "sets:condition", not sentences, "Note its condition", "Add to it or change it"),
    )


def _wants(case: SetCase) -> Step | None:
    """What is to be found for it."""
    wants = case.file.case.wants
    open_ones = [want.what for want in wants if not want.found]
    if not wants and not case.may_write:
        return None
    sentences = [closed(f"To find: {listing(open_ones)}")] if open_ones else []
    if len(open_ones) < len(wants):
        sentences.append(closed(f"Found: {listing(want.what for want in wants if want.found)}"))
    return Step(
        "parts",
        "Parts to find",
        tuple(sentences),
        "",
        _forms(case, "sets:wants", not wants, "Add a part to find", "Add a part, or say that it was found"),
    )


def _readings(case: SetCase) -> Step | None:
    """What was measured."""
    readings = case.file.case.readings
    if not readings and not case.may_write:
        return None
    points = listing(dict.fromkeys(reading.point for reading in readings[-FEW:]))
    sentences = (f"{count(len(readings), 'reading')}, the last at {points}.",) if readings else ()
    return Step(
        "readings",
        "Readings",
        sentences,
        "",
        _forms(case, "sets:readings", not readings, "Write down a reading", "All readings, and one more"),
    )


def _volts(case: SetCase) -> Step | None:
    """What to measure in it; nothing where its family has no circuit."""
    sentences = volts_sentences(case.record)
    if not sentences:
        return None
    links = (Link("What to measure, point by point", case.address("circuits:volts")),)
    return Step("volts", "Voltages", sentences, "", links)


def _notes(case: SetCase) -> Step | None:
    """What was noted."""
    notes = case.file.case.notes
    if not notes and not case.may_write:
        return None
    sentences = tuple(_short(note.text) for note in notes[-FEW:][::-1])
    return Step(
        "notes",
        "Notes",
        sentences,
        "",
        _forms(case, "sets:notes", not notes, "Write a note", "All notes, and one more"),
    )


def _photos(case: SetCase) -> Step | None:
    """What was photographed."""
    photos = case.file.case.photos
    if not photos and not case.may_write:
        return None
    shown = [case.family.feature(name).label for name in dict.fromkeys(photo.feature for photo in photos) if name]
    sentences = [f"{capital(count(len({photo.sha256 for photo in photos}), 'photo'))}."] if photos else []
    if shown:
        sentences.append(f"They show: {listing(shown)}.")
    links = [Link("All photos", case.address("photos:of-set"))] if photos else []
    if case.may_write:
        links.append(Link("Add photos", case.address("photos:add")))
    return Step("photos", "Photos", tuple(sentences), "", tuple(links))


def _literature(case: SetCase) -> Step:
    """The documents behind the family, and where they stand on the shelf."""
    sources = case.family.sources
    shelved = family_file_of(case.record.family).literature
    titles = [source.title for source in sources]
    more = [count(len(titles) - FEW, "more document")] if len(titles) > FEW else []
    sentences = (f"Its family rests on {listing([*titles[:FEW], *more])}.",) if titles else ()
    links = [
        Link(f"Open {source.title}", reverse("literature:entry", args=[shelved[source.id]]))
        for source in sources
        if source.id in shelved
    ][:FEW]
    links.append(Link("The literature shelf", reverse("literature:shelf")))
    needs = "" if titles else "The documents that the family's versions come from: there is no source yet."
    return Step("literature", "Literature", sentences, needs, tuple(links))


def _history(case: SetCase) -> Step:
    """What was done to this record."""
    record = case.record
    sentence = f"Changed last on {record.changed_at:%Y-%m-%d}; every change is kept and can be taken back."
    return Step("history", "History", (sentence,), "", (Link("All changes", case.address("records:set-history")),))


def _record(case: SetCase) -> Step:
    """What stays for the next owner."""
    links = [
        Link("The set's file", case.address("sets:file")),
        Link("The answer as data", case.address("sets:identity-json")),
        Link("A casebook of everything", reverse("casebook:casebook")),
    ]
    if case.may_write:
        links.append(Link("Remove this set", case.address("records:remove-set")))
    sentences = ("Everything above, in open formats to keep or hand on.",)
    return Step("record", "Record to leave", sentences, "", tuple(links))


def _forms(case: SetCase, name: str, empty: bool, first: str, later: str) -> tuple[Link, ...]:
    """The link to a form, called after whether there is anything yet."""
    if empty and not case.may_write:
        return ()
    label = first if empty else later if case.may_write else "All of it"
    return (Link(label, case.address(name)),)


def _short(text: str) -> str:
    """The beginning of a longer text."""
    line = " ".join(text.split())
    return line if len(line) <= 160 else f"{line[:160].rsplit(' ', 1)[0]} …"


STEPS: tuple[Provider, ...] = (
    _intake,
    _identity,
    _chronology,
    _condition,
    _wants,
    _volts,
    _readings,
    _photos,
    _notes,
    _literature,
    _history,
    _record,
)
"""The steps in the order of the job. A further one is a function from SetCase to Step, and its name here."""
