"""Tells the second of two people, so that no view need think of it."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from setwright.workbench.records.diff import diff_of
from setwright.workbench.records.errors import ChangedMeanwhile
from setwright.workbench.records.history import text_at
from setwright.workbench.records.kinds import kind_of
from setwright.workbench.records.models import Revision
from setwright.workbench.records.pages import entry_of

NOT_SHOWN = frozenset({"csrfmiddlewaretoken", "seen"})


class Conflicts:
    """Answers ChangedMeanwhile, wherever a view lets it go: what was changed by whom, and all that was entered."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Nothing happens unless the view raises it."""
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        """The page that tells of it."""
        if not isinstance(error, ChangedMeanwhile):
            return None
        record = error.record
        newest = Revision.objects.get(kind=record.record_kind, key=record.key, number=record.revision)
        context = {
            "record": record,
            "entry": entry_of(newest, record),
            "history_address": kind_of(record).history_address(record),
            "diff": diff_of(_seen_text(request, error), error.theirs),
            "entered": [
                (name, value)
                for name, values in request.POST.lists()
                for value in values
                if name not in NOT_SHOWN and value.strip()
            ],
            "files": [file.name for _, files in request.FILES.lists() for file in files],
        }
        return render(request, "records/changed_meanwhile.html", context, status=409)


def _seen_text(request: HttpRequest, error: ChangedMeanwhile) -> str:
    """The text that the person's form showed; the present one where the form did not say."""
    seen = request.POST.get("seen", "")
    if not (seen.isascii() and seen.isdigit() and len(seen) < 10):
        return error.theirs
    try:
        return text_at(error.record, int(seen))
    except Revision.DoesNotExist:
        return error.theirs
