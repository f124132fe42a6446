"""Pages of photos, and the pictures themselves."""

from __future__ import annotations

import errno
from typing import cast

from django.core.files.uploadedfile import UploadedFile
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from setwright.files import FileProblems, SetFile, editing
from setwright.identity.model import Family
from setwright.workbench.accounts.rules import may_read, may_write, reads, writes
from setwright.workbench.photos.incoming import MOST_AT_ONCE, moment, take
from setwright.workbench.photos.marks import PinForm
from setwright.workbench.photos.naming import entries_of, photos_of_set, photos_of_survivor
from setwright.workbench.photos.pages import beside, comparison, gallery, photo_page
from setwright.workbench.photos.serving import picture_response
from setwright.workbench.records import keeping
from setwright.workbench.services.records import family_of
from setwright.workbench.sets.loading import set_record, user_of
from setwright.workbench.sets.models import SetRecord


def _context(request: HttpRequest, record: SetRecord) -> dict[str, object]:
    return {"section": "sets", "record": record, "may_write": may_write(request, record.family.key)}


@reads(of_set="key")
@require_safe
def of_set(request: HttpRequest, key: str) -> HttpResponse:
    """All photos of a set."""
    record = set_record(key)
    context = {**_context(request, record), "photos": gallery(record), "others": beside(record)}
    return render(request, "photos/of_set.html", {**context, "removed": request.GET.get("done") == "removed"})


@writes(of_set="key")
@require_http_methods(["GET", "HEAD", "POST"])
def add(request: HttpRequest, key: str) -> HttpResponse:
    """Add photos: the form, and what it sends."""
    record = set_record(key)
    family = family_of(record.family)
    if request.method != "POST":
        form = PinForm(family, initial={"feature": request.GET.get("feature", "")})
        return render(request, "photos/add.html", {**_context(request, record), "form": form})
    form = PinForm(family, request.POST)
    files = cast("list[UploadedFile[bytes]]", request.FILES.getlist("photos"))
    problems = _wrong_with(files)
    if problems or not form.is_valid():
        return _add_again(request, record, form, problems, 422)
    given = form.cleaned_data
    try:
        taken = take(record, files, by=user_of(request), feature=given["feature"] or None, caption=given["caption"])
    except OSError as problem:
        return _add_again(request, record, form, [_not_written(problem)], 507)
    except FileProblems as failure:
        return _add_again(request, record, form, failure.lines, 422)
    if taken.refused or taken.there:
        context = {**_context(request, record), "form": form, "taken": taken}
        return render(request, "photos/add.html", context, status=422 if taken.refused else 200)
    if len(taken.added) == 1:
        return redirect("photos:photo", key=key, sha256=taken.added[0])
    return redirect("photos:of-set", key=key)


def _wrong_with(files: list[UploadedFile[bytes]]) -> list[str]:
    if not files:
        return ["No photo was chosen; choose one or more, or take one."]
    if len(files) > MOST_AT_ONCE:
        return [f"{len(files)} photos came at once; send up to {MOST_AT_ONCE} at a time."]
    return []


def _not_written(problem: OSError) -> str:
    if problem.errno in {errno.ENOSPC, errno.EDQUOT}:
        return "There is no room left on the disk. Nothing of this was entered; make room and send the photos again."
    return f"The photos could not be written: {problem.strerror or problem}. Nothing of this was entered."


def _add_again(
    request: HttpRequest, record: SetRecord, form: PinForm, problems: list[str] | tuple[str, ...], status: int
) -> HttpResponse:
    context = {**_context(request, record), "form": form, "problems": problems}
    return render(request, "photos/add.html", context, status=status)


@reads(of_set="key")
@require_safe
def photo(request: HttpRequest, key: str, sha256: str) -> HttpResponse:
    """One picture with what is marked in it."""
    record = set_record(key)
    page = photo_page(record, entries_of(record, sha256))
    return render(request, "photos/photo.html", {**_context(request, record), "page": page})


@writes(of_set="key")
@require_POST
def add_pin(request: HttpRequest, key: str, sha256: str) -> HttpResponse:
    """Mark another feature in a picture that is there."""
    record = set_record(key)
    _, first = entries_of(record, sha256)[0]
    form = PinForm(family_of(record.family), request.POST, auto_id="pin-new-%s")
    if not form.is_valid():
        return _photo_again(request, record, sha256, None, form)
    table = {"sha256": sha256, "name": first.name, "taken": first.taken or None, **form.table()}
    table |= {"added_at": moment(), "added_by": keeping.name_of(user_of(request))}
    family = family_of(record.family)
    what = f"Photo {first.name} marked{_for(family, form)}"
    try:
        keeping.edit(record, lambda file: editing.add_photo(file, family, table), by=user_of(request), what=what)
    except FileProblems as failure:
        return _photo_again(request, record, sha256, None, form, failure)
    return redirect("photos:photo", key=key, sha256=sha256)


