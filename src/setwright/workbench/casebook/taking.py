"""Takes a casebook in: pictures and scans first, then all records in one transaction, or none of them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Literal

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from setwright.files.casebook import Casebook, HistoryEntry
from setwright.files.casebook.shapes import KINDS
from setwright.files.problems import ProblemList, quoted, refuse
from setwright.workbench.circuits.models import CircuitRecord
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.literature import files as scans
from setwright.workbench.literature.scans import ScanRefused
from setwright.workbench.literature.scans import checked as checked_scan
from setwright.workbench.photos import store as photos
from setwright.workbench.photos.cleaning import PhotoRefused
from setwright.workbench.photos.cleaning import checked as checked_photo
from setwright.workbench.records import keeping
from setwright.workbench.records.kinds import kind_named, kind_of
from setwright.workbench.records.models import Document, Revision, digest_of, packed
from setwright.workbench.search import index

State = Literal["new", "same", "differs", "removed"]

Name = tuple[str, str]
"""Kind and key of a record."""


@dataclass(frozen=True, slots=True)
class Coming:
    """One record of a casebook beside what is here.

    state : "new", "same" (the text is here already), "differs" (another text is here), "removed" (it was here).
    title : what the casebook calls it, "" where only its key does.
    """

    kind: str
    key: str
    state: State
    title: str = ""

    @property
    def name(self) -> Name:
        """Kind and key."""
        return self.kind, self.key


@dataclass(frozen=True, slots=True)
class Taken:
    """What was taken in: kinds and keys."""

    new: tuple[Name, ...]
    replaced: tuple[Name, ...]
    kept_mine: tuple[Name, ...]
    same: int
    photos: int
    scans: int


def texts_of(book: Casebook) -> dict[Name, str]:
    """Every record's text, in the order in which they need each other."""
    texts = {
        **{("family", key): file.text for key, file in book.families.items()},
        **{("survivors", key): text for key, text in book.survivors.items()},
        **{("set", key): file.text for key, file in book.sets.items()},
        **{("circuit", key): file.text for key, file in book.circuits.items()},
        **{("chart", key): text for key, text in book.charts.items()},
        **{("literature", key): file.text for key, file in book.literature.items()},
    }
    return dict(sorted(texts.items(), key=lambda item: (KINDS.index(item[0][0]), item[0][1])))


def look_at(book: Casebook) -> tuple[Coming, ...]:
    """Every record of the casebook, and whether one of that name is here already."""
    coming = []
    for (kind, key), text in texts_of(book).items():
        here = kind_named(kind).model.everything.filter(key=key).first()
        coming.append(Coming(kind, key, _state(here, text), _title(book, kind, key)))
    return tuple(coming)


def _title(book: Casebook, kind: str, key: str) -> str:
    match kind:
        case "family" | "survivors":
            return book.families[key].family.name
        case "set":
            return book.sets[key].case.name
        case "circuit" | "chart":
            return book.circuits[key].title or ""
    return book.literature[key].entry.title


def _state(here: Document | None, text: str) -> State:
    if here is None:
        return "new"
    if here.is_removed:
        return "removed"
    return "same" if here.digest == digest_of(text) else "differs"


def take_casebook(book: Casebook, *, by: AbstractBaseUser | None, theirs: Collection[Name] = ()) -> Taken:
    """Take everything in. A record that is here with another text stays as it is, unless it is among `theirs`.

    What is replaced stays in its history; what is new brings its own history along. Raises FileProblems where the
    records do not go together with what is here, or a picture is none: no record is taken in then.
    """
    pictures, scan_count = _take_files(book)
    with transaction.atomic(), index.later(len(texts_of(book)) > index.FEW):
        keeping.lock_all(FamilyRecord)
        taking = _Taking(book, by, theirs)
        for name, text in texts_of(book).items():
            taking.take(name, text)
        taking.check_families()
    return Taken(tuple(taking.new), tuple(taking.replaced), tuple(taking.kept_mine), taking.same, pictures, scan_count)


