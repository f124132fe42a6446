"""Saving a casebook, and taking one in: send it, look at what it holds, decide."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass

from django.conf import settings
from django.http import FileResponse, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from setwright.files import FileProblems
from setwright.files.casebook import open_casebook
from setwright.workbench.accounts.rules import is_owner, owns, reads, visible
from setwright.workbench.casebook.saving import save_casebook
from setwright.workbench.casebook.taking import Coming, Taken, look_at, take_casebook
from setwright.workbench.casebook.uploads import Uploads
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.incoming import NotKept
from setwright.workbench.records.kinds import kind_named
from setwright.workbench.sets.loading import user_of
from setwright.workbench.site.words import count

WORDS = {
    "new": "new here",
    "same": "here already, the same",
    "differs": "here already, with another text",
    "removed": "removed here; comes back with the casebook's text",
}


def _uploads() -> Uploads:
    return Uploads(settings.DATA_DIR / "casebooks-sent")


def _owner(request: HttpRequest) -> str:
    return f"account {request.user.pk}"


@reads()
@require_safe
def casebook(request: HttpRequest) -> HttpResponse:
    """The page from which casebooks are saved and sent."""
    return _page(request)


def _page(request: HttpRequest, problems: tuple[str, ...] = (), status: int = 200) -> HttpResponse:
    families = visible(request, FamilyRecord.objects.defer("text"))
    context = {"families": families, "may_take": is_owner(request), "problems": problems}
    return render(request, "casebook/casebook.html", context, status=status)


@reads()
@require_safe
def save(request: HttpRequest) -> HttpResponseBase:
    """A casebook: of everything, or of the families that the address names."""
    seen = list(visible(request, FamilyRecord.objects.all()).values_list("key", flat=True))
    wanted = request.GET.getlist("family")
    everything = not wanted and len(seen) == FamilyRecord.objects.count()
    chosen = None if everything else [key for key in seen if not wanted or key in wanted]
    # It has no name in the folder, so nothing of it stays if the reader goes away.
    stream = tempfile.TemporaryFile(dir=settings.DATA_DIR)  # noqa: SIM115 (the response closes it)
    now = timezone.now()
    save_casebook(stream, families=chosen, history=request.GET.get("history", "1") == "1", made_at=now)
    stream.seek(0)
    # Its pictures are as small as they get: packing it once more on the way would only take time.
    request.META.pop("HTTP_ACCEPT_ENCODING", None)
    part = f"{wanted[0]}-" if len(wanted) == 1 and chosen else ""
    name = f"{part}casebook-{now:%Y-%m-%d}.zip"
    return FileResponse(stream, as_attachment=True, filename=name, content_type="application/zip")


@owns
@require_POST
def send(request: HttpRequest) -> HttpResponse:
    """A casebook comes in; it is set aside until somebody has looked at what it holds."""
    sent = request.FILES.get("casebook")
    if sent is None:
        return _page(request, ("Choose the casebook's file first.",), 422)
    token = _uploads().keep(sent.name or "casebook.zip", sent.chunks(), _owner(request))
    return redirect("casebook:decide", token)


@dataclass(frozen=True, slots=True)
class Line:
    """One record of a casebook as the page shows it."""

    coming: Coming
    named: str
    told: str
    value: str


@owns
@require_http_methods(["GET", "HEAD", "POST"])
def decide(request: HttpRequest, token: str) -> HttpResponse:
    """What a casebook holds beside what is here; and taking it in."""
    try:
        name, path = _uploads().find(token, _owner(request))
    except NotKept as error:
        return _page(request, (str(error),), 404)
    if request.method == "POST" and "leave" in request.POST:
        _uploads().drop(token)
        return redirect("casebook:casebook")
    try:
        with open_casebook(path, name) as book:
            if request.method == "POST":
                theirs = [(kind, key) for kind, _, key in (v.partition(":") for v in request.POST.getlist("theirs"))]
                return _done(request, token, name, take_casebook(book, by=user_of(request), theirs=theirs))
            lines = [_line(coming) for coming in look_at(book)]
            context = {
                "name": name,
                "lines": [line for line in lines if line.coming.state != "same"],
                "same": count(len(lines) - len([line for line in lines if line.coming.state != "same"]), "record"),
                "all": count(len(lines), "record"),
                "coming": [line for line in lines if line.coming.state in ("new", "removed")],
                "differing": [line for line in lines if line.coming.state == "differs"],
                "made_at": book.made_at,
                "photos": len(book.photos),
                "scans": len(book.attachments),
                "missing": book.missing,
                "address": reverse("casebook:decide", args=[token]),
            }
            return render(request, "casebook/decide.html", context)
    except FileProblems as failure:
        _uploads().drop(token)
        return _page(request, failure.lines, 422)


def _line(coming: Coming) -> Line:
    value = f"{coming.kind}:{coming.key}"
    return Line(coming, _named(coming.kind, coming.key, coming.title), WORDS[coming.state], value)


def _named(kind: str, key: str, title: str = "") -> str:
    noun = {"survivors": "survivors of", "chart": "chart printed with"}.get(kind, kind_named(kind).noun)
    return f"{noun} {title} ({key})" if title and title != key else f"{noun} {key}"


def _done(request: HttpRequest, token: str, name: str, taken: Taken) -> HttpResponse:
    _uploads().drop(token)
    counted = (
        (count(len(taken.new), "record"), "new here", len(taken.new)),
        (count(len(taken.replaced), "record"), "replaced; how it stood before is in its history", len(taken.replaced)),
        (count(len(taken.kept_mine), "record"), "left as yours is", len(taken.kept_mine)),
        (count(taken.same, "record"), "here already, the same", taken.same),
        (count(taken.photos, "photo"), "added", taken.photos),
        (count(taken.scans, "scan"), "added", taken.scans),
    )
    context = {
        "name": name,
        "counted": [f"{words}: {what}" for words, what, number in counted if number],
        "replaced": [_named(*record) for record in taken.replaced],
        "left": [_named(*record) for record in taken.kept_mine],
    }
    return render(request, "casebook/taken.html", context)
