"""Every address has a rule, and the rule lets through whom it should: address × role × method."""

from __future__ import annotations

import html
import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.contrib.auth.models import AnonymousUser, User
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.test import Client, RequestFactory
from django.urls import URLPattern, URLResolver, get_resolver

from setwright.workbench.accounts import managing
from setwright.workbench.accounts.middleware import Rules
from setwright.workbench.accounts.models import Role
from setwright.workbench.accounts.rules import Rule, may_write, rule_of, visible
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.records import keeping
from setwright.workbench.sets.models import SetRecord

pytestmark = pytest.mark.django_db

HERE, AWAY, LOOK, LOG_IN = "let through", "404", "403", "to the log-in page"


def patterns(resolver: URLResolver, before: str = "", space: str = "") -> Iterator[tuple[str, str, URLPattern]]:
    """Route, name and pattern of every address of the site."""
    for item in resolver.url_patterns:
        route = before + str(item.pattern)
        if isinstance(item, URLResolver):
            yield from patterns(item, route, item.namespace or space)
        else:
            yield route, f"{space}:{item.name}" if space else str(item.name), item


ADDRESSES = list(patterns(get_resolver()))
NAMES = [name for _, name, _ in ADDRESSES]
OPEN = {"healthz", "accounts:log-in", "accounts:log-out", "accounts:password"}
"""What is open to whoever comes; the page of one's own password looks itself whether somebody is logged in."""


def view_of(pattern: URLPattern) -> Callable[..., Any]:
    return pattern.callback


def rule_named(name: str) -> Rule:
    rule = rule_of(next(pattern for _, other, pattern in ADDRESSES if other == name).callback)
    assert rule is not None
    return rule


def test_addresses_were_found() -> None:
    assert {"home", "healthz", "sets:identity", "families:family", "survivors:survivor", "records:removed"} <= set(
        NAMES
    )


def test_every_address_has_a_rule() -> None:
    assert [route for route, _, pattern in ADDRESSES if rule_of(view_of(pattern)) is None] == []


def test_only_these_are_open_to_whoever_comes() -> None:
    found = {name for _, name, pattern in ADDRESSES if getattr(rule_of(view_of(pattern)), "wanted", "") is None}
    assert found == OPEN


@pytest.mark.parametrize(("route", "name"), [(route, name) for route, name, _ in ADDRESSES])
def test_an_address_of_a_set_or_family_asks_its_family(route: str, name: str) -> None:
    """A rule that forgot the family would let anybody with an account in."""
    rule = rule_named(name)
    if rule.wanted is Role.OWNER:
        return
    if found := re.match(r"sets/<key:(\w+)>/", route):
        assert rule.of_set == found[1]
    if found := re.match(r"families/<key:(\w+)>/", route):
        assert rule.family == found[1]


def expected(rule: Rule, who: str, method: str) -> str:
    """What the rules of the house say, put another way than the code does."""
    if rule.wanted is None:
        return HERE
    if who == "nobody":
        return LOG_IN
    rank = ["outsider", "reader", "contributor", "owner"].index(who)
    needed = {Role.READER: 1, Role.CONTRIBUTOR: 2, Role.OWNER: 3}[rule.wanted]
    if method == "POST":
        needed = max(needed, 2)
    if rank == 0 and rule.names_a_family:
        return AWAY
    return HERE if rank >= needed else LOOK


def filled(parameter: str, rule: Rule) -> object:
    """Something of the cast that may stand in an address."""
    if parameter == rule.of_set:
        return "bench-1"
    if parameter == rule.family:
        return "heron-6"
    return {"number": 1}.get(parameter, "something")


def outcome(user: User | AnonymousUser, pattern: URLPattern, method: str) -> str:
    request = RequestFactory().generic(method, "/somewhere/")
    request.user = user
    view = view_of(pattern)
    rule = rule_of(view)
    assert rule is not None
    kwargs = {name: filled(name, rule) for name in pattern.pattern.converters} | {
        name: filled(name, rule) for name in (rule.family, rule.of_set) if name
    }
    try:
        answer = Rules(lambda request: HttpResponse()).process_view(request, view, (), kwargs)
    except Http404:
        return AWAY
    except PermissionDenied:
        return LOOK
    if answer is None:
        return HERE
    assert answer.headers["Location"].startswith("/accounts/log-in/")
    return LOG_IN


