"""Pages of the intake."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from setwright.files import FileProblems, SetFile, editing
from setwright.workbench.accounts.rules import may_write, visible, writes
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.records import keeping
from setwright.workbench.records.errors import ChangedMeanwhile
from setwright.workbench.services.records import family_of, set_file_of
from setwright.workbench.sets.casefile.intake import ArrivalForm, IntakeForm, key_from
from setwright.workbench.sets.casefile.problems import tell
from setwright.workbench.sets.casefile.views import Meanwhile, seen_revision
from setwright.workbench.sets.loading import set_record, user_of
from setwright.workbench.sets.models import SetRecord

TRIES = 5
"""So often another id is tried where somebody took it at the same moment."""


@writes(somewhere=True)
@require_http_methods(["GET", "HEAD", "POST"])
def came_in(request: HttpRequest) -> HttpResponse:
    """A set came in: one short form."""
    known = visible(request, FamilyRecord.objects.all()).values_list("key", "name")
    families = [(key, name) for key, name in known if may_write(request, key)]
    asked = request.GET.get("family", "")
    form = ArrivalForm(request.POST if request.method == "POST" else None, families=families, initial={"family": asked})
    if form.is_valid():
        try:
            record = _take_in(request, form)
        except FileProblems as failure:
            tell(form, failure)
        else:
            return redirect(record)
    context = {"section": "sets", "form": form, "families": families}
    return render(request, "sets/came_in.html", context, status=422 if request.method == "POST" else 200)


def _take_in(request: HttpRequest, form: ArrivalForm) -> SetRecord:
    """The new set, under an id that nobody has; the id of a removed one stays its own, so that it can come back."""
    name = form.cleaned_data["name"]
    for _ in range(TRIES):
        key = key_from(name, lambda key: SetRecord.everything.filter(key=key).exists())
        try:
            made = keeping.create(
                "set", form.text(key), by=user_of(request), what=f"Came in: {name}", name=f"{key}.set.toml"
            )
        except FileProblems:
            if not SetRecord.everything.filter(key=key).exists():
                raise
        else:
            assert isinstance(made, SetRecord)
            return made
    raise RuntimeError(f"no free id was found for {name!r}")


@writes(of_set="key")
@require_http_methods(["GET", "HEAD", "POST"])
def intake(request: HttpRequest, key: str) -> HttpResponse:
    """The whole intake."""
    record = set_record(key)
    family = family_of(record.family)
    form = IntakeForm(request.POST if request.method == "POST" else None, family=family, file=set_file_of(record))
    meanwhile = None
    if form.is_valid():

        def change(file: SetFile) -> SetFile:
            return editing.change_intake(editing.change_set(file, family, form.top()), family, form.intake())

        try:
            keeping.edit(
                record, change, by=user_of(request), what="Intake written down", seen_revision=seen_revision(request)
            )
        except FileProblems as failure:
            tell(form, failure)
        except ChangedMeanwhile as changed:
            record = set_record(key)
            meanwhile = Meanwhile(changed.by_name, changed.what, "")
        else:
            return redirect(record)
    status = 409 if meanwhile else 422 if request.method == "POST" else 200
    context = {"section": "sets", "record": record, "form": form, "meanwhile": meanwhile}
    return render(request, "sets/intake.html", context, status=status)
