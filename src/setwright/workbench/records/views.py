"""Pages of what was done to a record, of removing it, and of what was removed."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse_lazy
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from setwright.files import FileProblems
from setwright.workbench.accounts.rules import may_read, may_write, reads, writes
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.records import history, keeping
from setwright.workbench.records.errors import Refused
from setwright.workbench.records.kinds import Kind, all_kinds, kind_named, kind_of
from setwright.workbench.records.models import Document, Revision
from setwright.workbench.records.pages import change_of, entries_page, entry_of
from setwright.workbench.sets.models import SetRecord
from setwright.workbench.sets.words import capital
from setwright.workbench.survivors.models import SurvivorRegister

SHELVES = {
    "sets": ("Sets", reverse_lazy("sets:shelf")),
    "families": ("Families", reverse_lazy("families:list")),
    "literature": ("Literature", reverse_lazy("literature:shelf")),
}
"""Where a record of a section stands: what the shelf is called, and its address."""

Model = type[SetRecord] | type[FamilyRecord] | type[SurvivorRegister]


@reads(of_set="key")
@require_http_methods(["GET", "HEAD", "POST"])
def set_history(request: HttpRequest, key: str) -> HttpResponse:
    """Who changed a set, when and how."""
    return history_page(request, _any(SetRecord, key))


@reads(family="key")
@require_http_methods(["GET", "HEAD", "POST"])
def family_history(request: HttpRequest, key: str) -> HttpResponse:
    """Who changed a family, when and how."""
    return history_page(request, _any(FamilyRecord, key))


@reads(family="key")
@require_http_methods(["GET", "HEAD", "POST"])
def survivors_history(request: HttpRequest, key: str) -> HttpResponse:
    """Who changed a family's survivors, when and how."""
    return history_page(request, _any(SurvivorRegister, key))


@reads(of_set="key")
@require_safe
def set_entry(request: HttpRequest, key: str, number: int) -> HttpResponse:
    """What one entry changed in a set."""
    return entry_page(request, _any(SetRecord, key), number)


@reads(family="key")
@require_safe
def family_entry(request: HttpRequest, key: str, number: int) -> HttpResponse:
    """What one entry changed in a family."""
    return entry_page(request, _any(FamilyRecord, key), number)


@reads(family="key")
@require_safe
def survivors_entry(request: HttpRequest, key: str, number: int) -> HttpResponse:
    """What one entry changed in a family's survivors."""
    return entry_page(request, _any(SurvivorRegister, key), number)


@writes(of_set="key")
@require_http_methods(["GET", "HEAD", "POST"])
def remove_set(request: HttpRequest, key: str) -> HttpResponse:
    """Asks, then removes a set."""
    return remove_page(request, get_object_or_404(SetRecord, key=key))


@writes(family="key")
@require_http_methods(["GET", "HEAD", "POST"])
def remove_family(request: HttpRequest, key: str) -> HttpResponse:
    """Asks, then removes a family."""
    return remove_page(request, get_object_or_404(FamilyRecord, key=key))


@writes(family="key")
@require_http_methods(["GET", "HEAD", "POST"])
def remove_survivors(request: HttpRequest, key: str) -> HttpResponse:
    """Asks, then removes a register of survivors."""
    return remove_page(request, get_object_or_404(SurvivorRegister, key=key))


@reads()
@require_safe
def removed(request: HttpRequest) -> HttpResponse:
    """Everything that was removed and can be brought back."""
    return _removed_page(request)


@writes(somewhere=True)
@require_POST
def bring_back(request: HttpRequest, kind: str, key: str) -> HttpResponse:
    """Brings a removed record back."""
    try:
        spec = kind_named(kind)
    except KeyError as error:
        raise Http404 from error
    record = get_object_or_404(_with_parent(spec), key=key)
    family = spec.family_key(record)
    if family is not None and not may_read(request, family):
        raise Http404
    if not may_write(request, family):
        raise PermissionDenied
    try:
        keeping.bring_back(record, request.user)
    except (Refused, FileProblems) as error:
        return _removed_page(request, str(error), status=409)
    return redirect(record.get_absolute_url())


def _any(model: Model, key: str) -> Any:
    """The record of that key, removed or not; 404 if there never was one."""
    return get_object_or_404(_with_parent(kind_named(model.record_kind)), key=key)


