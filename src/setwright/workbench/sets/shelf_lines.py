"""The one line that is kept of every set's answer: the shelf and the set's page read it instead of computing."""

from __future__ import annotations

import logging
from collections.abc import Sequence

from django.db import OperationalError

from setwright.files import FileProblems
from setwright.identity.model import ImpossibleHistory
from setwright.notation import NotationError
from setwright.workbench.services.identity import (
    IdentityCase,
    begin,
    found_already,
    quick_identity_of,
    ready_identity_of,
    state_of,
)
from setwright.workbench.sets.looks import next_looks
from setwright.workbench.sets.models import SetRecord, ShelfLine
from setwright.workbench.sets.words import CLEAR, capital, verdict_label
from setwright.workbench.site.words import count, listing, percent

NO_LOOK = "No further look would tell much."

AT_ONCE = 6
"""So many lines the shelf has made anew in the background at a time; more would only keep each other waiting."""

log = logging.getLogger(__name__)


def stored_line(record: SetRecord) -> ShelfLine | None:
    """The line kept of this set, whether or not it is out of date. May cost a query."""
    return getattr(record, "shelf_line", None)


def is_present(record: SetRecord, line: ShelfLine | None) -> bool:
    """Whether the line tells of the set, family and survivors as they are now."""
    return line is not None and line.state == state_of(record)


def line_of(record: SetRecord) -> ShelfLine:
    """The line of this set as it is now; where the one kept is out of date, from the answer that is soonest there."""
    line = stored_line(record)
    if line is not None and is_present(record, line) and not line.quick:
        return line
    better = found_already(record)
    if line is not None and is_present(record, line) and (better is None or better.quick):
        return line
    try:
        return keep_line(record, better or quick_identity_of(record))
    except ImpossibleHistory as error:
        return _keep(_without_answer(record, str(error), "Mend the family's documents."))
    except NotationError as error:
        return _keep(_without_answer(record, str(error), "Mend the set's serial."))
    except FileProblems as failure:
        return _keep(_without_answer(record, " ".join(str(p) for p in failure.problems), "Mend the set's file."))


def lines_of(records: Sequence[SetRecord]) -> tuple[dict[int, ShelfLine], bool]:
    """The lines of several sets by record, and whether some are still being made. Computes nothing here and now.

    A line that is out of date is given all the same; a few are made anew in the background, for the next time.
    """
    lines, waiting = {}, []
    for record in records:
        line = stored_line(record)
        if not is_present(record, line):
            found = found_already(record)
            if found is None:
                waiting.append(record.pk)
            else:
                line = keep_line(record, found)
        if line is not None:
            lines[record.pk] = line
    if waiting:
        whole = SetRecord.objects.select_related("family__register").filter(pk__in=waiting[:AT_ONCE])
        for record in whole:
            _begin(record)
    return lines, bool(waiting)


def _begin(record: SetRecord) -> None:
    try:
        begin(record, quick=True)
    except FileProblems as failure:
        _keep(_without_answer(record, " ".join(str(p) for p in failure.problems), "Mend the set's file."))


def keep_line(record: SetRecord, case: IdentityCase) -> ShelfLine:
    """Keep what this answer says of the set."""
    line = stored_line(record)
    if line is not None and is_present(record, line) and line.quick <= case.quick:
        return line
    leading = case.answer.verdict[0]
    return _keep(
        ShelfLine(
            record=record,
            state=state_of(record),
            verdict=capital(verdict_label(case.family, leading))[:1000],
            probability=leading.probability,
            step=_step(case)[:1000],
            quick=case.quick,
        )
    )


def line_ready(record: SetRecord) -> IdentityCase:
    """The soonest answer to this set, with its line kept. Raises as `quick_identity_of`."""
    case = ready_identity_of(record)
    keep_line(record, case)
    return case


def sentence_of(line: ShelfLine) -> str:
    """What the set most probably is, as one says it."""
    if line.probability is None:
        return f"Not worked out: {line.verdict}"
    if line.probability < CLEAR:
        return f"No version stands out. The first among them: {line.verdict} ({percent(line.probability)})."
    return f"Most probably {_inside(line.verdict)} ({percent(line.probability)})."


def _inside(label: str) -> str:
    """A label in the middle of a sentence: "between …" small, names as they are."""
    return label[0].lower() + label[1:] if label.startswith("Between ") else label


def _without_answer(record: SetRecord, reason: str, step: str) -> ShelfLine:
    return ShelfLine(record=record, state=state_of(record), verdict=reason[:1000], step=step, quick=False)


def _keep(line: ShelfLine) -> ShelfLine:
    """Stored if it can be: what is only a copy for quick reading must not keep anybody from reading."""
    try:
        ShelfLine.objects.bulk_create(
            [line],
            update_conflicts=True,
            unique_fields=["record"],
            update_fields=["state", "verdict", "probability", "step", "quick"],
        )
    except OperationalError as error:
        log.warning("What was found out about %s could not be kept for the shelf: %s", line.record.key, error)
    return line


def _step(case: IdentityCase) -> str:
    """The look that tells most for its time."""
    batches = next_looks(case.family, case.answer, case.bench_set.open_to).batches
    if not batches:
        return NO_LOOK
    batch = max(batches, key=lambda batch: batch.bits_per_minute)
    labels = [look.label for look in batch.looks]
    some = [*labels[:3], count(len(labels) - 3, "more look")] if len(labels) > 4 else labels
    return f"{batch.heading} ({batch.time}): {listing(some)}."
