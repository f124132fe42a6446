"""Why a change of a record was not made."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from setwright.workbench.records.models import Document


class ChangedMeanwhile(Exception):
    """The record moved on since the person saw it; nothing was written.

    record : as it stands now. by_name, at, what : who made the newest entry, when, and what it says.
    theirs : the text as it stands now; is_removed of the record tells whether it was removed.
    """

    def __init__(self, record: Document, by_name: str, at: datetime, what: str) -> None:
        self.record = record
        self.by_name = by_name
        self.at = at
        self.what = what
        self.theirs = record.text
        super().__init__(f"{by_name} changed {record} meanwhile: {what}")


class Refused(Exception):
    """A removal, a return or an undoing that cannot be; the message is a plain sentence that says why."""