def _with_parent(kind: Kind[Any, Any]) -> Any:
    """All records of a kind with what they are read against. The texts stay in the database until they are read."""
    records = kind.model.everything.defer("text")
    if kind.parent_field:
        return records.select_related(kind.parent_field).defer("text", f"{kind.parent_field}__text")
    return records


def _words(record: Document) -> dict[str, Any]:
    """What every page here needs to speak of a record."""
    kind = kind_of(record)
    section = "sets" if kind.name == "set" else "families" if kind.family_key(record) else kind.name
    return {
        "section": section,
        "record": record,
        "noun": kind.noun,
        "title": f"{kind.noun} {record}" if kind.name == "set" else str(record),
        # Ours begin with a capital where they stand alone; names that people gave stay as they wrote them.
        "called": capital(str(record)) if kind.name in ("survivors", "chart") else str(record),
        "shelf": SHELVES[section],
        "history_address": kind.history_address(record),
    }


def history_page(request: HttpRequest, record: Document) -> HttpResponse:
    """A record's history. A form sends `undo` or `back`, each with the number of an entry, and `seen`.

    Other kinds of records show theirs by it too, behind a rule that asks for a contributor on sending.
    """
    if request.method == "POST":
        return _changed(request, record)
    return _history(request, record)


def _history(request: HttpRequest, record: Document, told: str = "", status: int = 200) -> HttpResponse:
    page, entries = entries_page(record, request.GET.get("page"))
    context = {
        **_words(record),
        "entries": entries,
        "paper": page,
        "told": told,
        "writes": may_write(request, kind_of(record).family_key(record)),
    }
    return render(request, "records/history.html", context, status=status)


def _changed(request: HttpRequest, record: Document) -> HttpResponse:
    """Takes an entry back, or goes back to how the record stood."""
    undo, back = _number(request, "undo"), _number(request, "back")
    try:
        if undo is not None:
            history.undo(record, by=request.user, number=undo)
        elif back is not None:
            history.go_back(record, back, by=request.user, seen_revision=_number(request, "seen"))
        else:
            raise Refused("It was not said which entry to take back, or which to go back to. Use the buttons.")
    except Refused as error:
        return _history(request, record, str(error), status=409)
    except FileProblems as failure:
        told = f"As it stood then it can no longer be read. {' '.join(failure.lines)}"
        return _history(request, record, told, status=409)
    except Revision.DoesNotExist as error:
        raise Http404 from error
    return redirect(kind_of(record).history_address(record))


def _number(request: HttpRequest, name: str) -> int | None:
    """A number that a form sent; None for anything else."""
    text = request.POST.get(name, "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else None


def entry_page(request: HttpRequest, record: Document, number: int) -> HttpResponse:
    """One entry: what came in and what went out."""
    try:
        revision = history.revision_of(record, number)
        diff = change_of(record, number)
    except Revision.DoesNotExist as error:
        raise Http404 from error
    context = {
        **_words(record),
        "entry": entry_of(revision, record),
        "diff": diff,
        "writes": may_write(request, kind_of(record).family_key(record)),
    }
    return render(request, "records/entry.html", context)


def remove_page(request: HttpRequest, record: Document) -> HttpResponse:
    """Asks whether to remove a record, and does it."""
    kind = kind_of(record)
    told = kind.why_kept(record)
    context = {**_words(record), "in_the_way": kind.in_the_way(record) if told else (), "goes": kind.what_goes(record)}
    if request.method == "POST":
        try:
            keeping.remove(record, request.user, seen_revision=_number(request, "seen"))
        except Refused as error:
            return render(request, "records/remove.html", {**context, "told": str(error)}, status=409)
        return redirect("records:removed")
    return render(request, "records/remove.html", {**context, "told": told})


def _removed_page(request: HttpRequest, told: str = "", status: int = 200) -> HttpResponse:
    rows = []
    for kind in all_kinds():
        for record in _with_parent(kind).filter(removed_at__isnull=False).order_by("-removed_at"):
            family = kind.family_key(record)
            if family is None or may_read(request, family):
                rows.append({**_words(record), "kind": kind.name, "writes": may_write(request, family)})
    return render(request, "records/removed.html", {"rows": rows, "told": told}, status=status)
