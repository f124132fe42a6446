"""A shared site in the browser: in with name and password; histories read and taken back; out again."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from looked_at import accessible, fits
from playwright.sync_api import expect

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

PASSWORD = "rivet brass walnut"
TAKE_BACK = re.compile("Take this back.*Rivets seen")


@pytest.fixture
def shared(sheets: Callable, settings: Any) -> Iterator[Callable]:
    """The site, shared; an owner who is called ada, and a reader who is called bo."""
    from setwright.workbench.accounts import managing
    from setwright.workbench.accounts.models import Role

    settings.SHARED = True
    ada = managing.add_account("ada", PASSWORD, Role.OWNER)
    managing.add_account("bo", PASSWORD, Role.READER)
    write_history(ada)
    return sheets


def write_history(by: Any) -> None:
    from setwright.files import editing
    from setwright.workbench.records import keeping
    from setwright.workbench.services.records import family_of
    from setwright.workbench.sets.models import SetRecord

    record = SetRecord.objects.select_related("family").get(key="bench-1")
    family = family_of(record.family)
    table = {"feature": "output-rivets", "state": "four", "note": "seen from below, under the can, with a mirror " * 3}
    keeping.edit(
        record, lambda file: editing.add_observation(file, family, table), by=by, what="Rivets seen: four, certain"
    )


def log_in(page: Any, name: str) -> None:
    page.get_by_label("Name").fill(name)
    page.get_by_label("Password").fill(PASSWORD)
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Log out").wait_for()


PAGES = [
    "/sets/bench-1/history/",
    "/sets/bench-1/history/2/",
    "/families/heron-6/history/1/",
    "/sets/bench-1/remove/",
    "/families/heron-6/remove/",
    "/removed/",
    "/accounts/",
    "/accounts/of/bo/",
    "/accounts/password/",
]


@pytest.mark.parametrize(("size", "dark"), [("phone", False), ("desk", True)], ids=["phone-light", "desk-dark"])
def test_pages_are_accessible_and_fit(shared: Callable, size: str, dark: bool) -> None:
    sheet = shared("/accounts/log-in/", size, dark=dark)
    page, base = sheet.page, sheet.page.url.removesuffix("/accounts/log-in/")
    fits(page)
    accessible(page)
    log_in(page, "ada")
    for address in PAGES:
        assert page.goto(base + address).status == 200
        fits(page)
        accessible(page)
    assert sheet.said == []


def test_a_change_is_taken_back_without_script(shared: Callable) -> None:
    page = shared("/accounts/log-in/?next=/sets/bench-1/history/", "phone", script=False).page
    log_in(page, "ada")
    page.get_by_role("button", name=TAKE_BACK).click()
    assert page.locator("ol.history li").first.inner_text().startswith("Taken back: Rivets seen: four, certain")
    page.get_by_role("link", name="Taken back: Rivets seen").click()
    expect(page.locator("del", has_text="output-rivets")).to_have_count(1)


def test_two_tabs(shared: Callable) -> None:
    page = shared("/accounts/log-in/?next=/sets/bench-1/history/").page
    log_in(page, "ada")
    other = page.context.new_page()
    other.goto(page.url)
    page.get_by_role("button", name=TAKE_BACK).click()
    other.get_by_role("button", name="As it stood then").last.click()
    assert "was changed meanwhile" in other.locator("h1").inner_text()
    assert "ada" in other.locator(".lead").inner_text()
    expect(other.locator("del", has_text="output-rivets")).to_have_count(1)


def test_a_reader_sees_no_buttons_and_goes_out(shared: Callable) -> None:
    page = shared("/accounts/log-in/?next=/sets/bench-1/history/", "phone").page
    log_in(page, "bo")
    assert page.get_by_role("button").all_inner_texts() == ["Find", "Log out"]
    page.get_by_role("button", name="Log out").click()
    assert page.locator("h1").inner_text() == "Log in"
    expect(page.locator("nav")).to_have_count(0)
