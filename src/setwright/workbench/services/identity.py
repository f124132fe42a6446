"""From a set's record to its identity."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from copy import copy
from dataclasses import dataclass, replace

from django.db.models import Q

from setwright.files import Register
from setwright.identity import identify
from setwright.identity.answer import Answer
from setwright.identity.groundwork import Groundwork
from setwright.identity.identify import MOST_WEIGHED
from setwright.identity.model import BenchSet, Family, ImpossibleHistory, Survivors, no_survivors
from setwright.identity.progress import Progress
from setwright.identity.quick import quick_answer, quick_groundwork
from setwright.notation import NotationError
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.records.models import digest_of
from setwright.workbench.services import apart, rates
from setwright.workbench.services.cache import ByContent
from setwright.workbench.services.records import bench_set_of, family_of, register_of
from setwright.workbench.services.runs import Runs, StillRunning, Stopped
from setwright.workbench.sets.models import SetRecord


@dataclass(frozen=True, slots=True)
class Worked:
    """An answer, and the names of the other families that taught rates of alteration for it."""

    answer: Answer
    teachers: tuple[str, ...] = ()


_runs: Runs[Worked] = Runs(ByContent(size=256))
_quick_runs: Runs[Worked] = Runs(ByContent(size=1024), at_once=1)
_groundworks: ByContent[Groundwork] = ByContent(size=32)
"""Of the sets at the bench: what their next quick answers rest on, too."""


@dataclass(frozen=True, slots=True)
class IdentityCase:
    """A set, what it was compared with, and what identity answers.

    learned : it was asked with learnt rates of alteration; teachers : other families that taught them, by name.
    quick : it is the quick answer, which the full one will replace.
    """

    family: Family
    bench_set: BenchSet
    register: Register | None
    answer: Answer
    learned: bool = False
    teachers: tuple[str, ...] = ()
    quick: bool = False

    @property
    def survivors(self) -> Survivors:
        """The survivors it was compared with; none where there is no register."""
        return no_survivors() if self.register is None else self.register.survivors


def identity_of(record: SetRecord, patience: float | None = None, *, taught_by: Q | None = None) -> IdentityCase:
    """What the set of this record is. Computed once for the same family, set and survivors.

    patience : seconds to wait for an answer that has to be computed; None waits as long as it takes.
    taught_by : with rates of alteration learnt from the survivors of this family and of those others for which this
        holds, which are those that whoever asks may look at. What the others teach is then part of the work, once for
        each state of a family. None asks for the usual rates and leaves them alone.

    Raises StillRunning when patience ends, Stopped where somebody stopped the computation, ImpossibleHistory where
    the family's documents contradict each other, NotationError where too little of the serial is legible.
    """
    family, bench_set, register, survivors = _values_of(record)
    learned = taught_by is not None
    teachers = _teachers_of(record, taught_by)

    def work(report: Progress) -> Worked:
        if not learned:
            return Worked(apart.run(identify, report, family, bench_set, survivors))
        return _with_learnt_rates(family, bench_set, survivors, teachers, report)

    worked = _runs.get(_key_of(record, learned, teachers), work, patience)
    return IdentityCase(family, bench_set, register, worked.answer, learned, worked.teachers)


def known_identity_of(record: SetRecord) -> IdentityCase | None:
    """The full answer if it was computed before, else None. Computes nothing."""
    worked = _runs.find(_key_of(record))
    return None if worked is None else _case_of(record, worked)


def quick_identity_of(record: SetRecord) -> IdentityCase:
    """The quick answer (see `identity.quick`), computed here and now, once for the same family, set and survivors.

    Raises ImpossibleHistory and NotationError as `identity_of`.
    """
    worked = _quick_runs.here_and_now(_key_of(record), lambda: _quick_work(record)())
    return _case_of(record, worked, quick=True)


def quick_answer_later(record: SetRecord) -> Callable[[], Answer]:
    """What gives the quick answer when it is called, in whatever thread: the records are read now.

    Calling it raises as `quick_identity_of`.
    """
    key, work = _key_of(record), _quick_work(record)
    return lambda: _quick_runs.here_and_now(key, work).answer


def ready_identity_of(record: SetRecord) -> IdentityCase:
    """The full answer if it is known, else the quick one. Raises as `quick_identity_of`."""
    return known_identity_of(record) or quick_identity_of(record)


def quick_answer_at(record: SetRecord, text: str) -> Answer:
    """The quick answer to the set as its file once stood, against its family and survivors as they are now.

    Raises FileProblems where that text does not fit the family any more, and as `quick_identity_of`.
    """
    then = copy(record)
    then.text, then.digest = text, digest_of(text)
    return quick_identity_of(then).answer


def found_already(record: SetRecord) -> IdentityCase | None:
    """An answer to this record's present state if there is one, the full before the quick. Computes nothing."""
    full = known_identity_of(record)
    worked = None if full else _quick_runs.find(_key_of(record))
    return full if worked is None else _case_of(record, worked, quick=True)


