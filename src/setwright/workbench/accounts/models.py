"""What an account may do, in general and in single families; and attempts to log in."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from setwright.workbench.families.models import FamilyRecord


class Role(models.TextChoices):
    """What an account may do; each may do what those before it may."""

    NONE = "none", "nothing"
    READER = "reader", "look"
    CONTRIBUTOR = "contributor", "add and change"
    OWNER = "owner", "everything, accounts too"

    def covers(self, other: Role) -> bool:
        """Whether this role may do what the other may."""
        order = list(Role)
        return order.index(self) >= order.index(other)


class Account(models.Model):
    """The general role of a user: what holds in every family that has no role of its own for them."""

    user = models.OneToOneField(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="account")
    role = models.CharField(max_length=20, choices=Role.choices, default=Role.READER)

    def __str__(self) -> str:
        return f"{self.user}: {self.role}"


class FamilyRole(models.Model):
    """The role of a user in one family, in place of their general one. Its sets and survivors follow it."""

    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="family_roles")
    family = models.ForeignKey(FamilyRecord, on_delete=models.CASCADE, related_name="roles")
    role = models.CharField(max_length=20, choices=Role.choices)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["user", "family"], name="one_role_a_family")]

    def __str__(self) -> str:
        return f"{self.user} in {self.family}: {self.role}"


class Attempt(models.Model):
    """One attempt to log in that did not succeed, or is just being looked at."""

    name = models.CharField(max_length=150)
    address = models.CharField(max_length=100)
    at = models.DateTimeField()

    class Meta:
        indexes = [models.Index(fields=["name", "at"]), models.Index(fields=["address", "at"])]

    def __str__(self) -> str:
        return f"{self.name} from {self.address}"
