"""The pages in a real browser, on a phone and on a desk."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from looked_at import RULES, accessible, fits, fits_and_is_accessible
from playwright.sync_api import expect

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

PAGES = [
    "/casebook/",
    "/sets/",
    "/sets/bench-1/",
    "/sets/bench-1/identity/",
    "/sets/bench-1/date/",
    "/families/",
    "/families/heron-6/",
    "/families/heron-6/versions/second/",
    "/families/heron-6/survivors/",
    "/families/heron-6/survivors/of/K-03/",
    "/families/heron-6/survivors/of/K-07/",
    "/sets/tall-shelf/identity/",
    "/sets/bench-1/looks/",
    "/sets/tall-shelf/sisters/",
    "/sets/tall-shelf/sisters/of/P-07/",
    "/sets/bench-1/ask/",
    "/sets/tall-shelf/identity/?learned=1",
    "/sets/tall-shelf/sisters/?learned=1",
    "/sets/bench-1/history/1/",
    "/families/heron-6/remove/",
    "/families/heron-6/survivors/remove/",
]


@pytest.mark.parametrize(("size", "dark"), [("phone", False), ("desk", True)], ids=["phone-light", "desk-dark"])
@pytest.mark.parametrize("address", PAGES)
def test_every_page_fits_is_accessible_and_silent(sheets: Callable, address: str, size: str, dark: bool) -> None:
    sheet = sheets(address, size, dark=dark)
    fits(sheet.page)
    fits_and_is_accessible(sheet.page)
    assert sheet.said == []


@pytest.mark.parametrize("size", ["phone", "desk"])
def test_what_is_removed_comes_back(sheets: Callable, size: str) -> None:
    sheet = sheets("/sets/bench-1/remove/", size)
    page = sheet.page
    page.get_by_role("button", name="Remove it").click()
    fits_and_is_accessible(page)
    page.get_by_role("link", name="Set bench-1").click()
    fits_and_is_accessible(page)
    page.go_back()
    page.get_by_role("button", name="Bring back").click()
    assert page.get_by_role("heading", level=1).inner_text() == "bench-1"
    assert sheet.said == []


def test_what_is_not_accessible_is_noticed(sheets: Callable) -> None:
    sheet = sheets("/sets/")
    sheet.page.evaluate("document.querySelector('main').innerHTML = '<h4>x</h4><img src=\\'/none\\'>'")
    found = {violation["id"] for violation in Axe().run(sheet.page, options=RULES).response["violations"]}
    assert {"image-alt", "heading-order"} & found


def test_the_whole_way_without_script(sheets: Callable) -> None:
    page = sheets("/", "phone", script=False).page
    page.get_by_role("link", name="bench-1").click()
    assert page.get_by_role("heading", level=1).inner_text() == "bench-1"
    page.get_by_role("link", name="The whole answer").click()
    page.get_by_role("link", name="Look next").click()
    expect(page.get_by_role("heading", name="Where to look next")).to_be_visible()
    expect(page.get_by_text("Before this step").first).to_be_visible()
    page.get_by_text("The changes in figures").click()
    expect(page.get_by_role("table", name="When each change came in")).to_be_visible()
    page.get_by_role("link", name="Heron 6 table radio").click()
    page.get_by_role("link", name="7 known sets").or_(page.get_by_role("link", name="8 known sets")).click()
    page.get_by_role("link", name="K-03").click()
    assert page.get_by_role("heading", level=1).inner_text() == "K-03"


def test_the_picture_for_the_size_is_shown_and_legible(sheets: Callable) -> None:
    smallest = {}
    for size in ("phone", "desk"):
        page = sheets("/sets/bench-1/identity/", size).page
        shown = page.locator("svg.serial-line:visible")
        assert shown.count() >= 1
        assert shown.first.get_attribute("class") == f"serial-line {'tall' if size == 'phone' else 'wide'}"
        smallest[size] = page.evaluate(
            """() => Math.min(...[...document.querySelectorAll('svg.serial-line text')]
                .filter(text => text.getBoundingClientRect().width > 0)
                .map(text => parseFloat(getComputedStyle(text).fontSize) * text.getScreenCTM().a))"""
        )
    assert min(smallest.values()) >= 10.5


def test_no_text_of_the_picture_leaves_it(sheets: Callable) -> None:
    for size in ("phone", "desk"):
        page = sheets("/sets/bench-1/identity/", size).page
        outside = page.evaluate(
            """() => [...document.querySelectorAll('svg.serial-line')].flatMap(svg => {
                const box = svg.getBoundingClientRect();
                return [...svg.querySelectorAll('text')].filter(text => {
                    const own = text.getBoundingClientRect();
                    return own.left < box.left - 1 || own.right > box.right + 1;
                }).map(text => text.textContent);
            })"""
        )
        assert outside == []


def test_the_set_at_hand_is_marked_by_more_than_colour(sheets: Callable) -> None:
    page = sheets("/sets/bench-1/identity/", "desk").page
    conflict = page.locator("td.conflict").first
    assert "does not fit" in conflict.inner_text()
    mark = conflict.locator(".mark").evaluate("node => getComputedStyle(node, '::before').content")
    assert mark == '"✕"'


def test_the_look_sheet_prints_black_on_white_without_what_is_for_the_screen(sheets: Callable) -> None:
    page = sheets("/sets/bench-1/looks/", "desk", dark=True).page
    page.emulate_media(media="print", color_scheme="dark")
    shown = page.evaluate("""() => ({
        paper: getComputedStyle(document.body).backgroundColor,
        ink: getComputedStyle(document.querySelector('.look-sheet h3')).color,
        gone: ['.masthead', '.trail', '.foot'].map(name => getComputedStyle(document.querySelector(name)).display),
        boxes: [...document.querySelectorAll('.box')].map(box => box.getBoundingClientRect().width),
        cautions: document.querySelectorAll('.caution li').length,
    })""")
    assert (shown["paper"], shown["ink"]) == ("rgb(255, 255, 255)", "rgb(0, 0, 0)")
    assert shown["gone"] == ["none"] * 3
    assert min(shown["boxes"]) > 10
    assert shown["cautions"] > 0


def test_every_look_has_a_line_to_write_on_and_one_for_what_may_always_be_ticked(sheets: Callable) -> None:
    page = sheets("/sets/bench-1/looks/", "desk").page
    rows = page.evaluate("""() => [...document.querySelectorAll('.boxes > li > ul')].map(list => {
        const tops = [...list.children].map(item => Math.round(item.getBoundingClientRect().top));
        const open = [...list.children].findIndex(item => item.matches('.open'));
        return [tops.filter(top => top === tops[open]).length, new Set(tops.slice(open + 1)).size];
    })""")
    assert rows
    assert all(row == [1, 1] for row in rows)


def test_boxes_of_the_look_sheet_stay_with_their_words_on_a_phone(sheets: Callable) -> None:
    page = sheets("/sets/bench-1/looks/", "phone").page
    torn = page.evaluate("""() => [...document.querySelectorAll('.boxes ul li')].filter(item => {
        const box = item.querySelector('.box').getBoundingClientRect(), own = item.getBoundingClientRect();
        return box.left < own.left || box.bottom > own.bottom + 1 || own.right > innerWidth;
    }).map(item => item.textContent)""")
    assert torn == []


@pytest.mark.parametrize("size", ["phone", "desk"])
def test_learnt_rates_are_switched_on_and_off_without_script(sheets: Callable, size: str) -> None:
    page = sheets("/sets/tall-shelf/identity/", size, script=False).page
    switch = page.get_by_role("navigation", name="Rates of alteration")
    for name, current in (("learnt from survivors", "the usual ones"), ("the usual ones", "learnt from survivors")):
        assert switch.locator("[aria-current]").inner_text() == current
        link = switch.get_by_role("link", name=name)
        box = link.bounding_box()
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= page.viewport_size["width"]
        assert box["height"] >= 24
        link.click()
        told = page.get_by_text("Worked out with rates of alteration learnt from survivors of this family and Heron 6")
        assert told.count() == (1 if name.startswith("learnt") else 0)
    page.goto(page.url + "?learned=1")
    page.get_by_role("link", name="The answer with the usual rates").click()
    assert "learned" not in page.url


@pytest.mark.parametrize("script", [True, False], ids=["script", "no-script"])
def test_a_long_computation_shows_itself_stops_and_starts_again(
    sheets: Callable, live_server: Any, monkeypatch: pytest.MonkeyPatch, settings: Any, script: bool
) -> None:
    from setwright.workbench.services import identity

    go_on, compute = threading.Event(), identity.identify

    def slowly(*values: Any, progress: Any, **options: Any) -> Any:
        while not go_on.wait(0.05):
            progress("Weighing the histories", 0.4)
        return compute(*values, progress=progress, **options)

    page = sheets("/families/", "phone", script=script).page
    monkeypatch.setattr(identity, "_runs", identity.Runs(identity.ByContent(size=8)))
    monkeypatch.setattr(identity, "identify", slowly)
    settings.PATIENCE_SECONDS = 0.1
    try:
        page.goto(live_server.url + "/sets/tall-shelf/identity/")
        expect(page.get_by_role("progressbar", name="Done so far")).to_be_visible()
        page.get_by_text("Weighing the histories").wait_for()
        if script:  # the checker is a script itself
            accessible(page)
        page.get_by_role("button", name="Stop computing").click()
        expect(page.get_by_text("The computation was stopped")).to_be_visible()
        page.get_by_role("button", name="Compute it after all").click()
        page.get_by_text("Weighing the histories").wait_for()
        go_on.set()
        page.locator("#verdict").wait_for()  # the page looks again by itself
    finally:
        go_on.set()
