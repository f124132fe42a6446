"""From a set's record to its identity."""

from __future__ import annotations

from dataclasses import dataclass

from setwright.files import Register
from setwright.identity import identify
from setwright.identity.answer import Answer
from setwright.identity.model import BenchSet, Family, no_survivors
from setwright.workbench.services.cache import ByContent
from setwright.workbench.services.records import bench_set_of, family_of, register_of
from setwright.workbench.sets.models import SetRecord

_answers: ByContent[Answer] = ByContent(size=256)


@dataclass(frozen=True, slots=True)
class IdentityCase:
    """A set, what it was compared with, and what identity answers."""

    family: Family
    bench_set: BenchSet
    register: Register | None
    answer: Answer


def identity_of(record: SetRecord) -> IdentityCase:
    """What the set of this record is. Computed once for the same family, set and survivors.

    Raises ImpossibleHistory where the family's documents contradict each other.
    """
    family = family_of(record.family)
    bench_set = bench_set_of(record)
    stored = record.family.register_or_none
    register = None if stored is None else register_of(stored, bench_set)
    survivors = no_survivors() if register is None else register.survivors
    key = (record.family.digest, record.digest, None if stored is None else stored.digest)
    answer = _answers.get(key, lambda: identify(family, bench_set, survivors))
    return IdentityCase(family=family, bench_set=bench_set, register=register, answer=answer)
