"""Logging in and out, guessing, and the owner's pages."""

from __future__ import annotations

import html
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.utils import timezone

from setwright.workbench.accounts import managing, throttle
from setwright.workbench.accounts.managing import AccountRefused
from setwright.workbench.accounts.models import Account, Attempt, FamilyRole, Role
from setwright.workbench.records import history, keeping
from setwright.workbench.sets.models import SetRecord

pytestmark = pytest.mark.django_db

PASSWORD = "rivet brass walnut"
LOG_IN = "/accounts/log-in/"


def words(response) -> str:
    return html.unescape(response.content.decode())


def log_in(name: str = "reader", password: str = PASSWORD, **more: str):
    address = more.pop("address", "192.0.2.7")
    client = Client(REMOTE_ADDR=address)
    return client, client.post(LOG_IN, {"name": name, "password": password, **more})


def test_name_and_password_let_in(cast: dict[str, User]) -> None:
    client, response = log_in(next="/families/")
    assert (response.status_code, response.headers["Location"]) == (302, "/families/")
    assert client.get("/families/").status_code == 200
    cookie = response.cookies["setwright-session"]
    assert (cookie["httponly"], cookie["samesite"], cookie["secure"]) == (True, "Lax", "")
    assert client.post("/accounts/log-out/").headers["Location"] == LOG_IN
    assert client.get("/families/").status_code == 302


def test_cookies_go_through_tls_only_where_there_is_tls(cast: dict[str, User], settings) -> None:
    settings.SESSION_COOKIE_SECURE = settings.CSRF_COOKIE_SECURE = True
    _, response = log_in()
    assert response.cookies["setwright-session"]["secure"] is True


def test_a_form_without_its_token_is_refused(cast: dict[str, User]) -> None:
    client = Client(enforce_csrf_checks=True)
    assert client.post(LOG_IN, {"name": "reader", "password": PASSWORD}).status_code == 403
    client.force_login(cast["owner"])
    assert client.post("/sets/bench-1/remove/").status_code == 403
    assert SetRecord.objects.count() == 1


@pytest.mark.parametrize("after", ["https://elsewhere.example/", "//elsewhere.example/", "javascript:alert(1)", ""])
def test_nobody_is_sent_elsewhere(cast: dict[str, User], after: str) -> None:
    _, response = log_in(next=after)
    assert response.headers["Location"] == "/"
    assert "elsewhere" not in words(Client().get(LOG_IN, {"next": after}))


@pytest.mark.parametrize(
    ("name", "password"),
    [("reader", "wrong word here"), ("stranger", PASSWORD), ("you", ""), ("", PASSWORD), ("rea\0der", PASSWORD)],
)
def test_what_does_not_belong_together_is_told_alike(cast: dict[str, User], name: str, password: str) -> None:
    client, response = log_in(name, password)
    assert response.status_code == 422
    assert PASSWORD not in words(response)
    assert client.get("/families/").status_code == 302


def test_the_local_account_never_logs_in(cast: dict[str, User]) -> None:
    from setwright.workbench.accounts.roles import local_user

    local_user()
    _, response = log_in("you", "!")
    assert response.status_code == 422


def test_guessing_one_name_is_slowed_down_and_told(cast: dict[str, User]) -> None:
    for number in range(throttle.MOST_PER_NAME):
        _, response = log_in(password="guess number one", address=f"192.0.2.{number}")
        assert response.status_code == 422
    _, response = log_in(name="READER", address="192.0.2.99")
    assert response.status_code == 429
    assert "Too many attempts failed" in words(response)
    assert 0 < int(response.headers["Retry-After"]) <= throttle.WINDOW.total_seconds()
    assert log_in("owner")[1].status_code == 302  # others are let in
    Attempt.objects.update(at=timezone.now() - throttle.WINDOW - timedelta(seconds=1))
    assert log_in()[1].status_code == 302
    assert not Attempt.objects.exists()


def test_guessing_many_names_from_one_address_is_slowed_down(cast: dict[str, User]) -> None:
    for number in range(throttle.MOST_PER_ADDRESS):
        assert log_in(f"name{number}")[1].status_code == 422
    assert log_in()[1].status_code == 429
    assert log_in(address="192.0.2.8")[1].status_code == 302


def test_who_is_let_in_starts_anew(cast: dict[str, User]) -> None:
    for _ in range(throttle.MOST_PER_NAME - 1):
        log_in(password="guess number one")
    assert log_in()[1].status_code == 302
    assert log_in(password="guess number one")[1].status_code == 422
    assert log_in()[1].status_code == 302


