"""What the survivors of other families teach of the rates of alteration, computed once for each state of a family."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

from django.db.models import Q

from setwright.identity import NothingLearnt, rates_of
from setwright.identity.answer import RateEvidence
from setwright.identity.identify import MOST_WEIGHED
from setwright.identity.other_families import too_many
from setwright.identity.progress import Progress, part_of
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.services import apart
from setwright.workbench.services.cache import ByContent
from setwright.workbench.services.records import family_of, register_of


@dataclass(frozen=True, slots=True)
class Lesson:
    """What one family teaches others; where that is nothing, `why_not` is a sentence that says why."""

    family: str
    evidence: RateEvidence | None
    why_not: str = ""


_lessons: ByContent[Lesson] = ByContent(size=256)


def teachers_of(family: FamilyRecord, readable: Q) -> tuple[FamilyRecord, ...]:
    """All other families that have survivors, by key; with their texts where these are still to be read.

    readable : which of them whoever asks may look at; the answer names those that taught.
    """
    others = FamilyRecord.objects.select_related("register").exclude(pk=family.pk)
    others = others.filter(readable, register__count__gt=0).order_by("key")
    found = list(others.defer("text", "register__text"))
    unread = [record.pk for record in found if not _is_large(record) and _lessons.find(_state(record)) is None]
    # Lessons are learnt in another thread, which is to leave the database alone.
    read = {record.pk: record for record in others.filter(pk__in=unread)} if unread else {}
    return tuple(read.get(record.pk, record) for record in found)


def states_of(teachers: Sequence[FamilyRecord]) -> Hashable:
    """Under what their lessons together are known."""
    return tuple(_state(record) for record in teachers)


def lessons_of(teachers: Sequence[FamilyRecord], progress: Progress) -> tuple[Lesson, ...]:
    """What they teach, one after another. progress : told of it; what it raises ends the work and is not kept."""
    lessons = []
    for number, record in enumerate(teachers):
        share = part_of(progress, number / len(teachers), (number + 1) / len(teachers))
        lessons.append(_lesson_of(record, share))
    return tuple(lessons)


def _lesson_of(record: FamilyRecord, progress: Progress | None) -> Lesson:
    if _is_large(record):
        return Lesson(record.name, None, too_many(record.name, record.register.count))
    return _lessons.get(_state(record), lambda: _learn(record, progress))


def _learn(record: FamilyRecord, progress: Progress | None) -> Lesson:
    def report(_: str, share: float) -> None:
        if progress is not None:
            progress(f"learning rates of alteration from {record.name}", share)

    report("", 0.0)
    try:
        evidence = apart.run(rates_of, report, family_of(record), register_of(record.register).survivors)
    except NothingLearnt as nothing:
        return Lesson(record.name, None, str(nothing))
    return Lesson(record.name, evidence)


def _is_large(record: FamilyRecord) -> bool:
    return record.register.count > MOST_WEIGHED


def _state(record: FamilyRecord) -> Hashable:
    return record.digest, record.register.digest
