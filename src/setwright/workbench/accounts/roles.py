"""What an account may do."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from django.contrib.auth.models import AnonymousUser, User

from setwright.workbench.accounts.models import Account, FamilyRole, Role

LOCAL_NAME = "you"
"""The account that everything belongs to while the site is not shared; nobody logs in with it."""


@dataclass(frozen=True, slots=True)
class Roles:
    """The general role of an account, and those in single families by the family's key."""

    general: Role
    in_family: Mapping[str, Role] = field(default_factory=dict)

    def role_in(self, family: str | None) -> Role:
        """The role in one family; None asks for the general one. An owner is owner everywhere."""
        if family is None or self.general is Role.OWNER:
            return self.general
        return self.in_family.get(family, self.general)

    def somewhere(self, wanted: Role) -> bool:
        """Whether there is a family, or may come to be one, where this account may do that."""
        return any(role.covers(wanted) for role in (self.general, *self.in_family.values()))

    @property
    def hidden(self) -> tuple[str, ...]:
        """Where the general role lets one look: the families that are hidden all the same."""
        return tuple(key for key in self.in_family if not self.role_in(key).covers(Role.READER))

    @property
    def shown(self) -> tuple[str, ...]:
        """The families in which this account has a role of its own that lets it look."""
        return tuple(key for key in self.in_family if self.role_in(key).covers(Role.READER))


EVERYTHING = Roles(Role.OWNER)


def roles_of(user: User | AnonymousUser) -> Roles:
    """What the account may do; two queries."""
    if not isinstance(user, User):
        return Roles(Role.NONE)
    account = Account.objects.filter(user=user).first()
    general = Role.NONE if account is None else Role(account.role)
    if general is Role.OWNER:
        return EVERYTHING
    rows = FamilyRole.objects.filter(user=user).values_list("family__key", "role")
    return Roles(general, {key: Role(role) for key, role in rows})


def local_user() -> User:
    """The account of a site that is not shared; made when it is first needed."""
    user, new = User.objects.get_or_create(username=LOCAL_NAME, defaults={"is_active": False})
    if new:
        user.set_unusable_password()
        user.save(update_fields=["password"])
    return user
