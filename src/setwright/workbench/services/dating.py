"""From a set's record to its date."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass
from datetime import date

from django.utils import timezone

from setwright.chronology import DateAnswer, Fitted, Production, Trust, date_set, fit, leave_one_out
from setwright.chronology.grid import grid_of_weeks
from setwright.chronology.model import Assumptions
from setwright.files import Register, SetFile
from setwright.files.dating import DatingCase, beliefs_of, cut_in_beliefs, dating_case, with_dated_cut_ins
from setwright.identity import identify
from setwright.identity.answer import Answer
from setwright.identity.model import Family, ImpossibleHistory, no_survivors
from setwright.identity.progress import Progress
from setwright.notation import NotationError
from setwright.workbench.services import apart
from setwright.workbench.services.cache import ByContent
from setwright.workbench.services.identity import known_identity_of, quick_answer_later
from setwright.workbench.services.records import family_of, register_of, set_file_of
from setwright.workbench.services.runs import Runs
from setwright.workbench.sets.models import SetRecord


@dataclass(frozen=True, slots=True)
class Dated:
    """A date, and what it rests on.

    production : that the set was dated in. trust : None where too few survivors are stamped to tell. identity : what
    the place in the run and the dates of changes rest on; None where the family's documents or the serial allow none.
    """

    answer: DateAnswer
    production: Production
    trust: Trust | None
    identity: Answer | None


_runs: Runs[Dated] = Runs(ByContent(size=256))
_fits: ByContent[Fitted] = ByContent(size=32)
_trusts: ByContent[tuple[Trust | None]] = ByContent(size=32)


@dataclass(frozen=True, slots=True)
class DateCase:
    """A set, what it was compared with, and what dating answers.

    quick : it rests on the quick answer of identity. by_dates : changes that documents date are held to their dates.
    """

    family: Family
    set_file: SetFile
    register: Register | None
    dated: Dated
    quick: bool
    by_dates: bool = False

    @property
    def answer(self) -> DateAnswer:
        """The date with everything that belongs to it."""
        return self.dated.answer


def date_of(record: SetRecord, patience: float | None = None) -> DateCase:
    """When the set of this record was built. Computed once for the same family, set, survivors and day.

    What the features say comes from identity's full answer where that is ready, else from the quick one. Neither knows
    the date of a change that documents date; where there is such a one, identity is asked anew, with it held to that.
    patience : seconds to wait for an answer that has to be computed; None waits as long as it takes.

    Raises StillRunning when patience ends, Stopped where somebody stopped the computation, NothingDated where neither
    the set, nor a survivor, nor a document of the family has a date.
    """
    family, set_file, register = _values_of(record)
    by_dates = any(bound.about is not None for bound in family.cut_in_bounds)
    known = known_identity_of(record)
    quick = known is None and not by_dates
    key = _key_of(record, quick)
    dated = _runs.find(key)
    if dated is None:
        identity = _quick_answer(record) if known is None else lambda: known.answer
        dated = _runs.get(key, _work_on(record, family, set_file, register, identity, by_dates), patience)
    return DateCase(family, set_file, register, dated, quick and dated.identity is not None, by_dates)


def stop(record: SetRecord) -> None:
    """Stop dating this set, if that is under way; it stays stopped until it is started again."""
    for quick in (False, True):
        _runs.stop(_key_of(record, quick))


def start_again(record: SetRecord) -> None:
    """Let a computation that was stopped be done when it is next asked for."""
    for quick in (False, True):
        _runs.start_again(_key_of(record, quick))


def stop_all() -> None:
    """Stop all computations under way, when the process is to end."""
    _runs.stop_all()


def rest(patience: float) -> None:
    """Let what was stopped come to its end, for at most so many seconds each."""
    _runs.rest(patience)


def _quick_answer(record: SetRecord) -> Callable[[], Answer | None]:
    """What gives the quick answer of identity, None where there can be none."""
    later = quick_answer_later(record)

    def answer() -> Answer | None:
        try:
            return later()
        except (ImpossibleHistory, NotationError):
            return None

    return answer


def _values_of(record: SetRecord) -> tuple[Family, SetFile, Register | None]:
    family, set_file = family_of(record.family), set_file_of(record)
    stored = record.family.register_or_none
    return family, set_file, None if stored is None else register_of(stored, set_file.set)


def _key_of(record: SetRecord, quick: bool) -> tuple[Hashable, ...]:
    """Under what the date of this record's present state is known."""
    stored = record.family.register_or_none
    survivors = None if stored is None else stored.digest
    return record.family.digest, record.digest, survivors, quick, timezone.localdate()


def _work_on(
    record: SetRecord,
    family: Family,
    set_file: SetFile,
    register: Register | None,
    identity: Callable[[], Answer | None],
    by_dates: bool,
) -> Callable[[Progress], Dated]:
    """The work of dating. What is read from the database is read now, so another thread may do the work.

    identity : gives the answer that there is. by_dates : whether documents date a change.
    """
    stored = record.family.register_or_none
    # The whole register dates the family for all sets that have no row of their own in it.
    own = None if stored is None or register is register_of(stored) else (set_file.set.id, set_file.set.serial)
    fitted_to = (record.family.digest, None if stored is None else stored.digest, own)
    today = timezone.localdate()

    def work(report: Progress) -> Dated:
        report("Reading what is dated", 0.0)
        case = dating_case(family, set_file, register)
        key, fitted = _fitted(fitted_to, case, lambda text, share: report(text, 0.5 * share))
        report("Asking what the features say", 0.5)
        seen = _identity_by_dates(family, set_file, register, fitted, report) if by_dates else None
        seen = seen or identity()
        report("Dating the set", 0.6)
        answer = _date(family, case, fitted, seen, today)
        report("Dating the survivors from each other", 0.7)
        trust = _trusts.get(key, lambda: (leave_one_out(fitted),))[0]
        return Dated(answer, fitted.production, trust, seen)

    return work


def _identity_by_dates(
    family: Family, set_file: SetFile, register: Register | None, fitted: Fitted, report: Progress
) -> Answer | None:
    """What identity says with cut-ins that are documented by a date held to it; None where that leaves no history.

    The survivors' dates say which serials the date means, the set itself takes no part in that. Sums item by item are
    quick, and dating needs no more than the place in the run.
    """
    survivors = no_survivors() if register is None else register.survivors
    bounded = with_dated_cut_ins(family, fitted)
    try:
        return apart.run(
            identify, lambda text, share: report(text, 0.5 + 0.1 * share), bounded, set_file.set, survivors, exact=True
        )
    except (ImpossibleHistory, NotationError):
        return None


def _fitted(content: Hashable, case: DatingCase, report: Progress) -> tuple[Hashable, Fitted]:
    """The family's production, dated once for all its sets, and under what it is known.

    A set makes a difference only by how long the run and the time are that it needs to be shown in.
    """
    evidence = [*(item for one in case.survivors for item in one.evidence), *case.bench.evidence]
    key = content, case.production, grid_of_weeks(case.production, evidence, Assumptions())
    made = _fits.get(key, lambda: fit(case.production, case.survivors, also=case.bench.evidence, progress=report))
    return key, made


def _date(family: Family, case: DatingCase, fitted: Fitted, identity: Answer | None, today: date) -> DateAnswer:
    return date_set(
        fitted,
        case.bench,
        family=family.id,
        serials=case.serials,
        belief=() if identity is None else beliefs_of(identity),
        cut_ins={} if identity is None else cut_in_beliefs(identity),
        today=today,
    )
