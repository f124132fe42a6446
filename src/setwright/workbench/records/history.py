"""Reading a record's history, and taking back what stands in it."""

from __future__ import annotations

from typing import TypeVar

from django.db import transaction
from django.db.models import QuerySet

from setwright.files import FileProblems
from setwright.workbench.records.errors import Refused
from setwright.workbench.records.keeping import By, bring_back, check_seen, lock, write
from setwright.workbench.records.merging import taken_back
from setwright.workbench.records.models import Document, Revision

AnyRecord = TypeVar("AnyRecord", bound=Document)

TAKEN_BACK, DONE_AGAIN = "Taken back: ", "Done again: "


def revisions_of(record: Document) -> QuerySet[Revision]:
    """Its entries, the newest first; their texts are read from the database when asked for."""
    return Revision.objects.filter(kind=record.record_kind, key=record.key).order_by("-number").defer("text_zip")


def revision_of(record: Document, number: int) -> Revision:
    """One entry. Raises Revision.DoesNotExist where there is none of that number."""
    return Revision.objects.get(kind=record.record_kind, key=record.key, number=number)


def text_at(record: Document, number: int) -> str:
    """The text as it stood with entry `number`."""
    return revision_of(record, number).text


def go_back(record: AnyRecord, number: int, *, by: By, seen_revision: int | None = None) -> AnyRecord:
    """Make the text of entry `number` the newest; everything in between stays in the history.

    Raises FileProblems where that text cannot be read any more (its family has changed since), ChangedMeanwhile as in
    `keeping.keep`.
    """
    with transaction.atomic():
        locked = lock(record)
        check_seen(locked, seen_revision)
        return write(locked, text_at(locked, number), by=by, what=f"Back to how it stood with entry {number}")


def undo(record: AnyRecord, *, by: By, number: int) -> AnyRecord:
    """Take exactly the change of entry `number` back; later changes stay.

    Raises Refused with the reason: later changes touched the same lines, or nothing of it is left, or without it the
    record could not be read; Revision.DoesNotExist where there is no such entry.
    """
    with transaction.atomic():
        locked = lock(record)
        change = revision_of(locked, number)
        if number == 1:
            raise Refused("The first entry made the record. To take that back, remove the record.")
        before = revision_of(locked, number - 1)
        if locked.is_removed and change.removed and number == locked.revision:
            return bring_back(locked, by, undoes=number)
        if locked.is_removed:
            raise Refused("The record is removed. Bring it back first.")
        if change.removed or before.removed:
            raise Refused("This entry removed the record or brought it back; to do that again, use the button for it.")
        text = taken_back(change.text, before.text, locked.text)
        if text is None:
            raise Refused(
                "Later changes touched the same lines, so this one cannot be taken back alone. "
                "Take the later ones back first, or go back to how the record stood before."
            )
        if text == locked.text:
            raise Refused("Nothing of this change is left to take back.")
        try:
            return write(locked, text, by=by, what=_taken_back(change.what), undoes=number)
        except FileProblems as failure:
            raise Refused(f"Without this change the record could not be read: {' '.join(failure.lines)}") from failure


def _taken_back(what: str) -> str:
    """What taking back an entry is called; taking that back is called as what happens then, not as a taking back of it.

    >>> _taken_back("Opened"), _taken_back(_taken_back("Opened")), _taken_back(_taken_back(_taken_back("Opened")))
    ('Taken back: Opened', 'Done again: Opened', 'Taken back: Opened')
    """
    if what.startswith(TAKEN_BACK):
        return DONE_AGAIN + what.removeprefix(TAKEN_BACK)
    return TAKEN_BACK + what.removeprefix(DONE_AGAIN)
