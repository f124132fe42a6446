"""Pages that belong to no subject."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """There is nothing at this address."""
    return render(request, "site/not_found.html", status=404)


def failed(request: HttpRequest) -> HttpResponse:
    """The site itself went wrong."""
    return render(request, "site/failed.html", status=500)
