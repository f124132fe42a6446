"""Pages that take a table of survivors in: first what it would change, then its good rows or nothing."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from setwright.files import FileProblems
from setwright.files.problems import refuse
from setwright.files.survivors.workbook import WORKBOOK_LIMIT
from setwright.workbench.accounts.rules import writes
from setwright.workbench.families.editor.forms import problem_words
from setwright.workbench.families.making.views import owner, sent, store
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.families.views import record_of
from setwright.workbench.incoming import NotKept, Sent
from setwright.workbench.services.imports import LARGEST_REGISTER_BYTES
from setwright.workbench.services.records import family_of
from setwright.workbench.services.survivors import change_register
from setwright.workbench.survivors.importing import import_page, looked_at, sentence_of

LARGEST = max(LARGEST_REGISTER_BYTES, WORKBOOK_LIMIT)


def _page(
    request: HttpRequest, record: FamilyRecord, told: list[str], status: int = 200, token: str = ""
) -> HttpResponse:
    context = {
        "section": "families",
        "record": record,
        "told": told,
        "token": token,
        "text": request.POST.get("text", ""),
    }
    return render(request, "survivors/import.html", context, status=422 if told else status)


@writes(family="family")
@require_http_methods(["GET", "HEAD", "POST"])
def take_in(request: HttpRequest, family: str) -> HttpResponse:
    """Asks for a table, shows what it would change, takes its good rows in."""
    record = record_of(family)
    token = request.POST.get("token") or request.GET.get("token", "")
    if not token:
        return _received(request, record) if request.method == "POST" else _page(request, record, [])
    try:
        given = store().find(token, owner(request))
    except NotKept as gone:
        return _page(request, record, [str(gone)])
    if request.method == "POST" and request.POST.get("take") == "nothing":
        store().drop(token)
        return redirect("survivors:register", family)
    return _looked_at(request, record, given, token)


def _received(request: HttpRequest, record: FamilyRecord) -> HttpResponse:
    """Set aside what was sent, and go to its preview."""
    try:
        given = sent(request, LARGEST, "a table of survivors")
        if given is None:
            raise refuse("the table", "choose a file, or paste cells from a spreadsheet")
    except FileProblems as failure:
        return _page(request, record, [problem_words(problem) for problem in failure.problems])
    token = store().keep(given, owner(request))
    return redirect(f"{reverse('survivors:import', args=[record.key])}?token={token}")


def _looked_at(request: HttpRequest, record: FamilyRecord, given: Sent, token: str) -> HttpResponse:
    """The preview; and where the person has seen it, taking the good rows in."""
    family = family_of(record)
    try:
        found = looked_at(record, given)
        page = import_page(found, family)
        stored = record.register_or_none
        revision = 0 if stored is None else stored.revision
        moved = request.method == "POST" and request.POST.get("seen") != f"{record.revision}-{revision}"
        if request.method == "POST" and not moved and page.good:
            # What others add in this moment stays: the good rows are put into the text as it then stands.
            change_register(
                record, lambda text: found.merged(text, family, checked=False), by=request.user, what=sentence_of(page)
            )
            store().drop(token)
            taken = f"taken={page.good}&left={page.counts['bad']}"
            return redirect(f"{reverse('survivors:register', args=[record.key])}?{taken}")
    except FileProblems as failure:
        told = [problem_words(problem, file=given.name) for problem in failure.problems]
        told += [f"And {failure.left_out} more."] if failure.left_out else []
        return _page(request, record, told, token=token)
    context = {
        "section": "families",
        "record": record,
        "page": page,
        "token": token,
        "seen": f"{record.revision}-{revision}",
        "moved": moved,
    }
    return render(request, "survivors/preview.html", context, status=409 if moved else 200)
