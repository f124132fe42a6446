"""Where scans are kept, and giving them out."""

from __future__ import annotations

import logging

from django.conf import settings
from django.http import FileResponse, HttpRequest, HttpResponse, HttpResponseBase, HttpResponseNotModified
from django.utils.cache import patch_cache_control

from setwright.files.literature import Attachment
from setwright.workbench.blobs import BlobMissing, BlobProblem, BlobStore
from setwright.workbench.literature.scans import PDF

PICTURE_POLICY = "default-src 'none'; sandbox; frame-ancestors 'none'"
PDF_POLICY = (
    "default-src 'none'; object-src 'self'; style-src 'unsafe-inline'; img-src 'self' data:; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'"
)
"""A browser shows a PDF with a viewer of its own, which `sandbox` would keep from starting; a PDF brings no script
of the site's origin with it, and nothing else may be loaded."""

_YEAR = 365 * 24 * 3600
_log = logging.getLogger(__name__)


def store() -> BlobStore:
    """The folder of scans."""
    return BlobStore(settings.DATA_DIR / "literature")


def scan_response(request: HttpRequest, scan: Attachment) -> HttpResponseBase:
    """A scan, to be shown in the browser. The caller has seen to it that whoever asks may see it."""
    tag = f'"{scan.sha256}"'
    # Scans are as small as they get: the middleware that shrinks pages would only lose time on them.
    request.META.pop("HTTP_ACCEPT_ENCODING", None)
    if tag in {part.strip().removeprefix("W/") for part in request.headers.get("If-None-Match", "").split(",")}:
        return _lasting(HttpResponseNotModified(), scan, tag)
    try:
        stream = store().open_verified(scan.sha256, scan.suffix)
    except BlobProblem as problem:
        _log.error("%s", problem.message)
        told = f"{problem.message} A backup brings it back, or another copy of the scan, attached again.\n"
        status = 404 if isinstance(problem, BlobMissing) else 500
        return HttpResponse(told, content_type="text/plain; charset=utf-8", status=status)
    response = FileResponse(stream, filename=scan.name, content_type=scan.media_type)
    return _lasting(response, scan, tag)


def _lasting(response: HttpResponseBase, scan: Attachment, tag: str) -> HttpResponseBase:
    """What is under a hash never changes; private, because who may see it depends on the account."""
    response.headers["ETag"] = tag
    response.headers["X-Content-Type-Options"] = "nosniff"
    response.headers["Content-Security-Policy"] = PDF_POLICY if scan.media_type == PDF else PICTURE_POLICY
    patch_cache_control(response, private=True, max_age=_YEAR, immutable=True)
    return response
