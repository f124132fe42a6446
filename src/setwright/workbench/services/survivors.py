"""From a family's record to its survivors."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from setwright.files import Register
from setwright.files.survivors.table import rows_by_id
from setwright.identity.model import Family, Survivors, no_survivors
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.records import keeping
from setwright.workbench.records.keeping import By
from setwright.workbench.services.cache import ByContent
from setwright.workbench.services.records import family_of, register_of
from setwright.workbench.survivors.models import SurvivorRegister

_rows: ByContent[Mapping[str, Mapping[str, str]]] = ByContent(size=4)


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


def rows_of(record: FamilyRecord) -> Mapping[str, Mapping[str, str]]:
    """The cells of each survivor as they stand in the register, by id and column, empty ones left out; of any size."""
    stored = record.register_or_none
    if stored is None:
        return {}
    return _rows.get(stored.digest, lambda: rows_by_id(stored.text, family_of(record)))


def change_register(record: FamilyRecord, change: Callable[[str], str], *, by: By, what: str) -> SurvivorRegister:
    """Apply one change to the text of a family's register as it stands now, "" where there is none yet.

    Raises FileProblems where the text would be no good, ChangedMeanwhile where the register was removed meanwhile.
    """
    stored = record.register_or_none
    if stored is not None:
        return keeping.edit(stored, change, by=by, what=what)
    name = f"{record.key}.survivors.csv"
    made = keeping.create("survivors", change(""), by=by, what=what, name=name, parent=record)
    assert isinstance(made, SurvivorRegister)
    return made
