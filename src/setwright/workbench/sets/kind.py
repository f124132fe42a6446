"""How a set's record is read."""

from __future__ import annotations

from django.urls import reverse

from setwright.files import SetFile, read_set
from setwright.files.problems import quoted, refuse
from setwright.files.sets import family_id_of
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.records.kinds import Kind
from setwright.workbench.records.models import Document
from setwright.workbench.services.records import family_of, set_file_with
from setwright.workbench.sets.models import SetRecord


class SetKind(Kind[SetRecord, SetFile]):
    """Set files, read against their family."""

    name = "set"
    noun = "set"
    model = SetRecord
    parent_field = "family"

    def read(self, record: SetRecord, text: str) -> SetFile:
        """The set file."""
        return set_file_with(record, text)

    def key_of(self, record: SetRecord, file: SetFile) -> str:
        """The set's id."""
        return file.set.id

    def columns(self, record: SetRecord, file: SetFile) -> dict[str, object]:
        """What the shelf shows."""
        bench_set = file.set
        return {
            "name": file.case.name,
            "serial": bench_set.serial or "",
            "line": bench_set.line or "",
            "open_to": bench_set.open_to,
            "observation_count": len(bench_set.latest),
        }

    def made(self, text: str, name: str, parent: Document | None) -> SetRecord:
        """A set, under its id and the family that its text names."""
        key = family_id_of(text.encode("utf-8"), name)
        if key is None:
            message = 'the key family is missing; write family = "…" with the id of the set\'s family'
            raise refuse(name, message)
        family = FamilyRecord.objects.filter(key=key).first()
        if family is None:
            message = f"the set belongs to family {quoted(key)}, which is not there yet; name its file as well"
            raise refuse(name, message)
        return SetRecord(key=read_set(text.encode("utf-8"), family_of(family), name).set.id, family=family)

    def why_gone(self, record: SetRecord) -> str:
        """A set comes back into a family that is there."""
        return "Its family is removed; bring the family back first." if record.family.is_removed else ""

    def history_address(self, record: SetRecord) -> str:
        """The page of the set's history."""
        return reverse("records:set-history", args=[record.key])
