"""Pages of the family editor."""

from __future__ import annotations

from collections.abc import Mapping

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from setwright.files import FamilyFile, FileProblems, read_family
from setwright.files.editing import FamilyEdit
from setwright.workbench.accounts.rules import writes
from setwright.workbench.families.editor.cells import Cell, cell_changes, edit_grid, own_states, read_cells
from setwright.workbench.families.editor.forms import TableForm, problem_words
from setwright.workbench.families.editor.pages import grid_page, overlaid
from setwright.workbench.families.editor.pasting import Pasted, overlaid_grid, read_pasted
from setwright.workbench.families.editor.saving import save
from setwright.workbench.families.editor.steps import (
    change_edits,
    consequences,
    move_edit,
    name_of,
    new_id,
    number_of,
    raw_tables,
    raw_top,
    removal_edits,
)
from setwright.workbench.families.editor.tables import TABLES, TOP, Table
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.records import history
from setwright.workbench.records.errors import ChangedMeanwhile
from setwright.workbench.records.models import Revision
from setwright.workbench.services.records import family_file_of
from setwright.workbench.site.words import count

form_methods = require_http_methods(["GET", "HEAD", "POST"])


def record_of(key: str) -> FamilyRecord:
    """The family of that id; 404 if there is none."""
    return get_object_or_404(FamilyRecord, key=key)


def seen_revision(request: HttpRequest) -> int | None:
    """The revision that the form showed; None where it does not say."""
    seen = request.POST.get("seen", "")
    return int(seen) if seen.isascii() and seen.isdigit() and len(seen) < 10 else None


@writes(family="key")
@form_methods
def grid(request: HttpRequest, key: str) -> HttpResponse:
    """The grid of features and versions, and the lists of everything else in the file."""
    record = record_of(key)
    file = family_file_of(record)
    if request.method != "POST":
        return _grid_page(request, record, file, said=_said(record, request.GET.get("saved", "")))
    cells = read_cells(file, request.POST.dict())
    changes = cell_changes(file, cells)
    if changes.problems:
        return _grid_page(request, record, file, cells, changes.problems)
    if not changes.changed:
        return redirect(_grid_address(record, request))
    try:
        kept = save(
            record,
            changes.edits(file),
            by=request.user,
            what=changes.sentence(file),
            seen_revision=seen_revision(request),
        )
    except FileProblems as failure:
        found = {cell: "" for cell in changes.changed if cell[0] in changes.new_states}
        told = [problem_words(problem, file=record.file_name) for problem in failure.problems]
        return _grid_page(request, record, file, cells, found, told)
    except ChangedMeanwhile as conflict:
        return _grid_conflict(request, conflict)
    return redirect(_grid_address(kept, request, saved=kept.revision))


def _grid_address(record: FamilyRecord, request: HttpRequest, saved: int | None = None) -> str:
    shown = request.POST.get("shown", "")
    parts = [f"saved={saved}"] if saved else []
    parts += [f"shown={shown}"] if shown.isascii() and shown.isdigit() else []
    return reverse("families:edit", args=[record.key]) + (f"?{'&'.join(parts)}" if parts else "")


def _grid_page(
    request: HttpRequest,
    record: FamilyRecord,
    file: FamilyFile,
    cells: Mapping[Cell, str] | None = None,
    problems: Mapping[Cell, str] | None = None,
    told: list[str] | None = None,
    conflict: ChangedMeanwhile | None = None,
    said: Revision | None = None,
    pasted: Pasted | None = None,
) -> HttpResponse:
    asked = (request.POST if request.method == "POST" else request.GET).get("shown", "")
    known = asked in {version.id for version in file.family.versions}
    shown = asked if known or (asked.isdecimal() and len(asked) < 10) else ""
    if pasted and pasted.cells:
        shown = next(iter(pasted.cells))[1]  # on a phone, the version that something was pasted into
    context = {
        "section": "families",
        "record": record,
        "page": grid_page(file, edit_grid(file, cells, problems), shown),
        "told": told,
        "conflict": conflict,
        "wrong": count(sum(map(bool, (problems or {}).values())), "cell"),
        "saved": said,
        "pasted": pasted,
        "pasted_cells": count(len(pasted.cells), "cell") if pasted else "",
    }
    status = 200 if cells is None or pasted else 409 if conflict else 422
    return render(request, "families/edit/grid.html", context, status=status)


