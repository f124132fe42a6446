"""What every template knows of who asks."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest

from setwright.workbench.accounts.rules import is_owner


def who(request: HttpRequest) -> dict[str, object]:
    """`account_name` is "" where the site is not shared or nobody is logged in; `account_missing` tells the latter."""
    user = getattr(request, "user", None)
    known = settings.SHARED and user is not None and user.is_authenticated
    return {
        "account_name": user.get_username() if known and user else "",
        "account_owns": known and is_owner(request),
        "account_missing": settings.SHARED and not known,
    }
