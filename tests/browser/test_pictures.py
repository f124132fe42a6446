"""Saved pictures opened on their own, and pages on paper."""

from __future__ import annotations

from typing import Any

import pytest

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.mark.parametrize(
    "address", ["/sets/tall-shelf/pictures/serial-line.svg", "/families/heron-6/pictures/features.svg"]
)
def test_a_saved_picture_opens_with_its_styles(sheets: Any, address: str) -> None:
    sheet = sheets(address)
    caption = sheet.page.locator(".sheet-caption").last
    assert caption.evaluate("node => getComputedStyle(node).fontSize") == "13.5px"
    assert caption.evaluate("node => node.textContent").endswith("made with Setwright")
    assert sheet.said == []


def test_words_of_a_saved_picture_stay_on_its_sheet(sheets: Any) -> None:
    sheet = sheets("/sets/tall-shelf/pictures/features.svg")
    outside = sheet.page.evaluate(
        """() => {
            const sheet = document.documentElement.getBoundingClientRect();
            return [...document.querySelectorAll("text")].filter((text) => {
                const box = text.getBoundingClientRect();
                return box.right > sheet.right || box.bottom > sheet.bottom || box.left < sheet.left;
            }).map((text) => text.textContent);
        }"""
    )
    assert outside == []


@pytest.mark.parametrize("address", ["/sets/tall-shelf/identity/", "/families/heron-6/", "/sets/tall-shelf/"])
def test_a_page_on_paper_has_its_folds_open_and_nothing_to_press(sheets: Any, address: str) -> None:
    sheet = sheets(address)
    sheet.page.set_viewport_size({"width": 680, "height": 960})
    sheet.page.emulate_media(media="print")
    shown = "node => node.getClientRects().length > 0 && node.checkVisibility({contentVisibilityAuto: true})"
    for node in sheet.page.locator("main button, .save-as, .masthead, .serial-line.tall").all():
        assert not node.evaluate(shown)
    for node in sheet.page.locator("main details > :not(summary)").all():
        assert node.evaluate(shown)
    for node in sheet.page.locator(".serial-line.wide").all():
        assert node.evaluate(shown)
