"""Pages of sets."""

from __future__ import annotations

from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from setwright.files import answer_as_json
from setwright.identity.model import ImpossibleHistory
from setwright.workbench.services.identity import identity_of
from setwright.workbench.sets.identity_page import identity_page
from setwright.workbench.sets.models import SetRecord
from setwright.workbench.sets.shelf import shelf_row
from setwright.workbench.sets.tables import TABLES, TITLES
from setwright.workbench.site.csv_answer import csv_response


def _records() -> QuerySet[SetRecord]:
    """Sets with their family and its register. The texts stay in the database until something is computed anew."""
    records = SetRecord.objects.select_related("family__register")
    return records.defer("text", "family__text", "family__register__text")


def _record(key: str) -> SetRecord:
    return get_object_or_404(_records(), key=key)


@require_safe
def shelf(request: HttpRequest) -> HttpResponse:
    """All sets, each with what it most probably is."""
    rows = [shelf_row(record) for record in _records()]
    return render(request, "sets/shelf.html", {"section": "sets", "rows": rows})


@require_safe
def identity(request: HttpRequest, key: str) -> HttpResponse:
    """What one set is."""
    record = _record(key)
    try:
        page = identity_page(identity_of(record))
    except ImpossibleHistory as error:
        context = {"section": "sets", "record": record, "reason": str(error)}
        return render(request, "sets/impossible.html", context, status=409)
    context = {"section": "sets", "record": record, "page": page, "tables": TITLES.items()}
    return render(request, "sets/identity.html", context)


@require_safe
def identity_json(request: HttpRequest, key: str) -> HttpResponse:
    """The same answer for programs."""
    try:
        answer = identity_of(_record(key)).answer
    except ImpossibleHistory as error:
        return JsonResponse({"error": str(error)}, status=409)
    return JsonResponse(answer_as_json(answer), json_dumps_params={"indent": 1, "ensure_ascii": False})


@require_safe
def table(request: HttpRequest, key: str, name: str) -> HttpResponse:
    """One table of the answer as CSV."""
    if name not in TABLES:
        raise Http404
    record = _record(key)
    try:
        answer = identity_of(record).answer
    except ImpossibleHistory as error:
        return HttpResponse(f"{error}\n", content_type="text/plain; charset=utf-8", status=409)
    return csv_response(TABLES[name](answer), f"{record.key}-{name}.csv")


@require_safe
def set_file(request: HttpRequest, key: str) -> HttpResponse:
    """The set file as it was taken in."""
    return HttpResponse(_record(key).text, content_type="text/plain; charset=utf-8")
