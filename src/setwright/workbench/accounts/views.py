"""Logging in and out, and the owner's pages of accounts. There are none while the site is not shared."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.conf import settings
from django.contrib.auth import authenticate, login, logout, update_session_auth_hash
from django.contrib.auth.models import User
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from setwright.workbench.accounts import managing, throttle
from setwright.workbench.accounts.forms import AccountForm, LogInForm, PasswordForm, RoleForm
from setwright.workbench.accounts.managing import AccountRefused
from setwright.workbench.accounts.models import Role
from setwright.workbench.accounts.rules import anyone, owns
from setwright.workbench.families.models import FamilyRecord

WRONG = "This name and password do not belong together. Mind capitals, then try again."


def where_shared(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """404 while the site is not shared: then there are no accounts."""

    @wraps(view)
    def shown(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if not settings.SHARED:
            raise Http404
        return view(request, *args, **kwargs)

    return shown


@anyone
@require_http_methods(["GET", "HEAD", "POST"])
@where_shared
def log_in(request: HttpRequest) -> HttpResponse:
    """Name and password, and back to the page that was asked for."""
    if request.method != "POST":
        return _log_in_page(request, request.GET.get("next", ""))
    after = request.POST.get("next", "")
    form = LogInForm(request.POST)
    if not form.is_valid():
        return _log_in_page(request, after, "Give both the name and the password.", status=422)
    name = form.cleaned_data["name"]
    try:
        attempt = throttle.begin(name, request.META.get("REMOTE_ADDR", ""))
    except throttle.Throttled as error:
        minutes = -(-error.seconds // 60)
        told = f"Too many attempts failed. The next is looked at in {minutes} minute{'s' if minutes > 1 else ''}."
        response = _log_in_page(request, after, told, name, status=429)
        response.headers["Retry-After"] = str(error.seconds)
        return response
    user = authenticate(request, username=name, password=form.cleaned_data["password"])
    if user is None:
        return _log_in_page(request, after, WRONG, name, status=422)
    throttle.succeeded(attempt)
    login(request, user)
    return redirect(after if _is_here(request, after) else "home")


def _log_in_page(request: HttpRequest, after: str, told: str = "", name: str = "", status: int = 200) -> HttpResponse:
    context = {"after": after if _is_here(request, after) else "", "told": told, "name": name}
    return render(request, "accounts/log_in.html", context, status=status)


def _is_here(request: HttpRequest, address: str) -> bool:
    """Whether an address to go on to is one of this site."""
    return bool(address) and url_has_allowed_host_and_scheme(
        address, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )


@anyone
@require_POST
@where_shared
def log_out(request: HttpRequest) -> HttpResponse:
    """Ends the session."""
    logout(request)
    return redirect("accounts:log-in")


# Whoever may only look changes their own password all the same, so the rule is asked for inside.
@anyone
@require_http_methods(["GET", "HEAD", "POST"])
@where_shared
def password(request: HttpRequest) -> HttpResponse:
    """One's own password."""
    if not request.user.is_authenticated:
        return redirect("accounts:log-in")
    user = request.user
    if request.method != "POST":
        return render(request, "accounts/password.html")
    form = PasswordForm(request.POST)
    try:
        if not form.is_valid():
            raise AccountRefused("Give both the present and the new password.")
        _check_present(request, user, form.cleaned_data["present"])
        managing.set_password(user, form.cleaned_data["password"])
    except throttle.Throttled as error:
        return render(request, "accounts/password.html", {"told": str(error)}, status=429)
    except AccountRefused as error:
        return render(request, "accounts/password.html", {"told": str(error)}, status=422)
    update_session_auth_hash(request, user)
    return render(request, "accounts/password.html", {"done": True})


def _check_present(request: HttpRequest, user: User, given: str) -> None:
    """AccountRefused where the present password is another: a session left open is not enough to take an account."""
    attempt = throttle.begin(user.get_username(), request.META.get("REMOTE_ADDR", ""))
    if not user.check_password(given):
        raise AccountRefused("The present password is another.")
    throttle.succeeded(attempt)


@owns
@require_safe
@where_shared
def accounts(request: HttpRequest) -> HttpResponse:
    """All accounts, and the form for a new one."""
    return _accounts_page(request)


def _accounts_page(request: HttpRequest, told: str = "", status: int = 200) -> HttpResponse:
    given = request.POST if status != 200 else {}
    context = {"accounts": managing.accounts(), "roles": Role.choices, "told": told, "given": given}
    return render(request, "accounts/accounts.html", context, status=status)


@owns
@require_POST
@where_shared
def add(request: HttpRequest) -> HttpResponse:
    """A new account."""
    form = AccountForm(request.POST)
    try:
        if not form.is_valid():
            raise AccountRefused("Give a name, a password and a role.")
        data = form.cleaned_data
        managing.add_account(data["name"], data["password"], Role(data["role"]))
    except AccountRefused as error:
        return _accounts_page(request, str(error), status=422)
    return redirect("accounts:account", data["name"])


def _account(name: str) -> User:
    try:
        return managing.account_named(name)
    except AccountRefused as error:
        raise Http404 from error


@owns
@require_safe
@where_shared
def account(request: HttpRequest, name: str) -> HttpResponse:
    """One account with its roles."""
    return _account_page(request, _account(name))


def _account_page(request: HttpRequest, user: User, told: str = "", status: int = 200) -> HttpResponse:
    own = dict(user.family_roles.values_list("family_id", "role"))
    families = [(family, own.get(family.pk, "")) for family in FamilyRecord.objects.defer("text")]
    context = {"user": user, "roles": Role.choices, "families": families, "told": told}
    return render(request, "accounts/account.html", context, status=status)


@owns
@require_POST
@where_shared
def set_role(request: HttpRequest, name: str) -> HttpResponse:
    """Another role, in general or in one family."""
    user = _account(name)
    form = RoleForm(request.POST)
    try:
        if not form.is_valid():
            raise AccountRefused("Choose one of the roles.")
        role, key = form.cleaned_data["role"], form.cleaned_data["family"]
        if key:
            managing.set_family_role_by_key(user, key, Role(role) if role else None)
        elif role:
            managing.set_role(user, Role(role))
        else:
            raise AccountRefused("Choose a role.")
    except AccountRefused as error:
        return _account_page(request, user, str(error), status=422)
    return redirect("accounts:account", name)


@owns
@require_POST
@where_shared
def set_password(request: HttpRequest, name: str) -> HttpResponse:
    """Another password for somebody who forgot theirs."""
    user = _account(name)
    try:
        managing.set_password(user, request.POST.get("password", ""))
    except AccountRefused as error:
        return _account_page(request, user, str(error), status=422)
    if user == request.user:
        update_session_auth_hash(request, user)
    return redirect("accounts:account", name)


@owns
@require_POST
@where_shared
def remove(request: HttpRequest, name: str) -> HttpResponse:
    """The account goes; what it wrote stays."""
    user = _account(name)
    try:
        managing.remove_account(user)
    except AccountRefused as error:
        return _account_page(request, user, str(error), status=422)
    return redirect("accounts:accounts")


def not_allowed(request: HttpRequest, exception: Exception) -> HttpResponse:
    """The account that asks may not do this."""
    return render(request, "accounts/not_allowed.html", status=403)
