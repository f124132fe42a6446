"""Making, changing and removing accounts, for the command line and the pages."""

from __future__ import annotations

import re

from django.contrib.auth.models import User
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import QuerySet

from setwright.workbench.accounts.models import Account, FamilyRole, Role
from setwright.workbench.accounts.roles import LOCAL_NAME
from setwright.workbench.families.models import FamilyRecord

_NAME = re.compile(r"[\w.@+-]{1,150}")


class AccountRefused(Exception):
    """An account cannot be made, changed or removed; the message is one plain sentence."""


def accounts() -> QuerySet[User]:
    """The accounts that people log in with, by name."""
    return User.objects.filter(account__isnull=False).select_related("account").order_by("username")


def account_named(name: str) -> User:
    """The account of that name. Raises AccountRefused where there is none."""
    # What is no name at all may hold what a database refuses to look for.
    user = accounts().filter(username=name).first() if _NAME.fullmatch(name) else None
    if user is None:
        raise AccountRefused(f'There is no account "{name}".')
    return user


def owner_exists() -> bool:
    """Whether somebody could let others in."""
    return Account.objects.filter(role=Role.OWNER, user__is_active=True).exists()


def add_account(name: str, password: str, role: Role) -> User:
    """A new account. Raises AccountRefused."""
    if not _NAME.fullmatch(name):
        raise AccountRefused(
            "A name has letters, digits and the signs . @ + - _ without spaces, 150 at most. Choose another."
        )
    with transaction.atomic():
        if name.casefold() == LOCAL_NAME or User.objects.filter(username__iexact=name).exists():
            raise AccountRefused(f'The name "{name}" is taken. Choose another.')
        user = User(username=name)
        _set_password(user, password)
        user.save()
        Account.objects.create(user=user, role=role)
    return user


def set_password(user: User, password: str) -> None:
    """Another password; everywhere else the account is logged out. Raises AccountRefused."""
    _set_password(user, password)
    user.save(update_fields=["password"])


def _set_password(user: User, password: str) -> None:
    try:
        validate_password(password, user)
    except ValidationError as error:
        raise AccountRefused(" ".join(error.messages)) from error
    user.set_password(password)


def set_role(user: User, role: Role) -> None:
    """Another general role. Raises AccountRefused for the last owner."""
    with transaction.atomic():
        account = Account.objects.select_for_update().get(user=user)
        if role is not Role.OWNER:
            _keep_an_owner(account)
        account.role = role
        account.save(update_fields=["role"])


def set_family_role(user: User, family: FamilyRecord, role: Role | None) -> None:
    """The role in one family; None lets the general one hold again. Raises AccountRefused for owner."""
    if role is Role.OWNER:
        raise AccountRefused("An owner owns everything; in one family one can be none, reader or contributor.")
    if role is None:
        FamilyRole.objects.filter(user=user, family=family).delete()
    else:
        FamilyRole.objects.update_or_create(user=user, family=family, defaults={"role": role})


def set_family_role_by_key(user: User, key: str, role: Role | None) -> None:
    """The same by the family's key. Raises AccountRefused where there is no such family."""
    family = FamilyRecord.objects.filter(key=key).first()
    if family is None:
        raise AccountRefused(f'There is no family "{key}".')
    set_family_role(user, family, role)


def remove_account(user: User) -> None:
    """The account goes; what it wrote stays under its name. Raises AccountRefused for the last owner."""
    with transaction.atomic():
        _keep_an_owner(Account.objects.select_for_update().get(user=user))
        user.delete()


def _keep_an_owner(account: Account) -> None:
    """AccountRefused where nobody but this account could let others in. Holds all owners until the transaction ends."""
    owners = list(Account.objects.select_for_update().filter(role=Role.OWNER).order_by("pk"))
    if account in owners and len(owners) == 1:
        raise AccountRefused(f'"{account.user.get_username()}" is the only owner. Make another owner first.')
