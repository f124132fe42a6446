"""How the record of a family's survivors is read."""

from __future__ import annotations

from django.urls import reverse

from setwright.files.problems import refuse
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.records.kinds import Kind
from setwright.workbench.records.models import Document
from setwright.workbench.services.records import register_of
from setwright.workbench.site.words import count
from setwright.workbench.survivors.models import SurvivorRegister


class SurvivorsKind(Kind[SurvivorRegister, str]):
    """Survivors files. A change takes the CSV text and gives it back changed."""

    name = "survivors"
    noun = "register of survivors of family"
    model = SurvivorRegister
    parent_field = "family"

    def read(self, record: SurvivorRegister, text: str) -> str:
        """The text itself: rows are edited in the text."""
        return text

    def key_of(self, record: SurvivorRegister, file: str) -> str:
        """A register has its family's id."""
        return record.family.key

    def columns(self, record: SurvivorRegister, file: str) -> dict[str, object]:
        """How many survivors there are. Raises FileProblems where the text cannot be read."""
        # Read as pages read it, so that the next page need not read it again.
        return {"count": len(register_of(record).survivors)}

    def made(self, text: str, name: str, parent: Document | None) -> SurvivorRegister:
        """A register of the family that the caller names."""
        if not isinstance(parent, FamilyRecord):
            raise refuse(name, "it does not say whose survivors these are; name their family")
        return SurvivorRegister(key=parent.key, family=parent)

    def what_goes(self, record: SurvivorRegister) -> str:
        """All that are in it."""
        known = count(record.count, "survivor")
        return f"{known} of {record.family.name} would go together, with all that was noted of them."

    def why_gone(self, record: SurvivorRegister) -> str:
        """A register comes back into a family that is there."""
        return "Its family is removed; bring the family back first." if record.family.is_removed else ""

    def history_address(self, record: SurvivorRegister) -> str:
        """The page of the register's history."""
        return reverse("records:survivors-history", args=[record.key])
