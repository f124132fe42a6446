"""From a set's record to its identity."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass

from setwright.files import Register
from setwright.identity import identify
from setwright.identity.answer import Answer
from setwright.identity.model import BenchSet, Family, Survivors, no_survivors
from setwright.workbench.services.cache import ByContent
from setwright.workbench.services.records import bench_set_of, family_of, register_of
from setwright.workbench.services.runs import Runs
from setwright.workbench.sets.models import SetRecord

_answers: ByContent[Answer] = ByContent(size=256)
_runs: Runs[Answer] = Runs(_answers)


@dataclass(frozen=True, slots=True)
class IdentityCase:
    """A set, what it was compared with, and what identity answers."""

    family: Family
    bench_set: BenchSet
    register: Register | None
    answer: Answer

    @property
    def survivors(self) -> Survivors:
        """The survivors it was compared with; none where there is no register."""
        return no_survivors() if self.register is None else self.register.survivors


def identity_of(record: SetRecord, patience: float | None = None) -> IdentityCase:
    """What the set of this record is. Computed once for the same family, set and survivors.

    patience : seconds to wait for an answer that has to be computed; None waits as long as it takes.

    Raises StillRunning when patience ends, Stopped where somebody stopped the computation, ImpossibleHistory where
    the family's documents contradict each other, NotationError where too little of the serial is legible.
    """
    family = family_of(record.family)
    bench_set = bench_set_of(record)
    stored = record.family.register_or_none
    register = None if stored is None else register_of(stored, bench_set)
    survivors = no_survivors() if register is None else register.survivors

    answer = _runs.get(
        _key_of(record), lambda report: identify(family, bench_set, survivors, progress=report), patience
    )
    return IdentityCase(family=family, bench_set=bench_set, register=register, answer=answer)


def is_free(record: SetRecord) -> bool:
    """Whether asking what this set is would not make it wait behind the computations for other sets."""
    return _runs.is_free(_key_of(record))


def stop(record: SetRecord) -> None:
    """Stop computing what this set is, if that is under way; it stays stopped until it is started again."""
    _runs.stop(_key_of(record))


def start_again(record: SetRecord) -> None:
    """Let a computation that was stopped be done when it is next asked for."""
    _runs.start_again(_key_of(record))


def stop_all() -> None:
    """Stop all computations under way, when the process is to end."""
    _runs.stop_all()


def _key_of(record: SetRecord) -> Hashable:
    """Under what the answer to this record's present state is known."""
    stored = record.family.register_or_none
    return record.family.digest, record.digest, None if stored is None else stored.digest