def _said(record: FamilyRecord, number: str) -> Revision | None:
    """The entry that was just made, so that the page can say so."""
    if not (number.isascii() and number.isdigit() and len(number) < 10):
        return None
    return history.revisions_of(record).filter(number=int(number)).first()


def _grid_conflict(request: HttpRequest, conflict: ChangedMeanwhile) -> HttpResponse:
    """What the person changed, laid over the family as it stands now; nothing is stored before they save again."""
    record = FamilyRecord.everything.get(pk=conflict.record.pk)
    number = seen_revision(request)
    if record.is_removed or number is None:
        raise conflict
    seen_file = read_family(history.text_at(record, number).encode("utf-8"), record.file_name)
    file = family_file_of(record)
    seen, now = own_states(seen_file), own_states(file)
    sent = read_cells(seen_file, request.POST.dict())
    known = {(feature.id, version.id) for feature in file.family.features for version in file.family.versions}
    mine = {cell: state for cell, state in cell_changes(seen_file, sent).changed.items() if cell in known}
    both = overlaid(seen, now, mine)
    problems = {cell: f"{conflict.by_name} wrote {state or 'nothing'} here meanwhile" for cell, state in both.items()}
    return _grid_page(request, record, file, {**now, **mine}, problems, conflict=conflict)


@writes(family="key")
@require_POST
def paste(request: HttpRequest, key: str) -> HttpResponse:
    """Cells pasted from a spreadsheet, shown in the grid; nothing is stored before it is saved."""
    record = record_of(key)
    file = family_file_of(record)
    try:
        pasted = read_pasted(file, request.POST.get("cells", ""))
    except FileProblems as failure:
        told = [problem_words(problem) for problem in failure.problems]
        return _grid_page(request, record, file, own_states(file), told=told)
    return _grid_page(request, record, file, overlaid_grid(file, pasted), pasted=pasted)


def _table(slug: str) -> Table:
    if slug not in TABLES:
        raise Http404
    return TABLES[slug]


def _form_page(
    request: HttpRequest, record: FamilyRecord, table: Table, form: TableForm, *, name: str = "", which: str = ""
) -> HttpResponse:
    context = {
        "section": "families",
        "record": record,
        "table": table,
        "form": form,
        "name": name,
        "which": which,
        "movable": which and table.kind in ("feature", "version", "source", "serial_block"),
    }
    return render(request, "families/edit/table.html", context, status=422 if form.is_bound else 200)


@writes(family="key")
@form_methods
def add_table(request: HttpRequest, key: str, slug: str) -> HttpResponse:
    """A new feature, version, source, line, run of serials or bound."""
    record, table = record_of(key), _table(slug)
    file = family_file_of(record)
    form = TableForm(table, file, None, request.POST if request.method == "POST" else None)
    if form.is_valid():
        values = form.changes()
        which: str | int = len(raw_tables(file, table.kind))
        if table.has_ids:
            which = new_id(file, table, values)
            values = {"id": which, **{name: value for name, value in values.items() if name != "id"}}
        edits = [FamilyEdit("add", table.kind, values=values)]
        what = f"New {table.noun}: {name_of(file, table, values)}"
        try:
            kept = save(record, edits, by=request.user, what=what, seen_revision=None)
        except FileProblems as failure:
            form.show(failure, which)
        else:
            return redirect(f"{reverse('families:edit', args=[key])}?saved={kept.revision}")
    return _form_page(request, record, table, form)


