"""What a request gets while a date is computed, when that was stopped, and when nothing has a date."""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from setwright.chronology import NothingDated
from setwright.workbench.accounts.rules import may_write
from setwright.workbench.services.dating import DateCase, date_of
from setwright.workbench.services.runs import StillRunning, Stopped
from setwright.workbench.sets.computed import PROGRAMS_PATIENCE, REFRESH_SECONDS, progress_of, refusal
from setwright.workbench.sets.models import SetRecord

STOPPED = "Dating was stopped; start it again on the page of the set's date."
NOTHING = (
    "Nothing has a date yet: neither this set, nor a survivor, nor the family file, which may say when it was "
    "introduced and discontinued."
)


def page_of(request: HttpRequest, record: SetRecord, show: Callable[[DateCase], HttpResponse]) -> HttpResponse:
    """A page of this set's date; while that is computed a page that shows how far it is, and loads itself anew."""
    context = {"section": "sets", "record": record, "may_write": may_write(request, record.family.key)}
    try:
        return show(date_of(record, settings.PATIENCE_SECONDS))
    except StillRunning as still:
        response = render(request, "dating/waiting.html", {**context, "run": progress_of(still.run)}, status=202)
        response.headers["Refresh"] = str(REFRESH_SECONDS)
        response.headers["Cache-Control"] = "no-store"
        return response
    except Stopped:
        return render(request, "dating/waiting.html", context)
    except NothingDated:
        return render(request, "dating/nothing.html", {**context, "reason": NOTHING})


def data_of(
    request: HttpRequest, record: SetRecord, show: Callable[[DateCase], HttpResponse], *, json: bool
) -> HttpResponse:
    """Data of this set's date, once it is there. json : say as JSON why there is none, otherwise as text."""
    try:
        return show(date_of(record, max(PROGRAMS_PATIENCE, settings.PATIENCE_SECONDS)))
    except StillRunning as still:
        response = refusal(f"The date is still being computed ({still.run.share:.0%} done); ask again.", 503, json)
        response.headers["Retry-After"] = "10"
        return response
    except Stopped:
        return refusal(STOPPED, 409, json)
    except NothingDated:
        return refusal(NOTHING, 409, json)