def test_ones_own_password(cast: dict[str, User]) -> None:
    client, _ = log_in()
    other, _ = log_in()
    new = "walnut brass rivet"
    wrong = client.post("/accounts/password/", {"present": "not this one", "password": new})
    assert (wrong.status_code, "present password is another" in words(wrong)) == (422, True)
    weak = client.post("/accounts/password/", {"present": PASSWORD, "password": "short"})
    assert (weak.status_code, "too short" in words(weak)) == (422, True)
    done = client.post("/accounts/password/", {"present": PASSWORD, "password": new})
    assert "holds from now on" in words(done)
    assert client.get("/families/").status_code == 200
    assert other.get("/families/").status_code == 302
    assert log_in()[1].status_code == 422
    assert log_in(password=new)[1].status_code == 302
    assert Client().get("/accounts/password/").status_code == 302


def test_the_owner_makes_changes_and_removes_accounts(seat: Callable[[str], Client], cast: dict[str, User]) -> None:
    owner = seat("owner")
    assert "contributor" in words(owner.get("/accounts/"))
    made = owner.post("/accounts/add/", {"name": "mate", "password": PASSWORD, "role": "reader"})
    assert made.headers["Location"] == "/accounts/of/mate/"
    mate = User.objects.get(username="mate")
    owner.post("/accounts/of/mate/role/", {"role": "contributor"})
    owner.post("/accounts/of/mate/role/", {"role": "none", "family": "heron-6"})
    assert Account.objects.get(user=mate).role == Role.CONTRIBUTOR
    assert FamilyRole.objects.get(user=mate).role == Role.NONE
    assert '<option value="none" selected>' in words(owner.get("/accounts/of/mate/"))
    owner.post("/accounts/of/mate/role/", {"role": "", "family": "heron-6"})
    assert not FamilyRole.objects.exists()
    assert owner.post("/accounts/of/mate/password/", {"password": "another long word"}).status_code == 302
    assert log_in("mate", "another long word")[1].status_code == 302
    assert owner.post("/accounts/of/mate/remove/").status_code == 302
    assert not User.objects.filter(username="mate").exists()
    assert owner.get("/accounts/of/mate/").status_code == 404
    assert owner.get("/accounts/of/%00/").status_code == 404


@pytest.mark.parametrize(
    ("address", "sent", "told"),
    [
        ("add/", {"name": "reader", "password": PASSWORD, "role": "reader"}, "is taken"),
        ("add/", {"name": "Reader", "password": PASSWORD, "role": "reader"}, "is taken"),
        ("add/", {"name": "You", "password": PASSWORD, "role": "reader"}, "is taken"),
        ("add/", {"name": "two words", "password": PASSWORD, "role": "reader"}, "without spaces"),
        ("add/", {"name": "mate", "password": "1234567890123", "role": "reader"}, "numeric"),
        ("add/", {"name": "mate", "password": PASSWORD, "role": "king"}, "Give a name"),
        ("of/owner/role/", {"role": "reader"}, "only owner"),
        ("of/owner/remove/", {}, "only owner"),
        ("of/reader/role/", {"role": "owner", "family": "heron-6"}, "An owner owns everything"),
        ("of/reader/role/", {"role": "reader", "family": "none"}, 'no family "none"'),
        ("of/reader/role/", {"role": ""}, "Choose a role"),
        ("of/reader/role/", {"role": "king"}, "Choose one of the roles"),
        ("of/reader/password/", {"password": ""}, "too short"),
    ],
)
def test_what_cannot_be_is_told(seat: Callable[[str], Client], address: str, sent: dict, told: str) -> None:
    response = seat("owner").post(f"/accounts/{address}", sent)
    assert response.status_code == 422
    assert told in words(response)


def test_what_somebody_wrote_stays_when_they_go(cast: dict[str, User]) -> None:
    record = SetRecord.objects.get()
    keeping.keep(record, record.text + "# so\n", by=cast["reader"], what="A remark")
    managing.remove_account(cast["reader"])
    newest = history.revisions_of(record)[0]
    assert (newest.by, newest.by_name) == (None, "reader")
    assert SetRecord.objects.get().changed_by is None


def test_before_sharing_is_not_you(cast: dict[str, User], seat: Callable[[str], Client]) -> None:
    from setwright.workbench.accounts.roles import local_user

    record = SetRecord.objects.get()
    keeping.keep(record, record.text + "# so\n", by=local_user(), what="A remark")
    assert "the owner of this machine" in words(seat("reader").get("/sets/bench-1/history/"))


def test_an_account_that_is_not_there_is_told(db: None) -> None:
    with pytest.raises(AccountRefused, match="no account"):
        managing.account_named("nobody")
    assert not managing.owner_exists()
