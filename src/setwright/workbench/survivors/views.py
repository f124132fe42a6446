"""Pages of survivors."""

from __future__ import annotations

import csv
from collections.abc import Iterator

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from setwright.files.survivors.spreadsheet import harmless
from setwright.files.survivors.workbook_out import workbook_of
from setwright.workbench.accounts.rules import may_write, reads
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.families.views import record_of
from setwright.workbench.services.survivors import FamilyCase, family_case, rows_of
from setwright.workbench.survivors.pages import register_page, survivor_page
from setwright.workbench.survivors.pictures_of import shown_photos
from setwright.workbench.survivors.reading import index_of
from setwright.workbench.survivors.saving import columns_of
from setwright.workbench.survivors.table import Query, read_query, selected

ROWS_A_PAGE = 100
WORKBOOK = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def _asked(request: HttpRequest, record: FamilyRecord, case: FamilyCase) -> tuple[Query, list[int]]:
    """The query of an address, and the rows that it asks for in their order."""
    query = read_query(request.GET.dict(), case.family)
    rows = rows_of(record) if query.words else {}
    return query, [int(number) for number in selected(case.family, case.survivors, query, rows)]


@reads(family="family")
@require_safe
def register(request: HttpRequest, family: str) -> HttpResponse:
    """The survivors of a family, sorted and narrowed as asked, a hundred to a page."""
    record = record_of(family)
    case = family_case(record)
    query, numbers = _asked(request, record, case)
    sheet = Paginator(numbers, ROWS_A_PAGE).get_page(request.GET.get("page"))
    context = {
        "section": "families",
        "record": record,
        "case": case,
        "page": sheet,
        "table": register_page(case, query, list(sheet.object_list)),
        "query": f"{query.parameters()}&" if query.parameters() else "",
        "found": len(numbers),
        "taken": _figure(request, "taken"),
        "left": _figure(request, "left"),
        "may_write": may_write(request, record.key),
    }
    return render(request, "survivors/register.html", context)


def _figure(request: HttpRequest, name: str) -> int:
    given = request.GET.get(name, "")
    return int(given) if given.isascii() and given.isdigit() and len(given) < 10 else 0


@reads(family="family")
@require_safe
def survivor(request: HttpRequest, family: str, name: str) -> HttpResponse:
    """One survivor: what was seen, where it stands, how it compares with the documents."""
    record = record_of(family)
    case = family_case(record)
    index = index_of(case.survivors, name)
    if index is None:
        raise Http404
    cells = rows_of(record).get(name, {})
    context = {
        "section": "families",
        "record": record,
        "page": survivor_page(case, index, cells),
        "photos": shown_photos(cells),
        "added": "added" in request.GET,
        "may_write": may_write(request, record.key),
    }
    return render(request, "survivors/survivor.html", context)


@reads(family="family")
@require_safe
def register_file(request: HttpRequest, family: str) -> HttpResponse:
    """The survivors file as it stands."""
    stored = record_of(family).register_or_none
    if stored is None:
        raise Http404
    return HttpResponse(stored.text, content_type="text/plain; charset=utf-8")


def _export_rows(request: HttpRequest, record: FamilyRecord) -> Iterator[tuple[str, ...]]:
    """The header and the rows asked for, with every cell as it stands in the register."""
    case = family_case(record)
    _, numbers = _asked(request, record, case)
    columns, rows = columns_of(record), rows_of(record)
    yield columns
    for number in numbers:
        cells = rows.get(case.survivors.ids[number], {})
        yield tuple(cells.get(column, "") for column in columns)


@reads(family="family")
@require_safe
def export_csv(request: HttpRequest, family: str) -> HttpResponse:
    """The rows asked for as CSV; what a spreadsheet would run as a formula is marked as text."""
    record = record_of(family)
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    response.headers["Content-Disposition"] = f'attachment; filename="{record.key}-survivors.csv"'
    writer = csv.writer(response)
    writer.writerows([harmless(cell) for cell in row] for row in _export_rows(request, record))
    return response


@reads(family="family")
@require_safe
def export_workbook(request: HttpRequest, family: str) -> HttpResponse:
    """The rows asked for as a workbook (XLSX), every cell as text."""
    record = record_of(family)
    response = HttpResponse(workbook_of(_export_rows(request, record)), content_type=WORKBOOK)
    response.headers["Content-Disposition"] = f'attachment; filename="{record.key}-survivors.xlsx"'
    return response
