"""Slows down whoever guesses passwords: per name and per address, counted in the database for all server threads."""

from __future__ import annotations

from datetime import timedelta

from django.db import transaction
from django.utils import timezone

from setwright.workbench.accounts.models import Attempt

WINDOW = timedelta(minutes=15)
MOST_PER_NAME = 5
MOST_PER_ADDRESS = 20
"""So many failures within the window, then nothing is looked at until it has passed (common practice, no source)."""


class Throttled(Exception):
    """Too many attempts failed. seconds : after which the next is looked at."""

    def __init__(self, seconds: int) -> None:
        self.seconds = seconds
        super().__init__(f"Too many attempts; the next is looked at in {seconds} seconds.")


def begin(name: str, address: str) -> Attempt:
    """Enters an attempt before the password is looked at, so that many at once do not slip through together.

    Raises Throttled where too many failed lately; such an attempt is not counted. `succeeded` takes it back.
    """
    now = timezone.now()
    name, address = name.casefold()[:150], address[:100]
    with transaction.atomic():
        Attempt.objects.filter(at__lt=now - WINDOW).delete()
        for field, value, most in (("name", name, MOST_PER_NAME), ("address", address, MOST_PER_ADDRESS)):
            times = list(Attempt.objects.filter(**{field: value}).order_by("-at").values_list("at", flat=True)[:most])
            if len(times) == most:
                raise Throttled(max(1, round((times[-1] + WINDOW - now).total_seconds())))
        return Attempt.objects.create(name=name, address=address, at=now)


def succeeded(attempt: Attempt) -> None:
    """Forgets what was counted for the name; other names tried from the same address stay counted."""
    Attempt.objects.filter(name=attempt.name).delete()