def begin(record: SetRecord, *, quick: bool = False) -> None:
    """Begin to compute an answer in the background, for whoever asks later. What is wrong is told to whoever asks."""
    try:
        if quick:
            work = _quick_work(record)
            _quick_runs.get(_key_of(record), lambda report: work(), patience=0.0)
        else:
            identity_of(record, patience=0.0)
    except (StillRunning, Stopped, ImpossibleHistory, NotationError):
        return


def abandon(record: SetRecord) -> None:
    """Stop computing the full answer to this record's present state, because the set is about to change."""
    _runs.abandon(_key_of(record))


def _values_of(record: SetRecord) -> tuple[Family, BenchSet, Register | None, Survivors]:
    family = family_of(record.family)
    bench_set = bench_set_of(record)
    stored = record.family.register_or_none
    register = None if stored is None else register_of(stored, bench_set)
    return family, bench_set, register, no_survivors() if register is None else register.survivors


def _case_of(record: SetRecord, worked: Worked, *, quick: bool = False) -> IdentityCase:
    family, bench_set, register, _ = _values_of(record)
    return IdentityCase(family, bench_set, register, worked.answer, quick=quick)


def _quick_work(record: SetRecord) -> Callable[[], Worked]:
    """The work of a quick answer. What is read from the database is read now, so another thread may do the work."""
    family, bench_set, register, survivors = _values_of(record)
    stored = record.family.register_or_none
    # The whole register serves all sets that have no row of their own in it.
    own = None if stored is None or register is register_of(stored) else bench_set.id
    content = record.family.digest, None if stored is None else stored.digest, own, bench_set.serial, bench_set.line

    def work() -> Worked:
        groundwork = _groundworks.find(content)
        if groundwork is None:
            groundwork = quick_groundwork(family, survivors, bench_set.serial, bench_set.line)
            if groundwork.is_settled:
                _groundworks.get(content, lambda: groundwork)
        return Worked(quick_answer(groundwork, bench_set))

    return work


def _with_learnt_rates(
    family: Family, bench_set: BenchSet, survivors: Survivors, teachers: tuple[FamilyRecord, ...], report: Progress
) -> Worked:
    """The answer with learnt rates; its warnings name the families that teach nothing."""
    # What others teach takes fewer draws than an answer, which is computed twice here.
    before = len(teachers) / (len(teachers) + 4)
    lessons = rates.lessons_of(teachers, lambda text, share: report(text, before * share))
    answer = apart.run(
        identify,
        lambda text, share: report(text, before + (1.0 - before) * share),
        family,
        bench_set,
        survivors,
        learned=True,
        other_families=[lesson.evidence for lesson in lessons if lesson.evidence is not None],
    )
    silent = tuple(lesson.why_not for lesson in lessons if lesson.evidence is None)
    taught = tuple(lesson.family for lesson in lessons if lesson.evidence is not None)
    return Worked(replace(answer, warnings=(*answer.warnings, *silent)), taught)


def _teachers_of(record: SetRecord, taught_by: Q | None) -> tuple[FamilyRecord, ...]:
    """The other families that take part in learning; none where this family's own survivors teach nothing."""
    stored = record.family.register_or_none
    if taught_by is None or stored is None or not 0 < stored.count <= MOST_WEIGHED:
        return ()
    return rates.teachers_of(record.family, taught_by)


def stop(record: SetRecord, *, taught_by: Q | None = None) -> None:
    """Stop computing what this set is, if that is under way; it stays stopped until it is started again."""
    _runs.stop(_key_of(record, taught_by is not None, _teachers_of(record, taught_by)))


def start_again(record: SetRecord, *, taught_by: Q | None = None) -> None:
    """Let a computation that was stopped be done when it is next asked for."""
    _runs.start_again(_key_of(record, taught_by is not None, _teachers_of(record, taught_by)))


def stop_all() -> None:
    """Stop all computations under way, when the process is to end."""
    _runs.stop_all()
    _quick_runs.stop_all()


def rest(patience: float) -> None:
    """Let what was stopped come to its end, for at most so many seconds each."""
    _runs.rest(patience)
    _quick_runs.rest(patience)


def state_of(record: SetRecord) -> str:
    """A fingerprint of everything the answer follows from: what was answered to another state is out of date."""
    return digest_of(" ".join(str(part) for part in _key_of(record)))


def _key_of(record: SetRecord, learned: bool = False, teachers: tuple[FamilyRecord, ...] = ()) -> tuple[Hashable, ...]:
    """Under what the answer to this record's present state is known."""
    stored = record.family.register_or_none
    own = record.family.digest, record.digest, None if stored is None else stored.digest
    return (*own, "learned", rates.states_of(teachers)) if learned else own
