"""Pages of what to measure in one set."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from setwright.circuits import ChartRow
from setwright.files.circuits.answers import expectation_as_json
from setwright.workbench.accounts.rules import may_write, reads
from setwright.workbench.circuits.asking import METERS, Question, circuits_of, question_of
from setwright.workbench.circuits.computed import data_of, page_of
from setwright.workbench.circuits.pages import chart_page
from setwright.workbench.circuits.printed_views import comparison
from setwright.workbench.circuits.record_views import record_of
from setwright.workbench.circuits.words import meter_words
from setwright.workbench.services import circuits as service
from setwright.workbench.services.circuits import ChartCase
from setwright.workbench.services.records import set_file_of
from setwright.workbench.sets.loading import set_record
from setwright.workbench.sets.models import SetRecord


def asked_of(request: HttpRequest, record: SetRecord) -> Question:
    """What was asked of a set; 404 where its family has no circuit."""
    circuits = circuits_of(record.family)
    if not circuits:
        raise Http404
    query = request.POST if request.method == "POST" else request.GET
    return question_of(query.dict(), circuits, set_file_of(record).case.readings)


@reads(of_set="key")
@require_safe
def volts(request: HttpRequest, key: str) -> HttpResponse:
    """The voltage or resistance chart of a set, with what was measured beside it."""
    record = set_record(key)
    circuits = circuits_of(record.family)
    context = {"section": "sets", "record": record, "may_write": may_write(request, record.family.key)}
    if not circuits:
        return render(request, "circuits/none.html", context)
    question = asked_of(request, record)

    def show(case: ChartCase) -> HttpResponse:
        page = chart_page(case, line=question.line, meter=meter_words(question.asked.meter))
        more = {"page": page, "question": question, "circuits": circuits, "meters": METERS}
        more |= {"chart": question.circuit.chart_or_none, "reference": case.circuit.ground}
        more |= {"on_query": question.other(off=False), "off_query": question.other(off=True)}
        return render(request, "circuits/volts.html", {**context, **more}, status=400 if question.problems else 200)

    return page_of(request, record, question, show)


@reads(of_set="key")
@require_POST
def stop(request: HttpRequest, key: str) -> HttpResponse:
    """Stop computing a chart of this set."""
    record = set_record(key)
    question = asked_of(request, record)
    service.stop(question.circuit, record, question.asked)
    return redirect(f"{reverse('circuits:volts', args=[key])}{question.query}")


@reads(of_set="key")
@require_POST
def start(request: HttpRequest, key: str) -> HttpResponse:
    """Let a computation that was stopped be done after all."""
    record = set_record(key)
    question = asked_of(request, record)
    service.start_again(question.circuit, record, question.asked)
    return redirect(f"{reverse('circuits:volts', args=[key])}{question.query}")


@reads(of_set="key")
@require_safe
def printed_of_set(request: HttpRequest, key: str) -> HttpResponse:
    """The printed chart beside this set's own circuit."""
    record = set_record(key)
    question = asked_of(request, record)
    context = {"section": "sets", "circuit": question.circuit, "question": question}
    context["may_write"] = may_write(request, record.family.key)
    return comparison(request, question.circuit.chart_or_none, record, context)


@reads(of_set="key")
@require_safe
def set_json(request: HttpRequest, key: str) -> HttpResponse:
    """What to measure in a set, for programs."""
    record = set_record(key)
    if not circuits_of(record.family):
        return JsonResponse({"error": "The set's family has no circuit yet."}, status=404)
    return data_of(record, asked_of(request, record), _json)


@reads(family="family")
@require_safe
def circuit_json(request: HttpRequest, family: str, key: str) -> HttpResponse:
    """What to measure in a set as the drawing has it, for programs."""
    query = {**request.GET.dict(), "circuit": key}
    return data_of(None, question_of(query, [record_of(family, key)]), _json)


def _json(case: ChartCase) -> HttpResponse:
    rows = [ChartRow(one.comparison, "") for one in case.measured if one.comparison is not None]
    data = expectation_as_json(case.expectation, rows or None)
    data["warnings"] = [*case.notes, *data["warnings"]]
    return JsonResponse(data, json_dumps_params={"indent": 1, "ensure_ascii": False})
