"""Search over everything."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from setwright.workbench.accounts.rules import is_owner, reads, roles_for
from setwright.workbench.search.finding import Allowed, find
from setwright.workbench.search.kinds import HEADINGS
from setwright.workbench.search.pages import FoundPage, found_page, index_state


@reads()
@require_safe
def search(request: HttpRequest) -> HttpResponse:
    """What was found of `q`: the best of each kind, or with `kind` all of one, in sheets."""
    asked = request.GET.get("q", "")
    context = {
        "section": "search",
        "asked": asked,
        "page": _found(request) if asked.strip() else None,
        "index": index_state(with_names=is_owner(request)),
    }
    return render(request, "search/search.html", context)


@reads()
@require_safe
def found_json(request: HttpRequest) -> JsonResponse:
    """The same as data."""
    return JsonResponse({**_found(request).as_data(), "behind": index_state(with_names=False).behind})


def _found(request: HttpRequest) -> FoundPage:
    kind = request.GET.get("kind") if request.GET.get("kind") in HEADINGS else None
    number = request.GET.get("page", "")
    sheet = int(number) if kind and number.isascii() and number.isdigit() and len(number) < 6 else 1
    found = find(request.GET.get("q", ""), Allowed.by(roles_for(request)), kind=kind, page=max(sheet, 1))
    return found_page(found, kind, max(sheet, 1))