@writes(family="key")
@form_methods
def change_table(request: HttpRequest, key: str, slug: str, which: str) -> HttpResponse:
    """The form of one table of the file."""
    record, table = record_of(key), _table(slug)
    file = family_file_of(record)
    number = _number(file, table, which)
    raw = raw_tables(file, table.kind)[number]
    form = TableForm(table, file, raw, request.POST if request.method == "POST" else None)
    name = name_of(file, table, raw)
    place = which if table.has_ids else number
    answer = _saved(request, record, file, form, number, place, f"{table.noun.capitalize()} {name}")
    return answer or _form_page(request, record, table, form, name=name, which=which)


@writes(family="key")
@form_methods
def change_top(request: HttpRequest, key: str) -> HttpResponse:
    """The form of what stands at the top of the file."""
    record = record_of(key)
    file = family_file_of(record)
    form = TableForm(TOP, file, raw_top(file), request.POST if request.method == "POST" else None)
    answer = _saved(request, record, file, form, 0, "", "The family's own data")
    return answer or _form_page(request, record, TOP, form, name=record.name)


def _saved(
    request: HttpRequest,
    record: FamilyRecord,
    file: FamilyFile,
    form: TableForm,
    number: int,
    place: str | int,
    subject: str,
) -> HttpResponse | None:
    """Keep a form's changes and go back to the grid; None where the form has to be shown (again)."""
    if not form.is_valid():
        return None
    changes = form.changes()
    if not changes:
        return redirect("families:edit", record.key)
    labels = [form.fields[name].label or name for name in changes]
    what = f"{subject}: changed {', '.join(f'“{label}”' for label in labels)}"
    edits = change_edits(file, form.table, number, changes)
    try:
        kept = save(record, edits, by=request.user, what=what, seen_revision=seen_revision(request))
    except FileProblems as failure:
        form.show(failure, place)
        return None
    return redirect(f"{reverse('families:edit', args=[record.key])}?saved={kept.revision}")


def _number(file: FamilyFile, table: Table, which: str) -> int:
    number = number_of(file, table, which)
    if number is None:
        raise Http404
    return number


@writes(family="key")
@form_methods
def remove_table(request: HttpRequest, key: str, slug: str, which: str) -> HttpResponse:
    """Asks, saying what goes with it; then removes one table. The history brings it back."""
    record, table = record_of(key), _table(slug)
    file = family_file_of(record)
    number = _number(file, table, which)
    name = name_of(file, table, raw_tables(file, table.kind)[number])
    told: list[str] = []
    if request.method == "POST":
        what = f"{table.noun.capitalize()} removed: {name}"
        edits = removal_edits(file, table, number)
        try:
            kept = save(record, edits, by=request.user, what=what, seen_revision=seen_revision(request))
        except FileProblems as failure:
            told = [problem_words(problem, file=record.file_name) for problem in failure.problems]
        else:
            return redirect(f"{reverse('families:edit', args=[key])}?saved={kept.revision}")
    context = {
        "section": "families",
        "record": record,
        "table": table,
        "name": name,
        "which": which,
        "consequences": consequences(file, table, number),
        "told": told,
    }
    return render(request, "families/edit/remove.html", context, status=422 if told else 200)


@writes(family="key")
@require_POST
def move_table(request: HttpRequest, key: str, slug: str, which: str) -> HttpResponse:
    """One place earlier or later."""
    record, table = record_of(key), _table(slug)
    file = family_file_of(record)
    number = _number(file, table, which)
    earlier = request.POST.get("to") == "earlier"
    step = move_edit(file, table, number, earlier)
    if step is None:
        return redirect("families:edit", key)
    name = name_of(file, table, raw_tables(file, table.kind)[number])
    what = f"{table.noun.capitalize()} {name} put one place {'earlier' if earlier else 'later'}"
    try:
        kept = save(record, [step], by=request.user, what=what, seen_revision=seen_revision(request))
    except FileProblems as failure:
        told = [problem_words(problem, file=record.file_name) for problem in failure.problems]
        return _grid_page(request, record, file, own_states(file), told=told)
    return redirect(f"{reverse('families:edit', args=[key])}?saved={kept.revision}")
