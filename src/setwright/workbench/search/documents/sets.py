"""What can be found of a set: itself, its observations, notes, photos and wants."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from setwright.files import SetFile
from setwright.files.case import Case
from setwright.identity.model import Family, Observation
from setwright.workbench.search.documents.families import cited
from setwright.workbench.search.documents.item import Item, lines, listed, said
from setwright.workbench.search.documents.serials import serial_forms
from setwright.workbench.services.records import family_file_of, family_of, set_file_of
from setwright.workbench.sets.models import SetRecord

_ID = re.compile(r"[A-Za-z0-9_-][A-Za-z0-9._-]*")
"""What the id of a source or document looks like; other words in an observation's source name none."""


def set_items(record: SetRecord) -> Iterator[Item]:
    """Everything of a set."""
    file = set_file_of(record)
    family = family_of(record.family)
    page = record.get_absolute_url()
    name = file.case.name or record.key
    aliases = f"{record.key} {serial_forms(file.set.serial or '')}"
    yield Item("set", "", name, _facts(record, file), page, aliases=aliases)
    shelved = family_file_of(record.family).literature
    for number, observation in enumerate(file.set.observations):
        yield _observation(observation, number, name, family, page, shelved)
    yield from _case_items(file.case, name, family, page)


def _facts(record: SetRecord, file: SetFile) -> str:
    intake = file.case.intake
    return lines(
        record.family.name,
        said("Serial", file.set.serial),
        said("From", intake.from_whom),
        said("Place", intake.place),
        said("Price", intake.price),
        said("Taken in by", intake.by),
        said("Came in on", intake.on and intake.on.text),
        intake.provenance,
        listed("Missing", intake.missing),
        listed("Came with it", intake.came_with),
        *(said(one.area.capitalize(), one.text) for one in file.case.condition),
        *(
            said(f"Date on {one.part or one.kind}", one.code or (one.date and one.date.text))
            for one in file.date_evidence
        ),
    )


def _observation(
    observation: Observation, number: int, name: str, family: Family, page: str, shelved: Mapping[str, str]
) -> Item:
    label = family.feature(observation.feature).label
    state = observation.written or observation.state or ""
    seen = "cannot tell" if observation.cannot_tell else f"{state} (looks serviced)" if observation.serviced else state
    body = lines(f"{label}: {seen.strip()}", observation.note, said("Source", observation.source))
    title = f"{label} of {name}"
    source = observation.source.strip()
    cites = cited([source], shelved) if _ID.fullmatch(source) else ()
    return Item("observation", f"observation:{number}", title, body, page, aliases=observation.feature, cites=cites)


def _case_items(case: Case, name: str, family: Family, page: str) -> Iterator[Item]:
    for number, note in enumerate(case.notes):
        about = f"{family.feature(note.about).label} of {name}" if note.about else name
        yield Item("note", f"note:{number}", about, lines(note.text, said("By", note.by)), page)
    for number, photo in enumerate(case.photos):
        shown = family.feature(photo.feature).label if photo.feature else ""
        body = lines(photo.caption, said("Shows", shown), said("File", photo.name))
        yield Item("photo", f"photo:{number}", f"Photo of {name}", body, page)
    for number, want in enumerate(case.wants):
        body = lines(said("Part", want.part), want.note, "Found" if want.found else "", said("For", name))
        yield Item("want", f"want:{number}", want.what, body, page)
    for number, reading in enumerate(case.readings):
        value = f"{reading.point}: {reading.value:g} {reading.unit}"
        body = lines(
            value, said("Against", reading.reference), said("Meter", reading.meter), f"Switched {reading.condition}"
        )
        yield Item("reading", f"reading:{number}", f"{reading.point} of {name}", body, page)
