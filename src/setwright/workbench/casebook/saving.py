"""Saves records, their pictures and scans, and their history as a casebook."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import BinaryIO

from django.db import transaction
from django.utils import timezone

from setwright.files import read_family
from setwright.files.casebook import CasebookWriter, HistoryEntry
from setwright.files.casebook.history import write_history
from setwright.files.casebook.shapes import INDEX
from setwright.files.literature import LiteratureEntry, read_literature, write_index
from setwright.files.survivors.photos import COLUMN, read_photos
from setwright.files.survivors.table import rows_by_id
from setwright.identity.model import Family
from setwright.notation import NotationError
from setwright.workbench.blobs import BlobProblem
from setwright.workbench.circuits.models import CircuitRecord, PrintedChart
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.literature import files as scans
from setwright.workbench.literature.models import LiteratureRecord
from setwright.workbench.photos import store as photos
from setwright.workbench.photos.cleaning import SUFFIXES
from setwright.workbench.records.models import Document, Revision
from setwright.workbench.services.records import family_of, set_file_of
from setwright.workbench.sets.models import SetRecord
from setwright.workbench.survivors.models import SurvivorRegister

FOLDERS = {
    "family": "families",
    "set": "sets",
    "survivors": "survivors",
    "circuit": "circuits",
    "chart": "charts",
    "literature": "literature",
}


@dataclass(frozen=True, slots=True)
class Saved:
    """What went into a casebook. missing : the pictures and scans that records name and that were not to be had."""

    families: int
    sets: int
    registers: int
    documents: int
    photos: int
    scans: int
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Records:
    families: tuple[FamilyRecord, ...]
    registers: tuple[SurvivorRegister, ...]
    sets: tuple[SetRecord, ...]
    documents: tuple[LiteratureRecord, ...]
    circuits: tuple[CircuitRecord, ...]
    charts: tuple[PrintedChart, ...]

    def __iter__(self) -> Iterator[Document]:
        return iter((*self.families, *self.registers, *self.sets, *self.circuits, *self.charts, *self.documents))


def save_casebook(
    stream: BinaryIO,
    *,
    families: Collection[str] | None = None,
    history: bool = True,
    made_at: datetime | None = None,
) -> Saved:
    """Write a casebook into a stream, which stays the caller's to close.

    families : the keys of those that go in, with their sets, survivors and the literature they cite; None means
        everything there is. history : whether each record's history goes along.
    """
    found = _records(families)
    writer = CasebookWriter(stream, made_at or timezone.now())
    for record in found:
        ending = "csv" if record.record_kind in ("survivors", "chart") else "toml"
        writer.add(f"{FOLDERS[record.record_kind]}/{record.key}.{ending}", record.text)
    entries = [read_literature(record.text.encode("utf-8"), record.file_name).entry for record in found.documents]
    if entries:
        writer.add(INDEX, write_index(entries))
    pictures, missing = _add_photos(writer, _photos_of(found))
    scan_count, missing_scans = _add_scans(writer, entries)
    missing += missing_scans
    for name in missing:
        writer.note_missing(name)
    if history:
        for record in found:
            writer.add(f"history/{record.record_kind}-{record.key}.jsonl", write_history(_entries_of(record)))
    writer.finish()
    counts = (len(found.families), len(found.sets), len(found.registers), len(found.documents))
    return Saved(*counts, pictures, scan_count, tuple(missing))


def _records(families: Collection[str] | None) -> _Records:
    """Everything that goes in, as it stands at one moment."""
    with transaction.atomic():
        chosen = FamilyRecord.objects.all() if families is None else FamilyRecord.objects.filter(key__in=families)
        kept = tuple(chosen)
        registers = tuple(SurvivorRegister.objects.filter(family__in=kept).select_related("family"))
        sets = tuple(SetRecord.objects.filter(family__in=kept).select_related("family"))
        documents = tuple(LiteratureRecord.objects.all())
        circuits = tuple(CircuitRecord.objects.filter(family__in=kept).select_related("family"))
        charts = tuple(PrintedChart.objects.filter(circuit__in=circuits).select_related("circuit__family"))
    if families is not None:
        cited = _cited(kept, sets)
        documents = tuple(record for record in documents if record.key in cited)
    return _Records(kept, registers, sets, documents, circuits, charts)


def _cited(families: Iterable[FamilyRecord], sets: Iterable[SetRecord]) -> set[str]:
    """The documents that these families and sets cite, and what else might be the name of one."""
    cited = {observation.source for record in sets for observation in set_file_of(record).set.observations}
    for record in families:
        cited.update(read_family(record.text.encode("utf-8"), record.file_name).literature.values())
    return cited


def _photos_of(found: _Records) -> list[str]:
    """The sums of all pictures that sets and survivors name, each once."""
    sums = [photo.sha256 for record in found.sets for photo in set_file_of(record).case.photos]
    for register in found.registers:
        if COLUMN in register.text:
            sums += _photos_of_register(register.text, family_of(register.family))
    return list(dict.fromkeys(sums))


def _photos_of_register(text: str, family: Family) -> list[str]:
    sums: list[str] = []
    for row in rows_by_id(text, family).values():
        try:
            sums += [photo.sha256 for photo in read_photos(row.get(COLUMN, ""))]
        except NotationError:
            continue  # the column is free: somebody may have written other things into it
    return sums


def _add_photos(writer: CasebookWriter, sums: list[str]) -> tuple[int, list[str]]:
    known, missing = photos.blobs_of(sums), []
    for sha256 in sums:
        blob = known.get(sha256)
        name = f"photos/{sha256}{SUFFIXES[blob.media_type] if blob else '.jpg'}"
        try:
            writer.add(name, photos.content_of(sha256))
        except BlobProblem:
            missing.append(name)
    return len(sums) - len(missing), missing


def _add_scans(writer: CasebookWriter, entries: list[LiteratureEntry]) -> tuple[int, list[str]]:
    wanted = {(scan.sha256, scan.suffix): None for entry in entries for scan in entry.attachments}
    missing = []
    for sha256, suffix in wanted:
        name = f"literature/files/{sha256}{suffix}"
        try:
            writer.add(name, scans.store().read_verified(sha256, suffix))
        except BlobProblem:
            missing.append(name)
    return len(wanted) - len(missing), missing


def _entries_of(record: Document) -> Iterable[HistoryEntry]:
    """The history up to the text that went in: it only ever grows, so a change made meanwhile stays out."""
    entries = Revision.objects.filter(kind=record.record_kind, key=record.key, number__lte=record.revision)
    for entry in entries.order_by("number").iterator(chunk_size=50):
        yield HistoryEntry(entry.number, entry.at, entry.by_name, entry.what, entry.text, entry.undoes, entry.removed)
