"""The family editor and the making of families in a real browser."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from looked_at import fits_and_is_accessible
from playwright.sync_api import expect

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

EDIT = "/families/heron-6/edit/"
PAGES = [
    EDIT,
    EDIT + "family/",
    EDIT + "features/add/",
    EDIT + "features/of/tone-capacitor/",
    EDIT + "versions/of/second/",
    EDIT + "versions/of/second/remove/",
    EDIT + "bounds/of/1/",
    EDIT + "serials/add/",
    EDIT + "file/",
    EDIT + "table/",
    "/families/plover-5/edit/",
    "/new-family/",
    "/new-family/printings/",
    "/new-family/file/",
]
DESK_PAGES = [EDIT, EDIT + "features/add/", "/new-family/printings/"]
EARLY = "C12 .05 mfd 400 V paper\nR7 470k 1/2 watt\nV3 6SA7 converter\n"
LATE = "C12 .02 mfd 400 V paper\nR7 470k 1/2 watt\nV3 6BE6 converter\n"


@pytest.mark.parametrize(
    ("address", "size", "dark"),
    [*((address, "phone", False) for address in PAGES), *((address, "desk", True) for address in DESK_PAGES)],
)
def test_pages_fit_and_are_accessible(sheets: Callable, address: str, size: str, dark: bool) -> None:
    sheet = sheets(address, size, dark=dark)
    fits_and_is_accessible(sheet.page)
    assert sheet.said == []


def test_a_box_to_tick_stands_beside_its_words(sheets: Callable) -> None:
    page = sheets(EDIT + "family/", "desk").page
    box = page.get_by_role("checkbox", name="On its drawings").bounding_box()
    words = page.locator("label.choice", has_text="On its drawings").bounding_box()
    assert box["width"] < 40
    assert box["x"] - words["x"] < 5
    assert words["height"] < 60, "its words stand on one line"


@pytest.mark.parametrize("script", [True, False], ids=["script", "no-script"])
def test_on_a_phone_one_version_stands_there_at_a_time(sheets: Callable, script: bool) -> None:
    page = sheets(EDIT, "phone", script=script).page
    shown = page.locator(".edit-grid td input:visible")
    expect(shown).to_have_count(5)
    assert shown.nth(1).input_value() == "6SA7"
    page.get_by_role("radio", name="Third printing").check()
    assert shown.nth(1).get_attribute("placeholder") == "as before: 6BE6"
    assert min(shown.nth(n).bounding_box()["height"] for n in range(5)) >= 40
    shown.nth(0).fill("foil")
    page.get_by_role("radio", name="Second printing").check()
    shown.nth(4).fill("two lamps")
    page.get_by_role("button", name="Save the grid").click()
    expect(page.get_by_text("Saved: 2 states changed in Second printing and Third printing.")).to_be_visible()
    assert page.get_by_role("radio", name="Second printing").is_checked()
    assert shown.nth(4).input_value() == "two lamps"


@pytest.mark.parametrize("size", ["phone", "desk"])
def test_a_cell_that_will_not_do_comes_into_view_with_everything_entered(sheets: Callable, size: str) -> None:
    page = sheets(EDIT, size).page
    for name, text in (("cell:converter:third", "6be-6"), ("cell:dial-lamp:second", "two lamps")):
        page.evaluate("([name, text]) => { document.getElementsByName(name)[0].value = text }", [name, text])
    page.get_by_role("button", name="Save the grid").click()
    wrong = page.locator('[name="cell:converter:third"]')
    expect(wrong).to_be_visible()
    assert wrong.get_attribute("aria-invalid") == "true"
    said = page.locator(f"#{wrong.get_attribute('aria-describedby')}")
    assert "which is listed" in said.inner_text()
    assert page.locator('[name="cell:dial-lamp:second"]').input_value() == "two lamps"
    fits_and_is_accessible(page)


def test_the_grid_is_filled_in_with_the_keyboard_alone(sheets: Callable) -> None:
    page = sheets(EDIT, "desk").page
    page.locator('[name="cell:label:first"]').focus()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.name") == "cell:label:second"
    page.keyboard.press("Control+A")
    page.keyboard.type("foil")
    page.keyboard.press("Enter")
    page.get_by_text("Saved: Tube layout label in Second printing: foil.").wait_for()


@pytest.mark.parametrize(("size", "script"), [("phone", False), ("desk", True)], ids=["phone-no-script", "desk"])
def test_from_two_pasted_printings_to_a_family(sheets: Callable, size: str, script: bool) -> None:
    page = sheets("/families/", size, script=script).page
    page.get_by_role("link", name="A new family").click()
    page.get_by_role("link", name="Two printings of its parts list").click()
    page.locator("#text-1").fill(EARLY)
    page.locator("#text-2").fill(LATE)
    page.get_by_role("button", name="Compare them").click()
    expect(page.get_by_text("2 features proposed")).to_be_visible()
    if script:
        fits_and_is_accessible(page)
    page.get_by_role("checkbox", name="C12").uncheck()
    expect(page.locator("#f0-label")).to_be_hidden()
    page.locator("#f1-label").fill("Converter tube")
    page.get_by_label("Name of the family").fill("Lark 5 table radio")
    page.get_by_role("button", name="Make the family").click()
    assert page.get_by_role("heading", level=1).inner_text() == "Lark 5 table radio"
    expect(page.get_by_role("link", name="Converter tube")).to_be_visible()
    expect(page.get_by_text("C12")).to_have_count(0)
