"""What the last change of a set did, told under the screen that sent it."""

from __future__ import annotations

from dataclasses import dataclass

from setwright.files import FileProblems
from setwright.identity.model import BenchSet, ImpossibleHistory
from setwright.notation import NotationError
from setwright.workbench.records import history
from setwright.workbench.records.models import Revision
from setwright.workbench.services.identity import quick_answer_at
from setwright.workbench.services.records import family_of, set_file_with
from setwright.workbench.sets.bench.what_changed import what_changed
from setwright.workbench.sets.models import SetRecord


@dataclass(frozen=True, slots=True)
class Told:
    """One change: the number of its entry, what was done, and what the answer makes of it."""

    number: int
    what: str
    sentences: tuple[str, ...]


def told_of(record: SetRecord, number: int) -> Told | None:
    """What entry `number` of the set's history did; None where there is none such.

    Where the set could not be told before or after it, only what was done is said.
    """
    entries = history.revisions_of(record).filter(number__in=(number - 1, number)).defer(None)
    by_number = {entry.number: entry for entry in entries}
    if number not in by_number:
        return None
    after, before = by_number[number], by_number.get(number - 1)
    sentences = () if before is None or after.removed or before.removed else _difference(record, before, after)
    return Told(number, after.what, sentences)


def _difference(record: SetRecord, before: Revision, after: Revision) -> tuple[str, ...]:
    family = family_of(record.family)
    try:
        was, now = (set_file_with(record, entry.text).set for entry in (before, after))
        if (was.observations, was.serial, was.line) == (now.observations, now.serial, now.line):
            return ()
        answers = quick_answer_at(record, before.text), quick_answer_at(record, after.text)
    except (FileProblems, ImpossibleHistory, NotationError):
        # One of the two cannot be told; that the change was made is true all the same.
        return ()
    return what_changed(family, *answers, feature=looked_at(was, now))


def looked_at(was: BenchSet, now: BenchSet) -> str | None:
    """The feature of which something else counts now; None where that is none.

    >>> from setwright.identity import Observation
    >>> looked_at(BenchSet("b", "f"), BenchSet("b", "f", observations=(Observation("stamp", "A"),)))
    'stamp'
    """
    old, new = was.latest, now.latest
    return next((feature for feature in [*new, *old] if old.get(feature) != new.get(feature)), None)
