"""Scans of a document: attached, opened, put right, taken off."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect
from django.views.decorators.http import require_POST, require_safe

from setwright.files import FileProblems
from setwright.files.literature import Attachment
from setwright.workbench.accounts.rules import reads, writes
from setwright.workbench.literature import changes
from setwright.workbench.literature.files import scan_response
from setwright.workbench.literature.forms import ScanForm
from setwright.workbench.literature.models import LiteratureRecord
from setwright.workbench.literature.scans import LARGEST_BYTES, ScanRefused, checked
from setwright.workbench.literature.views import record_of, seen_in, shown_entry

DISK_FULL = "The scan could not be kept: the disk is full, or its folder cannot be written to. Nothing was changed."


def scan_of(record: LiteratureRecord, sha256: str) -> Attachment:
    """A scan that a document names; 404 for any other."""
    for scan in changes.entry_of(record).attachments:
        if scan.sha256 == sha256:
            return scan
    raise Http404


@reads()
@require_safe
def scan(request: HttpRequest, key: str, sha256: str) -> HttpResponseBase:
    """A scan, shown in the browser."""
    return scan_response(request, scan_of(record_of(key), sha256))


@writes()
@require_POST
def attach(request: HttpRequest, key: str) -> HttpResponse:
    """Takes scans in, each for itself; those that cannot be are told and leave the others be."""
    record, told = record_of(key), []
    uploads = request.FILES.getlist("scan")
    if not uploads:
        return shown_entry(request, record, ("Choose a file first: a PDF, JPEG or PNG.",))
    for upload in uploads:
        try:
            # One byte more than allowed is enough to see that it is too much.
            scan = checked(upload.read(LARGEST_BYTES + 1), upload.name or "")
            record = changes.attach(record, scan, by=request.user)
        except ScanRefused as refused:
            told.append(refused.message)
        except FileProblems as failure:
            told += failure.lines
        except OSError:
            told.append(DISK_FULL)
    return shown_entry(request, record, tuple(told)) if told else redirect(record)


@writes()
@require_POST
def change(request: HttpRequest, key: str, sha256: str) -> HttpResponse:
    """What the shelf says of a scan: its name, and the page on which it opens."""
    record = record_of(key)
    scan_of(record, sha256)
    form = ScanForm(request.POST)
    if not form.is_valid():
        wrong = ", ".join(name.replace("_", " ") for name in form.errors)
        return shown_entry(request, record, (f"Not kept: {wrong}. A scan has a name and opens at one of its pages.",))
    try:
        keys = form.cleaned_data
        return redirect(changes.change_scan(record, sha256, keys, by=request.user, seen_revision=seen_in(request)))
    except FileProblems as failure:
        return shown_entry(request, record, failure.lines)


@writes()
@require_POST
def detach(request: HttpRequest, key: str, sha256: str) -> HttpResponse:
    """Takes a scan off a document; the document's history can bring it back."""
    record = record_of(key)
    try:
        return redirect(changes.detach(record, scan_of(record, sha256), by=request.user))
    except FileProblems as failure:
        return shown_entry(request, record_of(key), failure.lines)