def test_address_by_role_by_method(cast: dict[str, User]) -> None:
    people: dict[str, User | AnonymousUser] = {**cast, "nobody": AnonymousUser()}
    wrong = []
    for route, _, pattern in ADDRESSES:
        rule = rule_of(view_of(pattern))
        if rule is None:
            continue
        for who, user in people.items():
            for method in ("GET", "POST", "DELETE"):
                should = expected(rule, who, "GET" if method == "GET" else "POST")
                found = outcome(user, pattern, method)
                if found != should:
                    wrong.append((route, who, method, should, found))
    assert wrong == []


# From here on through the whole site, with what each address is meant to be written down once more.

READ = {"nobody": 302, "outsider": 404, "reader": 200, "contributor": 200, "owner": 200}
ASK = {"nobody": 302, "outsider": 404, "reader": 403, "contributor": 200, "owner": 200}
CHANGE = {"nobody": 302, "outsider": 404, "reader": 403, "contributor": 302, "owner": 302}
LIST = {"nobody": 302, "outsider": 403, "reader": 200, "contributor": 200, "owner": 200}
OWN = {"nobody": 302, "outsider": 403, "reader": 403, "contributor": 403, "owner": 200}
TABLE = [
    ("GET", "/sets/", LIST),
    ("GET", "/sets/bench-1/set.toml", READ),
    ("GET", "/sets/bench-1/history/", READ),
    ("GET", "/sets/bench-1/history/1/", READ),
    ("GET", "/sets/bench-1/remove/", ASK),
    ("POST", "/sets/bench-1/remove/", CHANGE),
    ("GET", "/families/", LIST),
    ("GET", "/families/heron-6/", READ),
    ("GET", "/families/heron-6/family.toml", READ),
    ("GET", "/families/heron-6/history/", READ),
    ("GET", "/families/heron-6/survivors/", READ),
    ("GET", "/families/heron-6/survivors/survivors.csv", READ),
    ("GET", "/families/heron-6/survivors/history/", READ),
    ("POST", "/families/heron-6/survivors/remove/", CHANGE),
    ("GET", "/removed/", LIST),
    ("GET", "/accounts/", OWN),
    ("GET", "/accounts/of/reader/", OWN),
    ("GET", "/healthz", dict.fromkeys(LIST, 200)),
    ("GET", "/accounts/log-in/", dict.fromkeys(LIST, 200)),
]


@pytest.mark.parametrize(("method", "address", "statuses"), TABLE, ids=lambda value: str(value)[:40])
def test_the_whole_way(seat: Callable[[str], Client], method: str, address: str, statuses: dict[str, int]) -> None:
    found = {who: seat(who).generic(method, address).status_code for who in statuses if who != "owner"}
    found["owner"] = seat("owner").generic(method, address).status_code if method == "GET" else statuses["owner"]
    assert found == statuses


def test_whoever_may_only_look_is_told_plainly(seat: Callable[[str], Client]) -> None:
    response = seat("reader").post("/sets/bench-1/remove/")
    assert "Your account may not do this" in response.content.decode()
    assert SetRecord.objects.count() == 1


def test_the_log_in_page_leads_back(seat: Callable[[str], Client]) -> None:
    response = seat("nobody").get("/sets/bench-1/?learned=1")
    assert response.headers["Location"] == "/accounts/log-in/?next=%2Fsets%2Fbench-1%2F%3Flearned%3D1"
    assert seat("nobody").post("/sets/bench-1/remove/").headers["Location"] == "/accounts/log-in/"
    partial = seat("nobody").get("/sets/", headers={"HX-Request": "true"})
    assert partial.headers["HX-Redirect"].startswith("/accounts/log-in/")


def words(response: HttpResponse) -> str:
    return html.unescape(response.content.decode())


@pytest.mark.parametrize("address", ["/sets/", "/families/", "/removed/"])
def test_lists_hide_what_one_may_not_see(seat, cast, plover_texts, address: str) -> None:
    with_plover(plover_texts)
    managing.set_family_role(cast["outsider"], FamilyRecord.objects.get(key="plover-5"), Role.READER)
    if address == "/removed/":
        keeping.remove(SetRecord.objects.get(), None)
    assert "bench-1" in words(seat("reader").get("/removed/")) or address != "/removed/"
    for word in ("bench-1", "heron-6"):
        response = seat("outsider").get(address)
        assert response.status_code == 200
        assert word not in words(response)


