"""The screens at the bench: seeing, opening further, taking back."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from setwright.files import FileProblems, SetFile, editing
from setwright.identity.model import Family, Feature, ImpossibleHistory
from setwright.notation import NotationError
from setwright.workbench.accounts.rules import writes
from setwright.workbench.photos.cleaning import PhotoRefused
from setwright.workbench.records import history, keeping
from setwright.workbench.records.errors import Refused
from setwright.workbench.records.models import Revision
from setwright.workbench.services import identity as identity_service
from setwright.workbench.services.records import bench_set_of, family_of
from setwright.workbench.sets.bench import photos
from setwright.workbench.sets.bench.forms import ObservationForm
from setwright.workbench.sets.bench.pages import BenchPage, Failed, verdict_of
from setwright.workbench.sets.bench.screens import OPENED, access_of, first_access, screen_of, slug_of
from setwright.workbench.sets.bench.told import told_of
from setwright.workbench.sets.bench.words import feature_label, written_words
from setwright.workbench.sets.loading import set_record, user_of
from setwright.workbench.sets.models import SetRecord
from setwright.workbench.sets.shelf_lines import line_ready

TOLD = "told"
"""In the address of a screen: the number of the change that it tells of."""


@writes(of_set="key")
@require_safe
def bench(request: HttpRequest, key: str, slug: str | None = None) -> HttpResponse:
    """The screen of one access; without one, the screen where to begin."""
    record = set_record(key)
    access = None if slug is None else access_of(slug)
    if slug is not None and access is None:
        raise Http404
    response = _screen(request, record, access)
    if not request.htmx:  # type: ignore[attr-defined]
        # Where script runs, the verdict itself asks for the full answer once the hand rests.
        identity_service.begin(record)
    return response


def _screen(
    request: HttpRequest, record: SetRecord, access: str | None, failed: Failed | None = None, status: int = 200
) -> HttpResponse:
    context: dict[str, object] = {"section": "sets", "record": record}
    try:
        case = line_ready(record)
    except (ImpossibleHistory, NotationError) as error:
        return render(request, "sets/impossible.html", {**context, "reason": str(error)}, status=409)
    access = access or first_access(case.family, case.bench_set, case.answer)
    screen = screen_of(case.family, case.bench_set, case.answer, access, failed.feature if failed else None)
    number = request.GET.get(TOLD, "")
    told = told_of(record, int(number)) if number.isdecimal() and len(number) < 9 else None
    page = BenchPage(screen, verdict_of(case), case.quick, told, failed)
    return render(request, "sets/bench.html", {**context, "page": page}, status=status)


@writes(of_set="key")
@require_POST
def see(request: HttpRequest, key: str, feature: str) -> HttpResponse:
    """Keep an observation, with the photos that came with it."""
    record = set_record(key)
    family = family_of(record.family)
    found = next((item for item in family.features if item.id == feature), None)
    if found is None:
        raise Http404
    form = ObservationForm(request.POST)
    if not form.is_valid():
        problems = tuple(str(error) for errors in form.errors.values() for error in errors)
        return _not_kept(request, record, found, Failed(feature, problems, "", form))
    identity_service.abandon(record)
    try:
        kept = _keep_seen(request, record, family, found, form)
    except FileProblems as failure:
        suggestion = next((problem.suggestion for problem in failure.problems if problem.suggestion), "")
        problems = tuple(problem.message for problem in failure.problems)
        return _not_kept(request, record, found, Failed(feature, problems, suggestion, form))
    except PhotoRefused as refused:
        return _not_kept(request, record, found, Failed(feature, (refused.message,), "", form))
    return _told(kept, found.access, kept.revision)


def _keep_seen(
    request: HttpRequest, record: SetRecord, family: Family, feature: Feature, form: ObservationForm
) -> SetRecord:
    by = user_of(request)
    table = form.table(feature, by.get_username())
    pictures = photos.keep(
        photos.cleaned_of(request.FILES.getlist("photos")), feature.id, by.get_username()
    )  # on the disk before the set's file names them

    def change(file: SetFile) -> SetFile:
        return photos.with_photos(editing.add_observation(file, family, table), family, pictures)

    return keeping.edit(record, change, by=by, what=f"{feature_label(feature)} seen: {written_words(table)}")


def _not_kept(request: HttpRequest, record: SetRecord, feature: Feature, failed: Failed) -> HttpResponse:
    return _screen(request, record, feature.access, failed, status=422)


def _told(record: SetRecord, access: str, number: int) -> HttpResponseRedirect:
    """On to the screen of this access, which tells what the change did."""
    return HttpResponseRedirect(f"{reverse('sets:bench-at', args=[record.key, slug_of(access)])}?{TOLD}={number}")


@writes(of_set="key")
@require_POST
def opened(request: HttpRequest, key: str) -> HttpResponse:
    """Write down how far the set is open now."""
    record = set_record(key)
    access = access_of(request.POST.get("access", ""))
    if access is None:
        raise Http404
    family = family_of(record.family)
    value = None if access == "outside" else access
    kept = keeping.edit(
        record,
        lambda file: editing.change_set(file, family, {"open_to": value}),
        by=user_of(request),
        what=f"{OPENED[access]}",
    )
    return redirect("sets:bench-at", kept.key, slug_of(access))


@writes(of_set="key")
@require_POST
def take_back(request: HttpRequest, key: str, number: int) -> HttpResponse:
    """Take one change back, and return to the screen it was made on."""
    record = set_record(key)
    slug = request.POST.get("access", "")
    access = access_of(slug) or bench_set_of(record).open_to
    identity_service.abandon(record)
    try:
        kept = history.undo(record, by=user_of(request), number=number)
    except Refused as refused:
        context = {"section": "sets", "record": record, "reason": str(refused)}
        return render(request, "sets/refused.html", context, status=409)
    except Revision.DoesNotExist as error:
        raise Http404 from error
    return _told(kept, access, kept.revision)


@writes(of_set="key")
@require_safe
def verdict(request: HttpRequest, key: str) -> HttpResponse:
    """The verdict alone, for a screen that waits for the full answer; it is begun here."""
    record = set_record(key)
    try:
        case = line_ready(record)
    except (ImpossibleHistory, NotationError) as error:
        return HttpResponse(str(error), content_type="text/plain; charset=utf-8", status=409)
    if case.quick:
        identity_service.begin(record)
    context = {"record": record, "verdict": verdict_of(case), "quick": case.quick}
    response = render(request, "sets/verdict_now.html", context)
    response.headers["Cache-Control"] = "no-store"
    return response
