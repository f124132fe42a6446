"""Gives pictures out: under their hash they never change, so a browser may keep them for good."""

from __future__ import annotations

import logging

from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBase, HttpResponseNotModified
from django.utils.cache import patch_cache_control

from setwright.workbench.blobs import BlobMissing, BlobProblem
from setwright.workbench.photos import store
from setwright.workbench.photos.cleaning import JPEG, SUFFIXES
from setwright.workbench.photos.models import Blob
from setwright.workbench.photos.thumbnails import LONG_SIDE, thumbnail

WHOLE = "whole"
SIZES = (*LONG_SIDE, WHOLE)
_YEAR = 365 * 24 * 3600
_log = logging.getLogger(__name__)


def picture_response(request: HttpRequest, sha256: str, size: str) -> HttpResponseBase:
    """A picture or its small copy. The caller has seen to it that whoever asks may see it."""
    if size not in SIZES:
        raise Http404
    blob = Blob.objects.filter(sha256=sha256).first()
    if blob is None:
        raise Http404
    tag = f'"{sha256}-{size}"'
    # Pictures are as small as they get: the middleware that shrinks pages would only lose time on them.
    request.META.pop("HTTP_ACCEPT_ENCODING", None)
    if tag in {part.strip().removeprefix("W/") for part in request.headers.get("If-None-Match", "").split(",")}:
        return _lasting(HttpResponseNotModified(), tag)
    try:
        response = _whole(blob) if size == WHOLE else HttpResponse(thumbnail(blob, size), content_type=JPEG)
    except BlobProblem as problem:
        _log.error("%s", problem.message)
        told = f"{problem.message} A backup or another copy of the photo, added again, brings it back.\n"
        status = 404 if isinstance(problem, BlobMissing) else 500
        return HttpResponse(told, content_type="text/plain; charset=utf-8", status=status)
    suffix = SUFFIXES[blob.media_type] if size == WHOLE else ".jpg"
    response.headers["Content-Disposition"] = f'inline; filename="{sha256[:16]}-{size}{suffix}"'
    return _lasting(response, tag)


def _whole(blob: Blob) -> FileResponse:
    response = FileResponse(store.opened(blob), content_type=blob.media_type)
    response.headers["Content-Length"] = str(blob.size)
    return response


def _lasting(response: HttpResponseBase, tag: str) -> HttpResponseBase:
    """Private: who may see it depends on the account."""
    response.headers["ETag"] = tag
    patch_cache_control(response, private=True, max_age=_YEAR, immutable=True)
    return response
