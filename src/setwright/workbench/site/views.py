"""Pages that belong to no subject."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """There is nothing at this address."""
    return render(request, "site/not_found.html", status=404)


def not_understood(request: HttpRequest, exception: Exception) -> HttpResponse:
    """The request is none that a browser on this machine sends, such as one under another host name."""
    return render(request, "site/not_understood.html", status=400)


def not_accepted(request: HttpRequest, reason: str = "") -> HttpResponse:
    """What was sent does not come from a form of this site."""
    return render(request, "site/not_accepted.html", status=403)


def failed(request: HttpRequest) -> HttpResponse:
    """The site itself went wrong."""
    return render(request, "site/failed.html", status=500)