def with_plover(texts: dict[str, str]) -> None:
    """A second family, without sets."""
    from setwright.workbench.services.imports import Incoming, import_contents

    import_contents([Incoming("plover.toml", texts["family"].encode())])


def test_a_role_in_one_family_goes_before_the_general_one(seat, cast, plover_texts) -> None:
    with_plover(plover_texts)
    heron = FamilyRecord.objects.get(key="heron-6")
    managing.set_family_role(cast["outsider"], heron, Role.CONTRIBUTOR)
    managing.set_family_role(cast["contributor"], heron, Role.NONE)
    managing.set_family_role(cast["reader"], heron, Role.CONTRIBUTOR)
    managing.set_family_role(cast["owner"], heron, Role.READER)
    assert seat("outsider").get("/families/plover-5/").status_code == 404
    assert seat("outsider").get("/sets/bench-1/remove/").status_code == 200
    assert seat("contributor").get("/sets/bench-1/history/").status_code == 404
    assert seat("contributor").get("/families/plover-5/remove/").status_code == 200
    assert seat("reader").get("/sets/bench-1/remove/").status_code == 200
    assert seat("reader").get("/families/plover-5/remove/").status_code == 403
    assert seat("owner").get("/sets/bench-1/remove/").status_code == 200
    shown = {
        who: sorted(visible(request_of(user), FamilyRecord.objects.all()).values_list("key", flat=True))
        for who, user in cast.items()
    }
    assert shown == {
        "owner": ["heron-6", "plover-5"],
        "contributor": ["plover-5"],
        "reader": ["heron-6", "plover-5"],
        "outsider": ["heron-6"],
    }
    assert may_write(request_of(cast["outsider"]), "heron-6")
    assert not may_write(request_of(cast["outsider"]))


def request_of(user: User) -> Any:
    request = RequestFactory().get("/")
    request.user = user
    return request


def test_what_was_removed_comes_back_by_who_may_write_there(seat, cast) -> None:
    keeping.remove(SetRecord.objects.get(), None)
    address = "/removed/set/bench-1/bring-back/"
    assert seat("outsider").post(address).status_code == 403
    assert seat("reader").post(address).status_code == 403
    managing.set_family_role(cast["contributor"], FamilyRecord.objects.get(), Role.NONE)
    assert seat("contributor").post(address).status_code == 404
    managing.set_family_role(cast["reader"], FamilyRecord.objects.get(), Role.CONTRIBUTOR)
    assert seat("reader").post(address).status_code == 302


def test_a_view_without_a_rule_is_reached_by_nobody(cast) -> None:
    request = request_of(cast["owner"])
    with pytest.raises(PermissionDenied):
        Rules(lambda request: HttpResponse()).process_view(request, lambda request: HttpResponse(), (), {})


def test_alone_nothing_is_asked_and_all_belongs_to_you(shelf: None, client: Client) -> None:
    assert client.post("/sets/bench-1/remove/").status_code == 302
    record = SetRecord.everything.get()
    assert record.changed_by is not None
    assert record.changed_by.get_username() == "you"
    assert not record.changed_by.has_usable_password()
    for address in ("/accounts/", "/accounts/log-in/", "/accounts/password/"):
        assert client.get(address).status_code == 404
    assert client.post("/accounts/log-out/").status_code == 404
    assert "setwright-session" not in client.cookies


def test_pages_of_a_shared_site_are_kept_by_nobody_in_between(seat) -> None:
    assert seat("reader").get("/families/").headers["Cache-Control"] == "private, no-cache"


@pytest.mark.parametrize("address", ["/sets/bench-1/history/", "/families/", "/removed/"])
def test_sharing_costs_a_few_queries_a_page(seat, settings, address: str, django_assert_max_num_queries) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    client = seat("reader")
    settings.SHARED = False
    with CaptureQueriesContext(connection) as alone:
        client.get(address)
    settings.SHARED = True
    # The session, the account, its roles in general and in single families, and a set's family.
    with django_assert_max_num_queries(len(alone) + 5):
        assert client.get(address).status_code == 200
