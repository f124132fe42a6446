"""A set's date in a browser: on a phone and on a desk, and dates written down without script."""

from __future__ import annotations

from typing import Any

import pytest
from looked_at import fits_and_is_accessible
from playwright.sync_api import expect

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

DATE, DATES = "/sets/bench-1/date/", "/sets/bench-1/dates/"
WRITTEN = (
    {"part": "speaker", "code": "728", "scheme": "year-week"},
    {"part": "volume control", "code": "5512", "scheme": "year2-week"},
    {"part": "output transformer", "date": "1947-W30"},
)


@pytest.fixture
def dated(sheets: Any) -> Any:
    """The pages, once an early and a late part of the set were written down; the register has no date."""
    page = sheets(DATES, "phone", script=False).page
    for entry in WRITTEN:
        page.fill("#id_part", entry["part"])
        page.fill("#id_code", entry.get("code", ""))
        page.fill("#id_date", entry.get("date", ""))
        page.select_option("#id_scheme", entry.get("scheme", ""))
        page.get_by_role("button", name="Keep").click()
    return sheets


@pytest.mark.parametrize(("size", "dark"), [("phone", False), ("desk", True)], ids=["phone-light", "desk-dark"])
def test_the_date_fits_its_screen_and_is_accessible(dated: Any, size: str, dark: bool) -> None:
    for address in (DATE, DATES):
        sheet = dated(address, size, dark=dark)
        fits_and_is_accessible(sheet.page)
        assert sheet.said == []


def test_a_date_is_written_down_flagged_and_taken_back_without_script(dated: Any) -> None:
    page = dated("/sets/bench-1/", "phone", script=False).page
    expect(page.get_by_text("Probably later: volume control.")).to_be_visible()
    page.get_by_role("link", name="How it was dated").click()
    expect(page.get_by_text("is probably a later replacement").first).to_be_visible()
    page.get_by_role("link", name="Change Volume control").click()
    page.get_by_role("button", name="Remove").click()
    page.get_by_role("link", name="When it was built").click()
    expect(page.get_by_text("is probably a later replacement")).to_have_count(0)
    page.goto(page.url.replace("date/", "history/"))
    page.get_by_role("button", name="Take this back").first.click()
    page.goto(page.url.replace("history/", "date/"))
    expect(page.get_by_text("is probably a later replacement").first).to_be_visible()


@pytest.mark.parametrize("size", ["phone", "desk"])
def test_words_of_the_pictures_stay_on_them_and_apart(dated: Any, size: str) -> None:
    page = dated(DATE, size).page
    wrong = page.evaluate(
        """() => [...document.querySelectorAll("svg.dates")].filter(svg => svg.getClientRects().length).flatMap(svg => {
            const frame = svg.getBoundingClientRect();
            const texts = [...svg.querySelectorAll("text")].map(t => [t.textContent, t.getBoundingClientRect()]);
            const out = texts.filter(([_, a]) => a.left < frame.left - 1 || a.right > frame.right + 1
                || a.top < frame.top - 1 || a.bottom > frame.bottom + 1);
            const over = texts.flatMap(([one, a], i) => texts.slice(i + 1).filter(([_, b]) =>
                a.left < b.right - 1 && b.left < a.right - 1 && a.top < b.bottom - 4 && b.top < a.bottom - 4
            ).map(([two]) => one + " | " + two));
            return [...out.map(([text]) => text), ...over];
        })"""
    )
    assert wrong == []
    expect(page.locator("svg.dates:visible")).to_have_count(3)
    smallest = page.evaluate(
        """() => Math.min(...[...document.querySelectorAll("svg.dates text")].filter(t => t.getClientRects().length)
            .map(text => parseFloat(getComputedStyle(text).fontSize)
                * text.ownerSVGElement.getBoundingClientRect().width / text.ownerSVGElement.viewBox.baseVal.width))"""
    )
    assert smallest >= 11
