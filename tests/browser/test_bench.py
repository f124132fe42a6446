"""A set comes in, is seen at the bench and keeps its case: on a phone and on a desk, with and without script."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from looked_at import accessible, fits, fits_and_is_accessible
from playwright.sync_api import expect

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

BENCH = "/sets/bench-1/bench/"
PAGES = [
    "/intake/",
    "/sets/bench-1/",
    BENCH,
    f"{BENCH}at/back-off/",
    f"{BENCH}at/underside/",
    "/sets/tall-shelf/bench/",
    "/sets/bench-1/intake/",
    "/sets/bench-1/condition/",
    "/sets/bench-1/readings/",
    "/sets/bench-1/seen/",
    "/sets/bench-1/seen/1/",
]
SIZES = ["phone", "desk"]
SCRIPT = pytest.mark.parametrize("script", [True, False], ids=["script", "no-script"])


@pytest.fixture(autouse=True)
def photos_in_a_place_of_their_own(settings: Any, tmp_path: Path) -> None:
    settings.DATA_DIR = tmp_path


@pytest.mark.parametrize(("size", "dark"), [("phone", True), ("desk", False)], ids=["phone-dark", "desk-light"])
@pytest.mark.parametrize("address", PAGES)
def test_every_page_fits_is_accessible_and_silent(sheets: Callable, address: str, size: str, dark: bool) -> None:
    sheet = sheets(address, size, dark=dark)
    fits_and_is_accessible(sheet.page)
    assert sheet.said == []


class Taps:
    """Counts what a finger does."""

    def __init__(self) -> None:
        self.count = 0

    def __call__(self, place: Any) -> None:
        self.count += 1
        place.click()


@SCRIPT
@pytest.mark.parametrize("size", SIZES)
def test_an_observation_takes_three_taps_at_most_and_says_what_it_changed(
    sheets: Callable, size: str, script: bool
) -> None:
    sheet = sheets("/sets/bench-1/", size, script=script)
    page, tap = sheet.page, Taps()
    tap(page.get_by_role("link", name="Look, and note what you see"))
    look = page.locator("#look-knobs")
    tap(look.get_by_role("button", name="ivory"))
    said = page.get_by_role("status").filter(has_text="Knobs seen: ivory.")
    said.wait_for()
    assert tap.count <= 3
    expect(said.get_by_role("button", name="Undo")).to_be_visible()
    fits(page)
    if script:
        assert page.evaluate("document.activeElement.id") == "told"
        assert "told=2" in page.url
        accessible(page)
    said.get_by_role("button", name="Undo").click()
    page.get_by_text("Taken back: Knobs seen: ivory.").wait_for()
    expect(page.locator("#look-knobs")).to_be_visible()
    assert sheet.said == []


@SCRIPT
def test_seeing_further_in_with_its_cautions(sheets: Callable, script: bool) -> None:
    page = sheets(BENCH, "phone", script=script).page
    page.get_by_role("navigation", name="How far in").get_by_role("link", name=re.compile("Chassis out")).click()
    expect(page.get_by_text("Before this step")).to_be_visible()
    expect(page.locator("button[name=state]")).to_have_count(0)
    page.get_by_role("button", name="I have opened it: the chassis is out").click()
    four = page.locator("#look-output-rivets").get_by_role("button", name="four")
    four.wait_for()
    expect(page.get_by_text("Before this step"), "the cautions stay").to_be_visible()
    four.click()
    page.get_by_text("Rivets of the output transformer seen: four.").wait_for()
    expect(page.get_by_text("Everything that can be seen here was looked at.")).to_be_visible()


@SCRIPT
def test_a_value_a_note_and_a_photo_and_then_a_change_of_mind(sheets: Callable, script: bool, tmp_path: Path) -> None:
    from PIL import Image

    picture = tmp_path / "capacitor.jpg"
    Image.new("RGB", (80, 60), "brown").save(picture)
    page = sheets(f"{BENCH}at/outside/", "phone", script=script).page
    look = page.locator("#look-knobs")
    look.get_by_text("Something else, how sure, a note, a photo").click()
    look.get_by_label("Something else, as it reads").fill("Ivry")
    look.get_by_label("Likely").check()
    look.get_by_label("Note").fill("two of four")
    look.get_by_role("button", name="Keep what is written").click()
    page.get_by_role("alert").wait_for()
    assert look.get_by_label("Note").input_value() == "two of four", "what was entered stays"
    assert look.get_by_label("Likely").is_checked()
    look.get_by_label("Photos of it").set_input_files(picture)
    look.get_by_role("alert").get_by_role("button", name="ivory", exact=True).click()
    page.get_by_text("Knobs seen: ivory, likely.").wait_for()
    page.get_by_role("link", name="Change Knobs").click()
    page.get_by_label("brown").check()
    page.get_by_role("button", name="Keep").click()
    page.get_by_text("Knobs: brown, likely").wait_for()
    site = page.url.split("/sets/")[0]
    page.goto(f"{site}/sets/bench-1/seen/")
    expect(page.get_by_text("Knobs: brown, likely two of four")).to_be_visible()
    page.get_by_role("link", name=re.compile("Change Knobs")).click()
    page.get_by_role("button", name="It was wrong: take it out").click()
    expect(page.get_by_text("Knobs")).to_have_count(0)
    page.goto(f"{site}/sets/bench-1/")
    expect(page.get_by_text("1 photo")).to_be_visible()


@pytest.mark.parametrize("size", SIZES)
def test_a_set_comes_in_and_its_case_is_written_without_script(sheets: Callable, size: str) -> None:
    page = sheets("/sets/", size, script=False).page
    page.get_by_role("link", name="A set came in").click()
    page.get_by_label("Family", exact=True).select_option("heron-6")
    page.get_by_label("What you call it").fill("The one from the mill")
    page.get_by_label("Serial, as read").fill("H 2?5!")
    page.get_by_role("button", name="Take it in").click()
    expect(page.get_by_role("alert")).to_be_visible()
    page.get_by_label("Serial, as read").fill("H 2?51")
    page.get_by_role("button", name="Take it in").click()
    assert page.get_by_role("heading", level=1).inner_text() == "The one from the mill"
    page.get_by_role("link", name="Write down the intake").click()
    page.get_by_label("What is missing").fill("rear cover\none knob")
    page.get_by_role("button", name="Keep").click()
    expect(page.get_by_text("Missing: rear cover and one knob.")).to_be_visible()
    page.get_by_role("link", name="Note its condition").click()
    page.get_by_label("What was found").fill("veneer lifting")
    page.get_by_role("button", name="Keep").click()
    page.get_by_role("link", name="The one from the mill").first.click()
    page.get_by_role("link", name="Write down a reading").click()
    page.get_by_label("Point").fill("V3.plate")
    page.get_by_label("Value").fill("87.5")
    page.get_by_role("button", name="Keep").click()
    expect(page.get_by_text("V3.plate: 87.5 V direct")).to_be_visible()
    page.get_by_role("link", name="The one from the mill").first.click()
    expect(page.get_by_text("Cabinet: veneer lifting.")).to_be_visible()
    page.get_by_role("link", name="Setwright").click()
    page.get_by_label("Find by name").fill("mill")
    page.get_by_role("button", name="Show", exact=True).click()
    expect(page.locator(".line-up > li")).to_have_count(1)
    fits(page)


def test_all_of_a_look_goes_by_keyboard(sheets: Callable) -> None:
    page = sheets(f"{BENCH}at/outside/", "desk").page
    for _ in range(60):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.innerText") == "ivory":
            break
    outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    assert outline == "solid"
    page.keyboard.press("Enter")
    page.get_by_text("Knobs seen: ivory.").wait_for()
    page.wait_for_function("document.activeElement.id === 'told'")  # what was kept is read out first
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.innerText") == "Undo"


def test_enter_in_the_field_keeps_what_is_written_there(sheets: Callable) -> None:
    page = sheets(f"{BENCH}at/outside/", "desk").page
    look = page.locator("#look-knobs")
    look.get_by_text("Something else, how sure, a note, a photo").click()
    look.get_by_label("Something else, as it reads").fill("glass")
    page.keyboard.press("Enter")
    page.get_by_text("Knobs seen: glass.").wait_for()


def test_what_does_not_reach_the_site_is_told_and_stays(sheets: Callable) -> None:
    page = sheets(f"{BENCH}at/outside/", "phone").page
    look = page.locator("#look-knobs")
    look.get_by_text("Something else, how sure, a note, a photo").click()
    look.get_by_label("Note").fill("read by flashlight")
    for answer, told in (
        (lambda route: route.abort(), "the site cannot be reached"),
        (lambda route: route.fulfill(status=500, body="x"), "something in Setwright went wrong"),
    ):
        page.route("**/see/**", answer)
        look.get_by_role("button", name="ivory").click()
        look.get_by_text(told).wait_for()
        assert look.get_by_label("Note").input_value() == "read by flashlight"
        page.unroute("**/see/**")
    look.get_by_role("button", name="ivory").click()
    page.get_by_text("Knobs seen: ivory.").wait_for()
    expect(page.get_by_text("read by flashlight")).to_be_visible()


def test_the_full_answer_takes_the_place_of_the_quick_one_by_itself(
    sheets: Callable, monkeypatch: pytest.MonkeyPatch
) -> None:
    from setwright.workbench.services import identity

    monkeypatch.setattr(identity, "_runs", identity.Runs(identity.ByContent(size=8)))
    page = sheets(BENCH, "phone").page
    expect(page.get_by_text("Quick answer")).to_be_visible()
    page.locator("#verdict-now:not([hx-get])").wait_for()
    expect(page.get_by_text("Quick answer")).to_have_count(0)


def test_two_tabs_tell_each_other(sheets: Callable) -> None:
    first, second = (sheets("/sets/bench-1/intake/", "desk").page for _ in range(2))
    first.get_by_label("Place").fill("the mill")
    first.get_by_role("button", name="Keep").click()
    first.get_by_role("heading", name="Identity").wait_for()
    second.get_by_label("Place").fill("the weir")
    second.get_by_role("button", name="Keep").click()
    second.get_by_text("Changed meanwhile").wait_for()
    assert second.get_by_label("Place").input_value() == "the weir"
    accessible(second)
    second.get_by_role("button", name="Keep").click()
    expect(second.get_by_text("in the weir")).to_be_visible()
