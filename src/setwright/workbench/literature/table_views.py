"""The shelf as a table: out as CSV, in with a look at what it would do first."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from setwright.files import FileProblems
from setwright.files.literature import ShelfIndex, read_index, write_index
from setwright.files.literature.index import COLUMNS, INDEX_LIMIT
from setwright.workbench.accounts.rules import reads, writes
from setwright.workbench.literature import table
from setwright.workbench.literature.changes import entry_of
from setwright.workbench.literature.shelf import asked_for, documents
from setwright.workbench.literature.views import SECTION

MOST_SHOWN = 100
"""So many rows of each sort are listed in a preview."""


@reads()
@require_safe
def shelf_csv(request: HttpRequest) -> HttpResponse:
    """The documents asked for, as CSV."""
    entries = (entry_of(record) for record in documents(asked_for(request.GET)).defer(None))
    # The mark makes spreadsheets read it as UTF-8.
    response = HttpResponse("\ufeff" + write_index(entries), content_type="text/csv; charset=utf-8")
    response.headers["Content-Disposition"] = 'attachment; filename="literature.csv"'
    return response


@writes()
@require_http_methods(["GET", "HEAD", "POST"])
def take_in(request: HttpRequest) -> HttpResponse:
    """Shows what a table would do; takes its good rows once that was seen."""
    if request.method != "POST":
        return _page(request)
    try:
        index = _given(request)
    except FileProblems as failure:
        return _page(request, told=failure.lines)
    if index is None:
        return _page(request, told=("Choose a file or paste the rows first.",))
    if "take" in request.POST:
        table.take(index, by=request.user)
        return redirect("literature:shelf")
    shown = table.preview(index)
    return _page(request, index=index, preview=shown)


def _given(request: HttpRequest) -> ShelfIndex | None:
    """The table that was sent: a file, or its text, pasted or as the preview carried it."""
    upload = request.FILES.get("table")
    if upload is not None:
        return read_index(upload.read(INDEX_LIMIT + 1), upload.name or "table.csv")
    text = request.POST.get("text", "")
    return read_index(text.encode("utf-8"), request.POST.get("name") or "the pasted rows") if text.strip() else None


def _page(
    request: HttpRequest,
    *,
    told: tuple[str, ...] = (),
    index: ShelfIndex | None = None,
    preview: table.Preview | None = None,
) -> HttpResponse:
    context: dict[str, object] = {
        **SECTION,
        "told": told,
        "index": index,
        "preview": preview,
        "columns": COLUMNS,
        "most": MOST_SHOWN,
        "first_rows": f":{MOST_SHOWN}",
    }
    if index is not None and preview is not None:
        context["sorts"] = [(state, preview.of(state)) for state in ("new", "changed", "same")]
        context["text"] = write_index((row.entry for row in preview.rows), index.columns)
    return render(request, "literature/table.html", context, status=422 if told else 200)
