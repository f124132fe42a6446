"""What the pages of a record's history show."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.conf import settings
from django.core.paginator import Page, Paginator

from setwright.workbench.accounts.roles import LOCAL_NAME
from setwright.workbench.records.diff import Diff, diff_of
from setwright.workbench.records.history import revision_of, revisions_of
from setwright.workbench.records.models import Document, Revision

ENTRIES_A_PAGE = 30


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of a history. can_undo : it can be asked for; whether later changes allow it shows then."""

    number: int
    at: datetime
    by_name: str
    what: str
    removed: bool
    undoes: int | None
    is_newest: bool
    can_undo: bool

    @property
    def when(self) -> str:
        """The time of the machine that keeps the records."""
        return self.at.astimezone().strftime("%Y-%m-%d %H:%M")


def entry_of(revision: Revision, record: Document) -> Entry:
    """An entry as pages show it."""
    return Entry(
        number=revision.number,
        at=revision.at,
        by_name=shown_name(revision.by_name),
        what=revision.what,
        removed=revision.removed,
        undoes=revision.undoes,
        is_newest=revision.number == record.revision,
        can_undo=revision.number > 1 and not revision.removed and not record.is_removed,
    )


def shown_name(name: str) -> str:
    """Who did something. On a shared site "you" is no name for what was done before it was shared.

    The name itself stays as it was entered.
    """
    return "the owner of this machine" if settings.SHARED and name == LOCAL_NAME else name


def entries_page(record: Document, number: str | None) -> tuple[Page[Revision], list[Entry]]:
    """One page of the history, the newest entry first."""
    page = Paginator(revisions_of(record), ENTRIES_A_PAGE).get_page(number)
    return page, [entry_of(revision, record) for revision in page]


def change_of(record: Document, number: int) -> Diff:
    """What one entry changed; for the first one everything came in. Raises Revision.DoesNotExist."""
    before = revision_of(record, number - 1).text if number > 1 else ""
    return diff_of(before, revision_of(record, number).text)
