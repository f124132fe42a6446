"""Pages of families and versions."""

from __future__ import annotations

from django.db.models import Prefetch, QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from setwright.workbench.accounts.rules import may_write, reads, visible
from setwright.workbench.circuits.asking import circuits_of
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.families.pages import family_page, version_page
from setwright.workbench.families.tables import feature_table
from setwright.workbench.literature.citing import cited_in
from setwright.workbench.services.records import family_of
from setwright.workbench.services.survivors import family_case
from setwright.workbench.sets.models import SetRecord
from setwright.workbench.site.csv_answer import csv_response


def record_of(key: str) -> FamilyRecord:
    """The family of that id, with its register; 404 if there is none."""
    return get_object_or_404(_records(), key=key)


def _records() -> QuerySet[FamilyRecord]:
    """Families with their registers. The texts stay in the database until something is read anew."""
    return FamilyRecord.objects.select_related("register").defer("text", "register__text")


def _with_sets(records: QuerySet[FamilyRecord]) -> QuerySet[FamilyRecord]:
    """The same with their sets, for pages that name these."""
    return records.prefetch_related(Prefetch("sets", SetRecord.objects.defer("text")))


@reads()
@require_safe
def families(request: HttpRequest) -> HttpResponse:
    """All families."""
    records = _with_sets(visible(request, _records()))
    context = {"section": "families", "records": records, "may_write": may_write(request)}
    return render(request, "families/list.html", context)


@reads(family="key")
@require_safe
def family(request: HttpRequest, key: str) -> HttpResponse:
    """One family: lines, versions, features, sources, survivors."""
    record = get_object_or_404(_with_sets(_records()), key=key)
    case = family_case(record)
    context = {"section": "families", "record": record, "page": family_page(case)}
    context["cited"] = cited_in(record, [source.id for source in case.family.sources]).values()
    context["circuits"] = circuits_of(record)
    context["may_write"] = may_write(request, key)
    return render(request, "families/family.html", context)


@reads(family="key")
@require_safe
def version(request: HttpRequest, key: str, version: str) -> HttpResponse:
    """One documented version."""
    record = record_of(key)
    case = family_case(record)
    found = next((item for item in case.family.versions if item.id == version), None)
    if found is None:
        raise Http404
    context = {"section": "families", "record": record, "page": version_page(case, found)}
    context["cited"] = cited_in(record, found.sources).values()
    context["may_write"] = may_write(request, key)
    return render(request, "families/version.html", context)


@reads(family="key")
@require_safe
def family_file(request: HttpRequest, key: str) -> HttpResponse:
    """The family file as it was taken in."""
    return HttpResponse(record_of(key).text, content_type="text/plain; charset=utf-8")


@reads(family="key")
@require_safe
def features_table(request: HttpRequest, key: str) -> HttpResponse:
    """Features against versions as CSV."""
    record = record_of(key)
    return csv_response(feature_table(family_of(record)), f"{record.key}-features.csv")
