"""The forms of a case. Adding goes behind what others added meanwhile; changing tells what changed meanwhile."""

from __future__ import annotations

from dataclasses import dataclass

from django.core.paginator import Page, Paginator
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseNotAllowed
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from setwright.files import FileProblems, SetFile, editing
from setwright.workbench.accounts.rules import may_write, reads, writes
from setwright.workbench.records import keeping
from setwright.workbench.records.errors import ChangedMeanwhile
from setwright.workbench.services.records import family_of, set_file_of
from setwright.workbench.sets.bench.screens import access_of
from setwright.workbench.sets.casefile.dates import date_evidence_sentence
from setwright.workbench.sets.casefile.forms import EntryForm
from setwright.workbench.sets.casefile.kinds import OBSERVATIONS, ListKind
from setwright.workbench.sets.casefile.problems import tell
from setwright.workbench.sets.loading import set_record, user_of
from setwright.workbench.sets.models import SetRecord

ON_A_PAGE = 100


@dataclass(frozen=True, slots=True)
class EntryRow:
    """One entry as the list shows it."""

    number: int
    words: str
    more: str


@dataclass(frozen=True, slots=True)
class Meanwhile:
    """What somebody else did while a form stood open. now : how the entry reads now."""

    by: str
    what: str
    now: str


def rows_of(kind: ListKind, file: SetFile, record: SetRecord) -> list[EntryRow]:
    """All entries in words, in the order of the page."""
    family = family_of(record.family)
    rows = [EntryRow(number, *kind.words(entry, family)) for number, entry in enumerate(kind.entries(file))]
    return rows[::-1] if kind.newest_first else rows


def _page(request: HttpRequest, rows: list[EntryRow]) -> Page[EntryRow]:
    return Paginator(rows, ON_A_PAGE).get_page(request.GET.get("page"))


@reads(of_set="key")
@require_http_methods(["GET", "HEAD", "POST"])
def entries(request: HttpRequest, key: str, kind: ListKind) -> HttpResponse:
    """A list, with the form for one more entry."""
    record = set_record(key)
    family, by = family_of(record.family), user_of(request)
    form = None
    if kind.adds and may_write(request, record.family.key):
        form = kind.form(request.POST if request.method == "POST" else None, family=family, by=by.get_username())
    if form is not None and form.is_valid():
        table = form.table()

        def change(file: SetFile) -> SetFile:
            return editing.add_to_set(kind.table, file, family, table)

        try:
            keeping.edit(record, change, by=by, what=f"New {kind.one}: {_sentence(table)}")
        except FileProblems as failure:
            tell(form, failure)
        else:
            return redirect(kind.name(), record.key)
    elif form is None and request.method == "POST":
        return HttpResponseNotAllowed(["GET", "HEAD"])
    context = {**_context(kind, record), "form": form, "may_write": may_write(request, record.family.key)}
    context["page"] = _page(request, rows_of(kind, set_file_of(record), record))
    return render(request, "sets/entries.html", context, status=422 if request.method == "POST" else 200)


def _context(kind: ListKind, record: SetRecord) -> dict[str, object]:
    names = {"list_name": kind.name(), "change_name": kind.name("entry"), "remove_name": kind.name("remove")}
    serves = None if kind.serves is None else (reverse(kind.serves[0], args=[record.key]), kind.serves[1])
    return {"section": "sets", "record": record, "kind": kind, "serves": serves, **names}


@writes(of_set="key")
@require_http_methods(["GET", "HEAD", "POST"])
def entry(request: HttpRequest, key: str, number: int, kind: ListKind) -> HttpResponse:
    """The form of one entry."""
    record = set_record(key)
    family, by = family_of(record.family), user_of(request)
    there = kind.entries(set_file_of(record))
    if number >= len(there):
        raise Http404
    data = request.POST if request.method == "POST" else None
    form = kind.form(data, family=family, entry=there[number], by=by.get_username())
    meanwhile = None
    if data is not None and form.is_valid():
        table = form.table()

        def change(file: SetFile) -> SetFile:
            return editing.change_in_set(kind.table, file, family, number, table)

        try:
            keeping.edit(record, change, by=by, what=_changed(kind, form, table), seen_revision=seen_revision(request))
        except FileProblems as failure:
            tell(form, failure)
        except ChangedMeanwhile as changed:
            record = set_record(key)
            meanwhile = _meanwhile(kind, record, number, changed)
        else:
            return redirect(_back(request, kind, record))
    words = kind.words(there[number], family)
    context = {**_context(kind, record), "number": number, "form": form, "words": words[0]}
    context |= {"meanwhile": meanwhile, "next": _next(request)}
    status = 409 if meanwhile else 422 if data is not None else 200
    return render(request, "sets/entry.html", context, status=status)


@writes(of_set="key")
@require_POST
def remove(request: HttpRequest, key: str, number: int, kind: ListKind) -> HttpResponse:
    """Take one entry out; the set's history keeps it."""
    record = set_record(key)
    family = family_of(record.family)
    there = kind.entries(set_file_of(record))
    if number >= len(there):
        raise Http404
    words = kind.words(there[number], family)[0]

    def change(file: SetFile) -> SetFile:
        return editing.remove_from_set(kind.table, file, family, number)

    # Numbers move when others take entries out, so only what was seen is taken out.
    what = f"Taken out: {kind.one} “{_short(words)}”"
    keeping.edit(record, change, by=user_of(request), what=what, seen_revision=seen_revision(request))
    return redirect(_back(request, kind, record))


def seen_revision(request: HttpRequest) -> int | None:
    """The revision that the form showed. A form without one would overwrite unseen, so it counts as an old one."""
    text = request.POST.get("seen", "")
    return int(text) if text.isdecimal() and len(text) < 9 else 0


def _next(request: HttpRequest) -> str:
    """The screen at the bench from which the form was opened; "" where it was opened on the list."""
    given = request.POST.get("next") or request.GET.get("next", "")
    return given if access_of(given) else ""


def _back(request: HttpRequest, kind: ListKind, record: SetRecord) -> str:
    screen = _next(request) if kind is OBSERVATIONS else ""
    return reverse("sets:bench-at", args=[record.key, screen]) if screen else reverse(kind.name(), args=[record.key])


def _meanwhile(kind: ListKind, record: SetRecord, number: int, changed: ChangedMeanwhile) -> Meanwhile:
    there = kind.entries(set_file_of(record))
    now = kind.words(there[number], family_of(record.family))[0] if number < len(there) else ""
    return Meanwhile(changed.by_name, changed.what, now)


def _changed(kind: ListKind, form: EntryForm, table: dict[str, object]) -> str:
    if kind is OBSERVATIONS:
        entry = (form.entry[0], "marked")
        return f"Changed: {_short(kind.words(entry, form.family)[0])} now {_sentence(table)}"
    return f"Changed {kind.one}: {_sentence(table)}"


def _sentence(table: dict[str, object]) -> str:
    """The first thing that an entry says, for the history."""
    if "kind" in table:
        return date_evidence_sentence(table)
    order = ("text", "what", "point", "state")
    first = next((str(table[name]) for name in order if table.get(name)), "")
    if "quantity" in table:
        first = f"{first}, {table['value']:g} {table['unit']}"
    if table.get("cannot_tell"):
        first = "cannot tell"
    return _short(first or "looks serviced")


def _short(text: str) -> str:
    line = " ".join(text.split())
    return line if len(line) <= 100 else f"{line[:99]}…"
