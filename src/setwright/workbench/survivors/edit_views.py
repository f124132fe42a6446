"""Pages that add, change and remove one survivor."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from setwright.files import FileProblems, Problem
from setwright.identity.cautions import cautions_for
from setwright.workbench.accounts.rules import writes
from setwright.workbench.families.editor.views import seen_revision
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.families.views import record_of
from setwright.workbench.services.records import family_of
from setwright.workbench.services.survivors import rows_of
from setwright.workbench.survivors import saving
from setwright.workbench.survivors.pictures_of import (
    add_photos,
    cleaned_photos,
    drop_photo,
    kept_cell,
    shown_photos,
)
from setwright.workbench.survivors.quick import quick_cells, quick_fields
from setwright.workbench.survivors.row_form import CellsChanged, read_cells, row_form

form_methods = require_http_methods(["GET", "HEAD", "POST"])

FULL_DISK = "The disk is full, so the photo could not be kept. Make room and send it again; nothing was saved."


def _row(record: FamilyRecord, name: str) -> Mapping[str, str]:
    """The cells of a survivor; 404 where there is none of that name."""
    cells = rows_of(record).get(name)
    if cells is None:
        raise Http404
    return cells


def _revision(record: FamilyRecord) -> int:
    stored = record.register_or_none
    return 0 if stored is None else stored.revision


def _page(request: HttpRequest, template: str, record: FamilyRecord, status: int = 200, **context: Any) -> HttpResponse:
    shared = {"section": "families", "record": record, "seen": _revision(record)}
    return render(request, f"survivors/{template}.html", {**shared, **context}, status=status)


def _form_page(
    request: HttpRequest,
    record: FamilyRecord,
    name: str,
    cells: Mapping[str, str],
    problems: Sequence[Problem] = (),
    status: int = 200,
    meanwhile: bool = False,
) -> HttpResponse:
    family = family_of(record)
    form = row_form(family, cells, saving.columns_of(record), problems)
    context = {
        "form": form,
        "name": name,
        "meanwhile": meanwhile,
        "cautions": cautions_for("back off", family.kind),
        "wrong": bool(problems),
    }
    return _page(request, "change", record, status, **context)


@writes(family="family")
@form_methods
def add(request: HttpRequest, family: str) -> HttpResponse:
    """A new survivor, feature by feature."""
    record = record_of(family)
    if request.method != "POST":
        return _form_page(request, record, "", {})
    cells = read_cells(request.POST.dict(), family_of(record), saving.columns_of(record))
    try:
        saving.add(record, cells, by=request.user)
    except FileProblems as failure:
        return _form_page(request, record, "", cells, failure.problems, 422)
    return redirect("survivors:survivor", family, cells["id"])


@writes(family="family")
@form_methods
def change(request: HttpRequest, family: str, name: str) -> HttpResponse:
    """One survivor, feature by feature."""
    record = record_of(family)
    cells = _row(record, name)
    if request.method != "POST":
        return _form_page(request, record, name, cells)
    entered = read_cells(request.POST.dict(), family_of(record), saving.columns_of(record))
    try:
        saving.change(record, name, entered, seen_revision=seen_revision(request), by=request.user)
    except CellsChanged as changed:
        problems = [
            Problem("", f'column "{column}"', None, f"somebody wrote {cell or 'nothing'} here meanwhile")
            for column, cell in changed.now.items()
        ]
        return _form_page(request, record_of(family), name, entered, problems, 409, meanwhile=True)
    except FileProblems as failure:
        return _form_page(request, record, name, entered, failure.problems, 422)
    return redirect("survivors:survivor", family, entered.get("id", name))


@writes(family="family")
@form_methods
def remove(request: HttpRequest, family: str, name: str) -> HttpResponse:
    """Asks, then takes one survivor out of the register."""
    record = record_of(family)
    _row(record, name)
    if request.method == "POST":
        saving.remove(record, name, seen_revision=seen_revision(request), by=request.user)
        return redirect("survivors:register", family)
    return _page(request, "remove", record, name=name)


@writes(family="family")
@form_methods
def quick(request: HttpRequest, family: str) -> HttpResponse:
    """A survivor in a minute."""
    record = record_of(family)
    documented = family_of(record)
    told: list[str] = []
    if request.method == "POST":
        photos, told = cleaned_photos(request.FILES.getlist("photos"))
        cells = quick_cells(documented, request.POST.dict(), rows_of(record).keys(), timezone.localdate())
        try:
            if not told:
                cell = kept_cell(photos)
                saving.add(record, {**cells, **({"x-photos": cell} if cell else {})}, by=request.user)
                return redirect(f"{reverse('survivors:survivor', args=[family, cells['id']])}?added=1")
        except OSError:
            told = [FULL_DISK]
        except FileProblems as failure:
            form = row_form(documented, cells, (), failure.problems)
            told = _all_problems(form)
    return _page(
        request,
        "quick",
        record,
        422 if told else 200,
        fields=quick_fields(documented, request.POST.dict()),
        given=request.POST.dict(),
        link=request.POST.get("x-link", ""),
        lines=documented.line_ids if len(documented.lines) > 1 else (),
        told=told,
        again=bool(request.FILES),
    )


def _all_problems(form: Any) -> list[str]:
    found = [f"{field.label}: {words}" for field in form.about for words in field.problems]
    found += [f"Line: {words}" for words in form.line_problems]
    found += [
        f"{one.feature.label}: {words}" for group in form.groups for one in group.fields for words in one.problems
    ]
    return [*found, *form.problems]


@writes(family="family")
@form_methods
def photos(request: HttpRequest, family: str, name: str) -> HttpResponse:
    """The photos of one survivor: more of them, or one less."""
    record = record_of(family)
    cells = _row(record, name)
    told: list[str] = []
    if request.method == "POST":
        good, told = cleaned_photos(request.FILES.getlist("photos"))
        try:
            if good:
                add_photos(record, name, good, by=request.user)
        except OSError:
            told = [FULL_DISK]
        if not told and good:
            return redirect("survivors:survivor", family, name)
        record = record_of(family)
        cells = _row(record, name)
        told = told or ["No photo was sent; choose one or more."]
    return _page(request, "photos", record, 422 if told else 200, name=name, photos=shown_photos(cells), told=told)


@writes(family="family")
@require_POST
def remove_photo(request: HttpRequest, family: str, name: str) -> HttpResponse:
    """Take one photo out of a survivor's row."""
    record = record_of(family)
    _row(record, name)
    drop_photo(record, name, request.POST.get("photo", ""), by=request.user)
    return redirect("survivors:photos", family, name)
