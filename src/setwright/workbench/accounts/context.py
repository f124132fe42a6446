"""What every template knows of who asks."""

from __future__ import annotations

from django.conf import settings
from django.http import HttpRequest

from setwright.workbench.accounts.rules import is_owner


def who(request: HttpRequest) -> dict[str, object]:
    """`account_name` is "" where the site is not shared or nobody is logged in."""
    user = getattr(request, "user", None)
    if not settings.SHARED or user is None or not user.is_authenticated:
        return {"account_name": "", "account_owns": False}
    return {"account_name": user.get_username(), "account_owns": is_owner(request)}