def _take_files(book: Casebook) -> tuple[int, int]:
    """Pictures and scans that are not here yet; they harm nothing without a record, so they need no transaction."""
    problems = ProblemList(book.name)
    known = photos.blobs_of(book.photos)
    taken = scan_count = 0
    for sha256, member in book.photos.items():
        if sha256 in known and photos.files().has(sha256, PurePosixPath(member).suffix):
            continue
        try:
            photos.take_over(book.content_of(member), sha256, member)
            taken += 1
        except PhotoRefused as refused:
            problems.add(quoted(member), refused.message)
    for sha256, member in book.attachments.items():
        suffix = PurePosixPath(member).suffix
        if scans.store().has(sha256, suffix):
            continue
        content = book.content_of(member)
        try:
            checked = checked_scan(content, member) if suffix == ".pdf" else checked_photo(content, member)
        except (ScanRefused, PhotoRefused) as refused:
            problems.add(quoted(member), refused.message)
            continue
        if checked.suffix != suffix:
            problems.add(quoted(member), f"is {checked.media_type} by its content, not what its name says")
            continue
        scans.store().put(content, suffix)
        scan_count += 1
    problems.raise_if_any()
    return taken, scan_count


class _Taking:
    """One casebook on its way into the records, inside a transaction."""

    def __init__(self, book: Casebook, by: AbstractBaseUser | None, theirs: Collection[Name]) -> None:
        self.book, self.by, self.theirs = book, by, frozenset(theirs)
        self.from_where = f"casebook {Path(book.name).name}"
        self.new: list[Name] = []
        self.replaced: list[Name] = []
        self.kept_mine: list[Name] = []
        self.same = 0

    def take(self, name: Name, text: str) -> None:
        """Take one record in, or leave the one that is here."""
        kind, key = name
        here = kind_named(kind).model.everything.filter(key=key).first()
        state = _state(here, text)
        if state == "same":
            self.same += 1
        elif state == "differs" and name not in self.theirs:
            self.kept_mine.append(name)
        elif state == "differs":
            assert here is not None, "what differs is here"
            self._check_family(here, name)
            keeping.keep(here, text, by=self.by, what=f"Replaced by {self.from_where}", alone=False)
            self.replaced.append(name)
        else:
            self._create(name, text)
            self.new.append(name)

    def _create(self, name: Name, text: str) -> None:
        kind, key = name
        what = f"Taken in from {self.from_where}"
        file_name = f"{key}.csv" if kind in ("survivors", "chart") else f"{key}.toml"
        parent = _parent_of(name)
        history = self.book.history.get(name, ())
        if not history or Revision.objects.filter(kind=kind, key=key).exists():
            # A record that was here has its own history, which goes on.
            keeping.create(kind, text, by=self.by, what=what, name=file_name, parent=parent)
            return
        made = kind_named(kind).made(text, file_name, parent)
        made.file_name = file_name
        made.revision = len(history)
        Revision.objects.bulk_create([_revision(name, entry) for entry in history], batch_size=200)
        keeping.write(made, text, by=self.by, what=what)

    def _check_family(self, here: Document, name: Name) -> None:
        kind, key = name
        theirs = None
        if kind == "set":
            theirs = self.book.sets[key].set.family
        elif kind == "circuit":
            theirs = self.book.circuits[key].circuit.family
        own = kind_of(here).family_key(here)
        if theirs is not None and own != theirs:
            message = f"the {kind} {quoted(key)} is here in family {quoted(own)}, and {quoted(theirs)} in the casebook"
            raise refuse(self.book.name, f"{message}; keep yours, or give one of the two another id")

    def check_families(self) -> None:
        """FileProblems where what was here no longer fits a family or a circuit that was replaced."""
        for kind, key in self.replaced:
            if kind == "family":
                family = FamilyRecord.objects.get(key=key)
                kind_of(family).check_dependants(family)
            elif kind == "circuit":
                circuit = CircuitRecord.objects.select_related("family", "chart").get(key=key)
                kind_of(circuit).check_dependants(circuit)


def _parent_of(name: Name) -> Document | None:
    """The record that another belongs to where its own text does not say so."""
    kind, key = name
    if kind == "chart":
        return CircuitRecord.objects.select_related("family").get(key=key)
    return FamilyRecord.objects.get(key=key) if kind == "survivors" else None


def _revision(name: Name, entry: HistoryEntry) -> Revision:
    kind, key = name
    return Revision(
        kind=kind,
        key=key,
        number=entry.number,
        text_zip=packed(entry.text),
        digest=digest_of(entry.text),
        by=None,
        by_name=entry.by,
        at=entry.at,
        what=entry.what,
        undoes=entry.undoes,
        removed=entry.removed,
    )
