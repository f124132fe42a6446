"""The rule of every view: who may ask for it. Where the site is shared a view without one is refused.

    @reads(of_set="key")            the address's `key` names a set: its family decides. family="key": a family's key
    @writes(family="key")           contributors of that family, whatever the method
    @reads() / @writes()            no single family: who may look at any family may look (filter lists by `visible`),
                                    contributors in general may write; writes(somewhere=True) takes contributors of
                                    any one family, and the view asks `may_write` once it knows which
    @owns / @anyone                 owners; whoever comes, without an account

Who has no role in a family gets 404, who may only look gets 403 on writing; `@reads` asks for a contributor as soon as
the method is not a safe one. The order among other decorators does not matter. The view loads its record itself.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar

from django.conf import settings
from django.db.models import Model, Q, QuerySet
from django.http import HttpRequest

from setwright.workbench.accounts.models import Role
from setwright.workbench.accounts.roles import EVERYTHING, Roles, roles_of

View = TypeVar("View", bound=Callable[..., Any])
AnyModel = TypeVar("AnyModel", bound=Model)


@dataclass(frozen=True, slots=True)
class Rule:
    """Who may ask for a view.

    wanted : the role it takes; None for whoever comes. family, of_set : the part of the address that names the
    family or set. somewhere : the role in any one family is enough.
    """

    wanted: Role | None
    family: str = ""
    of_set: str = ""
    somewhere: bool = False

    @property
    def names_a_family(self) -> bool:
        """Whether the address says which family it is about."""
        return bool(self.family or self.of_set)


def reads(*, family: str = "", of_set: str = "") -> Callable[[View], View]:
    """Who may look. Without a family: whoever may look at any."""
    return _carries(Rule(Role.READER, family, of_set))


def writes(*, family: str = "", of_set: str = "", somewhere: bool = False) -> Callable[[View], View]:
    """Who may add and change."""
    return _carries(Rule(Role.CONTRIBUTOR, family, of_set, somewhere))


def owns(view: View) -> View:
    """Owners only."""
    return _carries(Rule(Role.OWNER))(view)


def anyone(view: View) -> View:
    """Whoever comes, logged in or not."""
    return _carries(Rule(None))(view)


def _carries(rule: Rule) -> Callable[[View], View]:
    def carry(view: View) -> View:
        view.rule = rule  # type: ignore[attr-defined]
        return view

    return carry


def rule_of(view: Callable[..., Any]) -> Rule | None:
    """The rule of a view; None where it has none."""
    return getattr(view, "rule", None)


def roles_for(request: HttpRequest) -> Roles:
    """What whoever asks may do; read once a request."""
    if not settings.SHARED:
        return EVERYTHING
    found: Roles | None = getattr(request, "_roles", None)
    if found is None:
        found = roles_of(request.user)
        request._roles = found  # type: ignore[attr-defined]
    return found


def may_read(request: HttpRequest, family: str) -> bool:
    """Whether whoever asks may look at this family, its sets and survivors."""
    return roles_for(request).role_in(family).covers(Role.READER)


def may_write(request: HttpRequest, family: str | None = None) -> bool:
    """Whether whoever asks may add and change in this family; None asks for what belongs to no single one."""
    return roles_for(request).role_in(family).covers(Role.CONTRIBUTOR)


def is_owner(request: HttpRequest) -> bool:
    """Whether whoever asks may do everything."""
    return roles_for(request).general is Role.OWNER


def visible(request: HttpRequest, queryset: QuerySet[AnyModel], path: str = "key") -> QuerySet[AnyModel]:
    """Only what belongs to families that whoever asks may look at.

    path : the way from the model to the family's key, as "family__key" for sets.
    """
    return queryset.filter(visible_where(request, path))


def visible_where(request: HttpRequest, path: str = "key") -> Q:
    """The same as a condition, for models that only sometimes belong to a family."""
    roles = roles_for(request)
    if roles.general.covers(Role.READER):
        return ~Q(**{f"{path}__in": roles.hidden}) if roles.hidden else Q()
    return Q(**{f"{path}__in": roles.shown})