@writes(of_set="key")
@require_POST
def change_pin(request: HttpRequest, key: str, sha256: str, number: int) -> HttpResponse:
    """Change what a picture shows and where."""
    record = set_record(key)
    name, family = _entry_name(record, sha256, number), family_of(record.family)
    form = PinForm(family, request.POST, auto_id=f"pin-{number}-%s")
    if not form.is_valid():
        return _photo_again(request, record, sha256, number, form)
    try:
        keeping.edit(
            record,
            lambda file: editing.change_photo(file, family, number, form.table()),
            by=user_of(request),
            what=f"Photo {name} changed{_for(family, form)}",
            seen_revision=_seen(request),
        )
    except FileProblems as failure:
        return _photo_again(request, record, sha256, number, form, failure)
    return redirect("photos:photo", key=key, sha256=sha256)


@writes(of_set="key")
@require_POST
def remove_pin(request: HttpRequest, key: str, sha256: str, number: int) -> HttpResponse:
    """Take one mark off a picture; the picture goes with the last."""
    record = set_record(key)
    name, family = _entry_name(record, sha256, number), family_of(record.family)
    keeping.edit(
        record,
        lambda file: editing.remove_photo(file, family, number),
        by=user_of(request),
        what=f"Mark removed from photo {name}",
        seen_revision=_seen(request),
    )
    if any(photo.sha256 == sha256 for photo in photos_of_set(set_record(key))):
        return redirect("photos:photo", key=key, sha256=sha256)
    return _removed(key)


@writes(of_set="key")
@require_POST
def remove(request: HttpRequest, key: str, sha256: str) -> HttpResponse:
    """Take a picture off the set, with all its marks; the history brings it back."""
    record = set_record(key)
    name, family = entries_of(record, sha256)[0][1].name, family_of(record.family)

    def without(file: SetFile) -> SetFile:
        for number in reversed(range(len(file.case.photos))):
            if file.case.photos[number].sha256 == sha256:
                file = editing.remove_photo(file, family, number)
        return file

    keeping.edit(record, without, by=user_of(request), what=f"Photo {name} removed", seen_revision=_seen(request))
    return _removed(key)


def _removed(key: str) -> HttpResponse:
    return redirect(f"{reverse('photos:of-set', args=[key])}?done=removed")


def _entry_name(record: SetRecord, sha256: str, number: int) -> str:
    """The file name of one entry; 404 where that number is no entry of this picture."""
    for found, photo in entries_of(record, sha256):
        if found == number:
            return photo.name
    raise Http404


def _photo_again(
    request: HttpRequest,
    record: SetRecord,
    sha256: str,
    number: int | None,
    form: PinForm,
    failure: FileProblems | None = None,
) -> HttpResponse:
    """The page with a form that could not be taken, and why."""
    for line in () if failure is None else failure.lines:
        form.add_error(None, line)
    page = photo_page(record, entries_of(record, sha256), (number, form))
    return render(request, "photos/photo.html", {**_context(request, record), "page": page}, status=422)


def _seen(request: HttpRequest) -> int:
    """The revision that the form showed; one that does not say so saw nothing, and overwrites nothing."""
    written = request.POST.get("seen", "")
    return int(written) if written.isascii() and written.isdigit() and len(written) < 10 else 0


def _for(family: Family, form: PinForm) -> str:
    feature = form.cleaned_data["feature"]
    return f": {family.feature(feature).label}" if feature else ""


@reads(of_set="key")
@require_safe
def compare(request: HttpRequest, key: str, other: str) -> HttpResponse:
    """The same feature on two sets, side by side."""
    record, beside_it = set_record(key), set_record(other)
    if not may_read(request, beside_it.family.key):
        raise Http404
    page = comparison(record, beside_it, request.GET.get("feature", ""))
    if page is None:
        raise Http404
    return render(request, "photos/compare.html", {**_context(request, record), "other": beside_it, "page": page})


@reads(of_set="key")
@require_safe
def picture(request: HttpRequest, key: str, sha256: str, size: str) -> HttpResponseBase:
    """A picture that the set's file names."""
    entries_of(set_record(key), sha256)
    return picture_response(request, sha256, size)


@reads(family="family")
@require_safe
def survivor_picture(request: HttpRequest, family: str, name: str, sha256: str, size: str) -> HttpResponseBase:
    """A picture that a survivor's row names."""
    if not any(photo.sha256 == sha256 for photo in photos_of_survivor(family, name)):
        raise Http404
    return picture_response(request, sha256, size)
