"""Survivors noted, changed and taken in, in a real browser."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import photos_made as made
import pytest
from looked_at import fits_and_is_accessible
from playwright.sync_api import expect

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

AT = "/families/heron-6/survivors/"
PAGES = [AT + "?feature=converter&sort=serial", *(AT + end for end in ("quick/", "add/", "import/"))]
PAGES += [AT + end for end in ("change/K-03/", "take-out/K-03/", "photos/K-03/", "of/K-03/")]
DESK_PAGES = PAGES[:3]
TABLE = "id\tserial\tconverter\nK-01\tH 120\t6BE6\nK-40\tH 4000\t6be-6\nK-42\tH 4100\t6BE6\n"

PASTE = """() => new Promise((done) => {
    const canvas = Object.assign(document.createElement('canvas'), { width: 60, height: 40 });
    canvas.getContext('2d').fillRect(5, 5, 30, 20);
    canvas.toBlob((blob) => {
        const data = new DataTransfer();
        data.items.add(new File([blob], 'pasted.png', { type: 'image/png' }));
        document.dispatchEvent(new ClipboardEvent('paste', { clipboardData: data, bubbles: true, cancelable: true }));
        done();
    });
})"""


@pytest.fixture(autouse=True)
def own_folder(settings: Any, tmp_path: Path) -> None:
    settings.DATA_DIR = tmp_path


@pytest.mark.parametrize(
    ("address", "size", "dark"),
    [*((address, "phone", False) for address in PAGES), *((address, "desk", True) for address in DESK_PAGES)],
)
def test_pages_fit_and_are_accessible(sheets: Callable, address: str, size: str, dark: bool) -> None:
    sheet = sheets(address, size, dark=dark)
    fits_and_is_accessible(sheet.page)
    assert sheet.said == []


def test_noted_in_a_minute_with_a_pasted_picture(sheets: Callable) -> None:
    page = sheets(AT + "quick/", "phone").page
    page.evaluate(PASTE)
    expect(page.get_by_text("1 picture is ready to be sent.")).to_be_visible()
    page.get_by_label("Serial, as far as it can be read").fill("H 7?10")
    page.get_by_role("group", name="Tube layout label").get_by_label("stamped over").check()
    page.get_by_role("group", name="Converter tube").get_by_label("6BE6").check()
    page.get_by_role("group", name="Dial lamp wiring").get_by_label("two lamps").check()
    page.get_by_role("button", name="Note it").click()
    assert page.get_by_role("heading", level=1).inner_text() == "H 7?10"
    picture = page.get_by_role("img", name="Photo 1 of H 7?10, larger")
    picture.scroll_into_view_if_needed()
    page.wait_for_function("document.querySelector('.plates img').complete")
    assert picture.evaluate("node => node.naturalWidth") == 60
    fits_and_is_accessible(page)


def test_noted_without_script_and_with_a_chosen_file(sheets: Callable) -> None:
    page = sheets(AT, "phone", script=False).page
    page.get_by_role("link", name="Note one quickly").click()
    expect(page.get_by_text("Or paste one")).to_be_hidden()
    page.get_by_label("Picture").set_input_files(
        {"name": "a.jpg", "mimeType": "image/jpeg", "buffer": made.with_everything("JPEG")}
    )
    page.get_by_role("button", name="Note it").click()
    expect(page.get_by_text("Noted.")).to_be_visible()
    expect(page.locator(".plates img")).to_have_count(1)


@pytest.mark.parametrize(("size", "script"), [("phone", False), ("desk", True)], ids=["phone-no-script", "desk"])
def test_a_pasted_table_is_looked_at_and_its_good_rows_taken(sheets: Callable, size: str, script: bool) -> None:
    page = sheets(AT + "import/", size, script=script).page
    page.get_by_label("Or cells pasted from a spreadsheet").fill(TABLE)
    page.get_by_role("button", name="Look at it").click()
    expect(page.get_by_text("1 new set, 1 changed, 0 the same already, 1 bad row.")).to_be_visible()
    if script:
        fits_and_is_accessible(page)
    page.get_by_role("button", name="Take in 2 good rows, leave 1 out").click()
    expect(page.get_by_text("2 rows taken in, 1 left out")).to_be_visible()
    expect(page.get_by_role("link", name="K-42")).to_be_visible()
    page.get_by_role("link", name="Take it back in the history").click()
    page.get_by_role("button", name="Take this back").first.click()
    page.goto(page.url.split("/survivors/")[0] + "/survivors/")
    expect(page.get_by_role("link", name="K-42")).to_have_count(0)


@pytest.mark.parametrize("size", ["phone", "desk"])
def test_sorted_by_a_heading_and_narrowed_without_script(sheets: Callable, size: str) -> None:
    page = sheets(AT, size, script=False).page
    names = page.locator("tbody th a")
    for order in (["K-01", "K-02"], ["K-07", "K/08 & co"]):
        links = page.get_by_role("link", name="Serial")
        links.locator("visible=true").first.click()
        assert names.all_inner_texts()[:2] == order
    page.get_by_label("Feature").select_option(label="Converter tube")
    page.get_by_role("button", name="Show").click()
    page.get_by_label("Converter tube is").select_option("6SA7")
    page.get_by_role("button", name="Show").click()
    assert sorted(names.all_inner_texts()) == ["K-01", "K-02", "K/08 & co"]


def test_what_is_wrong_stands_at_its_field(sheets: Callable) -> None:
    page = sheets(AT + "change/K-03/", "phone").page
    page.get_by_label("Converter tube", exact=True).fill("6be-6")
    page.get_by_label("Note", exact=True).fill("kept")
    page.get_by_role("button", name="Save").click()
    wrong = page.get_by_label("Converter tube", exact=True)
    assert wrong.get_attribute("aria-invalid") == "true"
    assert page.get_by_label("Note", exact=True).input_value() == "kept"
    fits_and_is_accessible(page)
    wrong.fill("6SA7")
    page.get_by_role("button", name="Save").click()
    assert page.get_by_role("heading", level=1).inner_text() == "K-03"
