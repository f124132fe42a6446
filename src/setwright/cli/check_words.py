"""What a sound file holds, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from setwright.cli.words import count

if TYPE_CHECKING:
    from setwright.circuits import Circuit
    from setwright.files import Register, SetFile
    from setwright.files.casebook import Casebook
    from setwright.files.literature import LiteratureEntry
    from setwright.files.readings import ReadingsFile
    from setwright.identity import Family


def family_words(family: Family) -> str:
    """A family."""
    lines = f" in {len(family.lines)} lines ({', '.join(family.line_ids)})" if len(family.lines) > 1 else ""
    parts = [
        count(len(family.features), "feature"),
        count(len(family.versions), "version") + lines,
        *([count(len(family.serial_blocks), "serial block")] if family.serial_blocks else []),
        *([count(len(family.cut_in_bounds), "documented bound")] if family.cut_in_bounds else []),
    ]
    return f"Family {family.id}, {family.name}: {', '.join(parts)}."


def family_notes(family: Family) -> tuple[str, ...]:
    """What keeps a sound family from telling anything yet."""
    notes = []
    if not family.features:
        notes.append("it has no feature yet; only features tell versions apart.")
    if not family.versions:
        notes.append("it has no version yet; a set can only be told to be one that is documented.")
    return tuple(notes)


def set_words(read: SetFile) -> str:
    """A set."""
    bench = read.set
    serial = f", serial {bench.serial}" if bench.serial else ", serial not known"
    seen = count(len(bench.latest), "feature")
    evidence = f", {count(len(read.date_evidence), 'piece')} of dating evidence" if read.date_evidence else ""
    return f"Set {bench.id} of family {bench.family}{serial}: {seen} looked at{evidence}."


def register_words(register: Register, family: Family) -> str:
    """A register of survivors."""
    known = register.survivors
    placed = int(((known.position >= 0) & (known.line >= 0)).sum())
    return (
        f"{count(len(known), 'survivor')} of family {family.id}, {placed:,} with a full serial and line; "
        f"{count(len(known.seen), 'feature')} seen on them."
    )


def circuit_words(circuit: Circuit) -> str:
    """A circuit."""
    of = f" of family {circuit.family}" if circuit.family else ""
    held = ", ".join((count(len(circuit.parts), "part"), count(len(circuit.tubes), "tube")))
    return f"Circuit {circuit.id}{of}: {held}."


def readings_words(read: ReadingsFile, circuit: Circuit) -> str:
    """Readings, or a printed chart."""
    points = len({reading.point for reading in read.readings})
    return f"{count(len(read.readings), 'reading')} at {count(points, 'point')} of circuit {circuit.id}."


def literature_words(entry: LiteratureEntry) -> str:
    """A document of the literature shelf."""
    scans = f", {count(len(entry.attachments), 'scan')}" if entry.attachments else ""
    return f"Literature {entry.id}, {entry.title}: {entry.kind}{scans}."


def casebook_words(book: Casebook) -> str:
    """A casebook, verified."""
    held = (
        count(len(book.families), "family", "families"),
        count(len(book.survivors), "register"),
        count(len(book.sets), "set"),
        count(len(book.circuits), "circuit"),
        count(len(book.literature), "document"),
        count(len(book.photos), "photo"),
        count(len(book.attachments), "scan"),
    )
    return f"Casebook made at {book.made_at:%Y-%m-%d %H:%M} UTC, all sums right: {', '.join(held)}."


def casebook_notes(book: Casebook) -> tuple[str, ...]:
    """What a sound casebook lacks."""
    return tuple(f"{name} was not to be had when it was made." for name in book.missing)
