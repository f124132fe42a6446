"""Pages of survivors."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from setwright.workbench.accounts.rules import reads
from setwright.workbench.families.views import record_of
from setwright.workbench.services.survivors import family_case
from setwright.workbench.survivors.pages import register_rows, survivor_page
from setwright.workbench.survivors.reading import index_of

ROWS_A_PAGE = 100


@reads(family="family")
@require_safe
def register(request: HttpRequest, family: str) -> HttpResponse:
    """All survivors of a family, a hundred to a page."""
    record = record_of(family)
    case = family_case(record)
    page = Paginator(range(len(case.survivors)), ROWS_A_PAGE).get_page(request.GET.get("page"))
    rows = register_rows(case, list(page.object_list))
    context = {"section": "families", "record": record, "case": case, "rows": rows, "paper": page}
    context["several_lines"] = len(case.family.lines) > 1
    return render(request, "survivors/register.html", context)


@reads(family="family")
@require_safe
def survivor(request: HttpRequest, family: str, name: str) -> HttpResponse:
    """One survivor: what was seen, where it stands, how it compares with the documents."""
    record = record_of(family)
    case = family_case(record)
    index = index_of(case.survivors, name)
    if index is None:
        raise Http404
    context = {"section": "families", "record": record, "page": survivor_page(case, index)}
    return render(request, "survivors/survivor.html", context)


@reads(family="family")
@require_safe
def register_file(request: HttpRequest, family: str) -> HttpResponse:
    """The survivors file as it was taken in."""
    stored = record_of(family).register_or_none
    if stored is None:
        raise Http404
    return HttpResponse(stored.text, content_type="text/plain; charset=utf-8")
