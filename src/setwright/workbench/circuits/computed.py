"""What a request gets while a chart is computed, when that was stopped, and when it cannot be computed."""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from setwright.circuits import NoConvergence, UnsoundCircuit
from setwright.workbench.accounts.rules import may_write
from setwright.workbench.circuits.asking import Question
from setwright.workbench.services.circuits import ChartCase, chart_of
from setwright.workbench.services.runs import StillRunning, Stopped
from setwright.workbench.sets.computed import PROGRAMS_PATIENCE, REFRESH_SECONDS, progress_of, refusal
from setwright.workbench.sets.models import SetRecord

STOPPED = "The computation was stopped; start it again on the page of the set's voltages."


def reasons_of(error: UnsoundCircuit | NoConvergence) -> tuple[str, ...]:
    """Why a circuit cannot be computed, in sentences."""
    if isinstance(error, UnsoundCircuit):
        return tuple(fault.message for fault in error.faults)
    return (error.message,)


def page_of(
    request: HttpRequest, record: SetRecord, question: Question, show: Callable[[ChartCase], HttpResponse]
) -> HttpResponse:
    """A page of a set's chart; while that is computed a page that shows how far it is, and loads itself anew.

    What a form sent waits until the chart is there: a page that loads itself anew would lose it.
    """
    context = {"section": "sets", "record": record, "question": question}
    context["may_write"] = may_write(request, record.family.key)
    patience = None if request.method == "POST" else settings.PATIENCE_SECONDS
    try:
        return show(chart_of(question.circuit, record, question.asked, patience))
    except StillRunning as still:
        return waiting(request, {**context, "run": progress_of(still.run)})
    except Stopped:
        return render(request, "circuits/waiting.html", context)
    except (UnsoundCircuit, NoConvergence) as error:
        return render(request, "circuits/wrong.html", {**context, "reasons": reasons_of(error)}, status=409)


def waiting(request: HttpRequest, context: dict[str, object]) -> HttpResponse:
    """The page that shows how far a computation is."""
    response = render(request, "circuits/waiting.html", context, status=202)
    response.headers["Refresh"] = str(REFRESH_SECONDS)
    response.headers["Cache-Control"] = "no-store"
    return response


def data_of(record: SetRecord | None, question: Question, show: Callable[[ChartCase], HttpResponse]) -> HttpResponse:
    """The chart for programs, or as JSON why there is none. record : None asks for the drawing alone."""
    if question.problems:
        return refusal(" ".join(question.problems), 400, True)
    try:
        return show(
            chart_of(question.circuit, record, question.asked, max(PROGRAMS_PATIENCE, settings.PATIENCE_SECONDS))
        )
    except StillRunning as still:
        response = refusal(f"The chart is still being computed ({still.run.share:.0%} done); ask again.", 503, True)
        response.headers["Retry-After"] = "10"
        return response
    except Stopped:
        return refusal(STOPPED, 409, True)
    except (UnsoundCircuit, NoConvergence) as error:
        return refusal(" ".join(reasons_of(error)), 409, True)
