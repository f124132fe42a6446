"""From a family's record to its survivors."""

from __future__ import annotations

from dataclasses import dataclass

from setwright.files import Register
from setwright.identity.model import Family, Survivors, no_survivors
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.services.records import family_of, register_of


@dataclass(frozen=True, slots=True)
class FamilyCase:
    """A family and its survivors; `register` is None where none were taken in."""

    family: Family
    register: Register | None

    @property
    def survivors(self) -> Survivors:
        """The survivors; none where there is no register."""
        return no_survivors() if self.register is None else self.register.survivors


def family_case(record: FamilyRecord) -> FamilyCase:
    """The documented history of this record, with what survives of the family."""
    stored = record.register_or_none
    return FamilyCase(family_of(record), None if stored is None else register_of(stored))
