"""From stored records to the values the computing packages take."""

from __future__ import annotations

from setwright.files import FamilyFile, Register, SetFile, read_family, read_set, read_survivors
from setwright.identity.model import BenchSet, Family
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.services.cache import ByContent
from setwright.workbench.sets.models import SetRecord
from setwright.workbench.survivors.models import SurvivorRegister

_families: ByContent[FamilyFile] = ByContent(size=64)
_sets: ByContent[SetFile] = ByContent(size=256)
_registers: ByContent[Register] = ByContent(size=32)


def family_file_of(record: FamilyRecord) -> FamilyFile:
    """The family file a family record holds."""
    return _families.get(record.digest, lambda: read_family(record.text.encode("utf-8"), record.file_name))


def family_of(record: FamilyRecord) -> Family:
    """The documented history a family record holds."""
    return family_file_of(record).family


def set_file_of(record: SetRecord) -> SetFile:
    """The set file a set record holds: the set, and all else that is written down about it."""
    family = family_of(record.family)
    key = (record.family.digest, record.digest)
    return _sets.get(key, lambda: read_set(record.text.encode("utf-8"), family, record.file_name))


def bench_set_of(record: SetRecord) -> BenchSet:
    """The set a set record holds."""
    return set_file_of(record).set


def register_of(record: SurvivorRegister, bench: BenchSet | None = None) -> Register:
    """The survivors a register holds; with a set on the bench, without that set's own row."""
    family = family_of(record.family)
    own = None if bench is None else (bench.id, bench.serial, bench.line)
    return _registers.get(
        (record.family.digest, record.digest, own),
        lambda: read_survivors(record.text.encode("utf-8"), family, record.file_name, bench=bench),
    )
