"""Says who asks, and keeps the rules of the views."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from urllib.parse import urlencode

from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.functional import SimpleLazyObject

from setwright.workbench.accounts.models import Role
from setwright.workbench.accounts.roles import local_user
from setwright.workbench.accounts.rules import Rule, roles_for, rule_of
from setwright.workbench.sets.models import SetRecord

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})


class Rules:
    """Stands behind Django's own middleware for sessions and accounts.

    Alone on this machine everything belongs to one account that nobody logs in with, and nothing is asked. Where the
    site is shared, a view is reached only by whom its rule lets through; one without a rule by nobody.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Says who asks."""
        if not settings.SHARED:
            request.user = SimpleLazyObject(local_user)  # type: ignore[assignment]
            return self.get_response(request)
        response = self.get_response(request)
        # What one account sees is for no other's eyes, whatever keeps copies in between.
        response.headers.setdefault("Cache-Control", "private, no-cache")
        return response

    def process_view(
        self, request: HttpRequest, view: Callable[..., Any], args: tuple[Any, ...], kwargs: dict[str, Any]
    ) -> HttpResponse | None:
        """Lets the request through to its view, or answers it."""
        if not settings.SHARED:
            return None
        rule = rule_of(view)
        if rule is None:
            raise PermissionDenied("This address has no rule.")
        if rule.wanted is None:
            return None
        if not request.user.is_authenticated:
            return _to_log_in(request)
        _check(request, rule, kwargs)
        return None


def _check(request: HttpRequest, rule: Rule, kwargs: dict[str, Any]) -> None:
    """Raises Http404 or PermissionDenied where the rule does not let this account through."""
    wanted = rule.wanted or Role.NONE
    if wanted is Role.READER and request.method not in SAFE_METHODS:
        wanted = Role.CONTRIBUTOR
    roles = roles_for(request)
    if rule.names_a_family:
        role = roles.role_in(_family_key(rule, kwargs))
        if not role.covers(Role.READER):
            raise Http404
        if not role.covers(wanted):
            raise PermissionDenied
        return
    anywhere = rule.somewhere or wanted is Role.READER
    if not (roles.somewhere(wanted) if anywhere else roles.general.covers(wanted)):
        raise PermissionDenied


def _family_key(rule: Rule, kwargs: dict[str, Any]) -> str:
    """The key of the family that the address is about; Http404 for a set that is not there, removed ones are."""
    if rule.family:
        return str(kwargs[rule.family])
    found = SetRecord.everything.filter(key=kwargs[rule.of_set]).values_list("family__key", flat=True).first()
    if found is None:
        raise Http404
    return found


def _to_log_in(request: HttpRequest) -> HttpResponse:
    """The way to the log-in page, and from there back to a page that was asked for."""
    address = reverse("accounts:log-in")
    if request.method in SAFE_METHODS:
        address += "?" + urlencode({"next": request.get_full_path()})
    if request.headers.get("HX-Request"):
        return HttpResponse(status=204, headers={"HX-Redirect": address})
    return redirect(address)
