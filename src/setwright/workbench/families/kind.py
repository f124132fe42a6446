"""How a family's record is read."""

from __future__ import annotations

from django.urls import reverse

from setwright.files import FamilyFile, read_family, read_set, read_survivors
from setwright.files.circuits.reading import read_circuit
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.records.kinds import Kind
from setwright.workbench.records.models import Document
from setwright.workbench.site.words import count

MOST_IN_THE_WAY = 20
"""So many sets are named where they keep a family from being removed."""


class FamilyKind(Kind[FamilyRecord, FamilyFile]):
    """Family files."""

    name = "family"
    noun = "family"
    model = FamilyRecord

    def read(self, record: FamilyRecord, text: str) -> FamilyFile:
        """The family file."""
        return read_family(text.encode("utf-8"), record.file_name)

    def key_of(self, record: FamilyRecord, file: FamilyFile) -> str:
        """The family's id."""
        return file.family.id

    def columns(self, record: FamilyRecord, file: FamilyFile) -> dict[str, object]:
        """What lists of families show."""
        family = file.family
        return {
            "name": family.name,
            "kind": family.kind,
            "introduced": family.introduced or "",
            "discontinued": family.discontinued or "",
            "line_count": len(family.lines),
            "version_count": len(family.versions),
            "feature_count": len(family.features),
        }

    def made(self, text: str, name: str, parent: Document | None) -> FamilyRecord:
        """A family, under its id."""
        return FamilyRecord(key=read_family(text.encode("utf-8"), name).family.id)

    def check_dependants(self, record: FamilyRecord) -> None:
        """FileProblems where a set, the register or a circuit no longer fits the family."""
        family = read_family(record.text.encode("utf-8"), record.file_name).family
        for stored in record.sets.all():
            read_set(stored.text.encode("utf-8"), family, f"{stored.file_name} (set {stored.key}, already here)")
        register = record.register_or_none
        if register is not None:
            read_survivors(register.text.encode("utf-8"), family, f"{register.file_name} (already here)")
        for circuit in record.circuits.all():
            name = f"{circuit.file_name} (circuit {circuit.key}, already here)"
            read_circuit(circuit.text.encode("utf-8"), family, name)

    def why_kept(self, record: FamilyRecord) -> str:
        """A family stays while sets of it are there."""
        sets = record.sets.count()
        if not sets:
            return ""
        verb = "is" if sets == 1 else "are"
        return f"{count(sets, 'set')} of this family {verb} still here; remove what belongs to it first."

    def in_the_way(self, record: FamilyRecord) -> list[tuple[str, str]]:
        """The first of its sets."""
        return [(str(one), one.get_absolute_url()) for one in record.sets.defer("text")[:MOST_IN_THE_WAY]]

    def family_key(self, record: FamilyRecord) -> str:
        """Its own."""
        return record.key

    def history_address(self, record: FamilyRecord) -> str:
        """The page of the family's history."""
        return reverse("records:family-history", args=[record.key])
