"""Pages of a printed chart: taken in, set beside the circuit, its text, its history."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from setwright.circuits import NoConvergence, UnsoundCircuit
from setwright.files import FileProblems
from setwright.workbench.accounts.rules import may_write, reads, writes
from setwright.workbench.circuits.computed import reasons_of, waiting
from setwright.workbench.circuits.models import PrintedChart
from setwright.workbench.circuits.printed import printed_page
from setwright.workbench.circuits.record_views import SECTION, record_of
from setwright.workbench.circuits.sent import mistakes_of, sent_text
from setwright.workbench.records import keeping
from setwright.workbench.records import views as records
from setwright.workbench.services.circuits import printed_rows
from setwright.workbench.services.runs import StillRunning
from setwright.workbench.sets.casefile.views import seen_revision
from setwright.workbench.sets.computed import progress_of
from setwright.workbench.sets.models import SetRecord


@reads(family="family")
@require_safe
def printed(request: HttpRequest, family: str, key: str) -> HttpResponse:
    """A printed chart beside the drawing, row by row, and why a row disagrees."""
    record = record_of(family, key)
    context = SECTION | {"circuit": record, "may_write": may_write(request, family)}
    return comparison(request, record.chart_or_none, None, context)


def comparison(
    request: HttpRequest, chart: PrintedChart | None, set_record: SetRecord | None, context: dict[str, object]
) -> HttpResponse:
    """The page of a printed chart beside a drawing, or beside a set's own circuit."""
    context = {**context, "chart": chart, "record": set_record}
    if chart is None:
        return render(request, "circuits/printed.html", context)
    try:
        rows = printed_rows(chart, set_record, settings.PATIENCE_SECONDS)
    except StillRunning as still:
        return waiting(request, {**context, "run": progress_of(still.run)})
    except (UnsoundCircuit, NoConvergence) as error:
        return render(request, "circuits/wrong.html", {**context, "reasons": reasons_of(error)}, status=409)
    return render(request, "circuits/printed.html", {**context, "page": printed_page(rows, chart.count)})


@writes(family="family")
@require_http_methods(["GET", "HEAD", "POST"])
def edit(request: HttpRequest, family: str, key: str) -> HttpResponse:
    """A printed chart from its file or its text, new or in place of what was there."""
    record = record_of(family, key)
    chart = record.chart_or_none
    context = SECTION | {"circuit": record, "chart": chart, "seen": chart.revision if chart is not None else ""}
    if request.method != "POST":
        return render(request, "circuits/printed_text.html", {**context, "text": "" if chart is None else chart.text})
    text, by = "", request.user
    try:
        text, name = sent_text(request, f"{record.key}.chart.csv")
        if chart is None:
            keeping.create("chart", text, by=by, what=f"Taken in from {name}", name=name, parent=record)
        else:
            chart.circuit = record
            keeping.keep(chart, text, by=by, what="Printed chart changed", seen_revision=seen_revision(request))
    except FileProblems as failure:
        told = {"text": text, "mistakes": mistakes_of(failure, text), "seen": request.POST.get("seen", "")}
        return render(request, "circuits/printed_text.html", {**context, **told}, status=422)
    return redirect("circuits:printed", family, key)


def _chart(family: str, key: str) -> PrintedChart:
    found = PrintedChart.objects.select_related("circuit__family")
    return get_object_or_404(found, key=key, circuit__family__key=family, circuit__removed_at__isnull=True)


def _removed_too(family: str, key: str) -> PrintedChart:
    found = PrintedChart.everything.select_related("circuit__family")
    return get_object_or_404(found, key=key, circuit__family__key=family)


@writes(family="family")
@require_http_methods(["GET", "HEAD", "POST"])
def remove(request: HttpRequest, family: str, key: str) -> HttpResponse:
    """Asks, then removes a printed chart."""
    return records.remove_page(request, _chart(family, key))


@reads(family="family")
@require_safe
def file(request: HttpRequest, family: str, key: str) -> HttpResponse:
    """The chart's file."""
    return HttpResponse(_chart(family, key).text, content_type="text/plain; charset=utf-8")


@reads(family="family")
@require_http_methods(["GET", "HEAD", "POST"])
def history(request: HttpRequest, family: str, key: str) -> HttpResponse:
    """Who changed a printed chart, when and how."""
    return records.history_page(request, _removed_too(family, key))


@reads(family="family")
@require_safe
def history_entry(request: HttpRequest, family: str, key: str, number: int) -> HttpResponse:
    """What one entry changed in a printed chart."""
    return records.entry_page(request, _removed_too(family, key), number)
