"""Pages of the literature shelf and of one document."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from setwright.files import FileProblems
from setwright.workbench.accounts.rules import may_write, reads, roles_for, writes
from setwright.workbench.literature import changes
from setwright.workbench.literature.forms import KIND_CHOICES, EntryForm
from setwright.workbench.literature.models import LiteratureRecord
from setwright.workbench.literature.pages import entry_page
from setwright.workbench.literature.shelf import ORDERS, OWNED, asked_for, documents, makers
from setwright.workbench.records import views as records

ROWS_A_PAGE = 100
SECTION = {"section": "literature"}


def record_of(key: str) -> LiteratureRecord:
    """The document of that id; 404 if there is none."""
    return get_object_or_404(LiteratureRecord, key=key)


def removed_too(key: str) -> LiteratureRecord:
    """The document of that id, removed or not; 404 if there never was one."""
    return get_object_or_404(LiteratureRecord.everything, key=key)


@reads()
@require_safe
def shelf(request: HttpRequest) -> HttpResponse:
    """The shelf: every document, or those asked for."""
    asked = asked_for(request.GET)
    paper = Paginator(documents(asked), ROWS_A_PAGE).get_page(request.GET.get("page"))
    context = SECTION | {"asked": asked, "paper": paper, "makers": makers(), "kinds": KIND_CHOICES, "owned": OWNED}
    context |= {"orders": [(order, words) for order, (words, _) in ORDERS.items()], "writes": may_write(request)}
    return render(request, "literature/shelf.html", context)


@reads()
@require_safe
def entry(request: HttpRequest, key: str) -> HttpResponse:
    """One document: what it says, where a copy is, its scans, and what cites it."""
    return shown_entry(request, record_of(key))


def shown_entry(request: HttpRequest, record: LiteratureRecord, told: tuple[str, ...] = ()) -> HttpResponse:
    """A document's page; with what was not done, where something was not."""
    page = entry_page(record, roles_for(request))
    context = SECTION | {"record": record, "page": page, "writes": may_write(request), "told": told}
    return render(request, "literature/entry.html", context, status=422 if told else 200)


@writes()
@require_http_methods(["GET", "HEAD", "POST"])
def add(request: HttpRequest) -> HttpResponse:
    """A new document."""
    form = EntryForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        try:
            return redirect(changes.add(form.keys(), by=request.user))
        except FileProblems as failure:
            return _form(request, form, problems=failure.lines)
    return _form(request, form)


@writes()
@require_http_methods(["GET", "HEAD", "POST"])
def edit(request: HttpRequest, key: str) -> HttpResponse:
    """What the shelf says of a document, to be changed."""
    record = record_of(key)
    if request.method != "POST":
        present = changes.entry_of(record)
        return _form(
            request, EntryForm(initial={name: getattr(present, name) for name in EntryForm.base_fields}), record
        )
    form = EntryForm(request.POST)
    if form.is_valid():
        try:
            return redirect(changes.change(record, form.keys(), by=request.user, seen_revision=seen_in(request)))
        except FileProblems as failure:
            return _form(request, form, record, failure.lines)
    return _form(request, form, record)


def _form(
    request: HttpRequest, form: EntryForm, record: LiteratureRecord | None = None, problems: tuple[str, ...] = ()
) -> HttpResponse:
    wrong = bool(problems) or bool(form.errors)
    seen = request.POST.get("seen") or (record.revision if record is not None else "")
    context = SECTION | {"form": form, "record": record, "problems": problems, "wrong": wrong, "seen": seen}
    return render(request, "literature/form.html", context, status=422 if wrong else 200)


def seen_in(request: HttpRequest) -> int | None:
    """The revision that a form showed."""
    text = request.POST.get("seen", "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else None


@reads()
@require_safe
def file(request: HttpRequest, key: str) -> HttpResponse:
    """The document's file."""
    return HttpResponse(record_of(key).text, content_type="text/plain; charset=utf-8")


@writes()
@require_http_methods(["GET", "HEAD", "POST"])
def remove(request: HttpRequest, key: str) -> HttpResponse:
    """Asks, then removes a document."""
    return records.remove_page(request, record_of(key))


@reads()
@require_http_methods(["GET", "HEAD", "POST"])
def history(request: HttpRequest, key: str) -> HttpResponse:
    """Who changed a document, when and how."""
    return records.history_page(request, removed_too(key))


@reads()
@require_safe
def history_entry(request: HttpRequest, key: str, number: int) -> HttpResponse:
    """What one entry changed in a document."""
    return records.entry_page(request, removed_too(key), number)
