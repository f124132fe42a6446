"""The cast of every permission test: owner, contributor, reader, outsider, and nobody."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.contrib.auth.models import User
from django.test import Client

from setwright.workbench.accounts import managing
from setwright.workbench.accounts.models import Role

PASSWORD = "rivet brass walnut"
CAST = {
    "owner": Role.OWNER,
    "contributor": Role.CONTRIBUTOR,
    "reader": Role.READER,
    "outsider": Role.NONE,
}


@pytest.fixture
def shared(settings) -> None:
    """The site is shared. Passwords are stored quickly: how well they are stored is Django's to test."""
    settings.SHARED = True
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture
def cast(shelf: None, shared: None) -> dict[str, User]:
    return {name: managing.add_account(name, PASSWORD, role) for name, role in CAST.items()}


@pytest.fixture
def seat(cast: dict[str, User]) -> Callable[[str], Client]:
    """A browser of one of the cast, logged in; "nobody" is not."""

    def sit(name: str) -> Client:
        client = Client()
        if name != "nobody":
            client.force_login(cast[name])
        return client

    return sit
