"""Pages of a set's date."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from setwright.files import date_answer_as_json
from setwright.workbench.accounts.rules import may_write, reads
from setwright.workbench.dating.computed import data_of, page_of
from setwright.workbench.dating.page import date_page
from setwright.workbench.dating.pictures import PICTURES, sheet_of_date
from setwright.workbench.dating.tables import TABLES, TITLES
from setwright.workbench.pictures.views import KINDS, saved
from setwright.workbench.services import dating as dating_service
from setwright.workbench.services.dating import DateCase
from setwright.workbench.sets.casefile.kinds import DATES
from setwright.workbench.sets.casefile.views import rows_of
from setwright.workbench.sets.loading import set_record
from setwright.workbench.site.csv_answer import csv_response


@reads(of_set="key")
@require_safe
def date(request: HttpRequest, key: str) -> HttpResponse:
    """When one set was built."""
    record = set_record(key)

    def show(case: DateCase) -> HttpResponse:
        context = {
            "section": "sets",
            "record": record,
            "page": date_page(case),
            "quick": case.quick,
            "by_dates": case.by_dates,
            "evidence": rows_of(DATES, case.set_file, record),
            "may_write": may_write(request, record.family.key),
            "tables": TITLES.items(),
        }
        return render(request, "dating/date.html", context)

    return page_of(request, record, show)


@reads(of_set="key")
@require_POST
def stop(request: HttpRequest, key: str) -> HttpResponse:
    """Stop dating this set."""
    dating_service.stop(set_record(key))
    return redirect("dating:date", key)


@reads(of_set="key")
@require_POST
def start(request: HttpRequest, key: str) -> HttpResponse:
    """Let dating that was stopped be done after all."""
    dating_service.start_again(set_record(key))
    return redirect("dating:date", key)


@reads(of_set="key")
@require_safe
def date_json(request: HttpRequest, key: str) -> HttpResponse:
    """The same answer for programs."""

    def show(case: DateCase) -> HttpResponse:
        data = date_answer_as_json(case.answer, case.dated.trust, drawing=request.GET.get("drawing") == "1")
        return JsonResponse(data, json_dumps_params={"indent": 1, "ensure_ascii": False})

    return data_of(request, set_record(key), show, json=True)


@reads(of_set="key")
@require_safe
def table(request: HttpRequest, key: str, name: str) -> HttpResponse:
    """One table of the answer as CSV."""
    if name not in TABLES:
        raise Http404
    record = set_record(key)

    def show(case: DateCase) -> HttpResponse:
        return csv_response(TABLES[name](case), f"{record.key}-date-{name}.csv")

    return data_of(request, record, show, json=False)


@reads(of_set="key")
@require_safe
def picture(request: HttpRequest, key: str, name: str, kind: str) -> HttpResponse:
    """A picture of the answer."""
    if kind not in KINDS or name not in PICTURES:
        raise Http404
    record = set_record(key)

    def show(case: DateCase) -> HttpResponse:
        sheet = sheet_of_date(case, str(record), name, request.GET.get("line") or None, timezone.localdate())
        return saved(sheet, kind, f"{record.key}-date-{name}")

    return data_of(request, record, show, json=False)
