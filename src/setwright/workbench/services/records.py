"""From stored records to the values the computing packages take."""

from __future__ import annotations

from collections.abc import Callable

from setwright.files import FamilyFile, Register, SetFile, read_family, read_set, read_survivors
from setwright.files.survivors.register import may_hold
from setwright.identity.model import BenchSet, Family
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.records.models import digest_of
from setwright.workbench.services.cache import ByContent
from setwright.workbench.sets.models import SetRecord
from setwright.workbench.survivors.models import SurvivorRegister

# So many as a club may have: with fewer, going through all of them in turn would find none of them remembered.
_families: ByContent[FamilyFile] = ByContent(size=128)
_sets: ByContent[SetFile] = ByContent(size=2048)
_registers: ByContent[Register] = ByContent(size=128)
_own_rows: ByContent[bool] = ByContent(size=4096)


def family_file_of(record: FamilyRecord) -> FamilyFile:
    """The family file a family record holds."""
    return _families.get(record.digest, lambda: read_family(record.text.encode("utf-8"), record.file_name))


def family_of(record: FamilyRecord) -> Family:
    """The documented history a family record holds."""
    return family_file_of(record).family


def set_file_of(record: SetRecord) -> SetFile:
    """The set file a set record holds: the set, and all else that is written down about it."""
    return _set_file(record, record.digest, lambda: record.text)


def set_file_with(record: SetRecord, text: str) -> SetFile:
    """The set file that this record would hold with another text. Raises FileProblems where it cannot be read."""
    return _set_file(record, digest_of(text), lambda: text)


def _set_file(record: SetRecord, digest: str, text: Callable[[], str]) -> SetFile:
    """A text of this record, read once. text : called where it was not read yet, for it may cost a query."""
    family, name = family_of(record.family), record.file_name
    key = (record.family.digest, digest, name)
    return _sets.get(key, lambda: read_set(text().encode("utf-8"), family, name))


def bench_set_of(record: SetRecord) -> BenchSet:
    """The set a set record holds."""
    return set_file_of(record).set


def register_of(record: SurvivorRegister, bench: BenchSet | None = None) -> Register:
    """The survivors a register holds; with a set on the bench, without that set's own row.

    Read once for all sets that have no row in it, which are nearly all.
    """
    family = family_of(record.family)
    key = (record.family.digest, record.digest)
    whole = _registers.get(key, lambda: _read(record, family))
    if bench is None:
        return whole
    own = (*key, bench.id, bench.serial, bench.line)
    if not _own_rows.get(own, lambda: may_hold(whole.survivors, family, bench)):
        return whole
    return _registers.get(own, lambda: _read(record, family, bench))


def _read(record: SurvivorRegister, family: Family, bench: BenchSet | None = None) -> Register:
    return read_survivors(record.text.encode("utf-8"), family, record.file_name, bench=bench)
