"""What a request gets while an answer is computed, when it was stopped, and when there can be none."""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.db.models import Q
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render

from setwright.identity.model import ImpossibleHistory
from setwright.notation import NotationError
from setwright.workbench.accounts.rules import visible_where
from setwright.workbench.services.identity import IdentityCase, identity_of
from setwright.workbench.services.runs import Run, StillRunning, Stopped
from setwright.workbench.sets.models import SetRecord

REFRESH_SECONDS = 2
PROGRAMS_PATIENCE = 30.0
"""Seconds that a request for data waits for its answer: programs do not look at progress."""

LEARNED_QUERY = "?learned=1"
"""Asks for the answer with learnt rates of alteration, on every page of a set."""

STOPPED = "The computation was stopped; start it again on the page of the set."


def learned_asked(request: HttpRequest) -> bool:
    """Whether the answer with learnt rates of alteration is asked for."""
    return request.GET.get("learned") == "1"


def taught_by(request: HttpRequest) -> Q | None:
    """Which other families may teach rates of alteration here: those that whoever asks may look at.

    None where the usual rates are asked for.
    """
    return visible_where(request) if learned_asked(request) else None


def query_for(learned: bool) -> str:
    """What goes behind the address of a set's page so that it shows the same answer."""
    return LEARNED_QUERY if learned else ""


def page_of(request: HttpRequest, record: SetRecord, show: Callable[[IdentityCase], HttpResponse]) -> HttpResponse:
    """A page of this set's answer; while that is computed a page that shows how far it is, and loads itself anew."""
    learned = learned_asked(request)
    context = {"section": "sets", "record": record, "query": query_for(learned)}
    try:
        case = identity_of(record, settings.PATIENCE_SECONDS, taught_by=taught_by(request))
    except StillRunning as still:
        response = render(request, "sets/progress.html", {**context, **progress_of(still.run)}, status=202)
        response.headers["Refresh"] = str(REFRESH_SECONDS)
        response.headers["Cache-Control"] = "no-store"
        return response
    except Stopped:
        return render(request, "sets/stopped.html", context)
    except (ImpossibleHistory, NotationError) as error:
        return render(request, "sets/impossible.html", {**context, "reason": str(error)}, status=409)
    return show(case)


def data_of(
    request: HttpRequest, record: SetRecord, show: Callable[[IdentityCase], HttpResponse], *, json: bool
) -> HttpResponse:
    """Data of this set's answer, once it is there. json : say as JSON why there is none, otherwise as text."""
    patience = max(PROGRAMS_PATIENCE, settings.PATIENCE_SECONDS)
    try:
        return show(identity_of(record, patience, taught_by=taught_by(request)))
    except StillRunning as still:
        share = f"{100 * still.run.share:.0f} %"
        response = refusal(f"The answer is still being computed ({share} done); ask again.", 503, json)
        response.headers["Retry-After"] = "10"
        return response
    except Stopped:
        return refusal(STOPPED, 409, json)
    except (ImpossibleHistory, NotationError) as error:
        return refusal(str(error), 409, json)


def refusal(message: str, status: int, json: bool) -> HttpResponse:
    """Why there is no data, for a program or as text."""
    if json:
        return JsonResponse({"error": message}, status=status)
    return HttpResponse(f"{message}\n", content_type="text/plain; charset=utf-8", status=status)


def progress_of(run: Run) -> dict[str, object]:
    """How far a computation is, for the page that shows it."""
    return {
        "doing": run.text or "waiting for its turn",
        "share": round(100 * run.share),
        "seconds": round(run.seconds),
    }
