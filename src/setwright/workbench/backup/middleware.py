"""Tells a full disk plainly."""

from __future__ import annotations

import errno
import logging
from collections.abc import Callable, Iterator

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

_FULL = ("disk is full", "disk full", "no space left", "disk i/o error")
_FULL_NUMBERS = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
_log = logging.getLogger(__name__)


class FullDisk:
    """Answers a change that could not be written because the disk is full: 507, nothing of it was kept."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Passes the request on."""
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        """The plain page for a full disk; anything else goes its usual way."""
        if not is_full_disk(exception):
            return None
        _log.error("The disk with %s is full or failing: %s", settings.DATA_DIR, exception)
        return render(request, "backup/full_disk.html", {"folder": settings.DATA_DIR}, status=507)


def is_full_disk(error: BaseException) -> bool:
    """Whether an exception, or what caused it, says that nothing more could be written."""
    for cause in _causes(error):
        if isinstance(cause, OSError) and cause.errno in _FULL_NUMBERS:
            return True
        # The database's own exceptions carry only words.
        named = type(cause).__name__ in ("OperationalError", "DiskFull")
        if named and any(words in str(cause).lower() for words in _FULL):
            return True
    return False


def _causes(error: BaseException) -> Iterator[BaseException]:
    found: BaseException | None = error
    while found is not None:
        yield found
        found = found.__cause__ or found.__context__
