"""The literature shelf, the search and the casebook in a real browser."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import photos_made as made
import pytest
from looked_at import fits_and_is_accessible

from setwright.workbench.literature import changes
from setwright.workbench.literature.scans import checked

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

AT = "/literature/"
ENTRY = AT + "of/heron-6-service-sheet/"
SHELF_PAGES = [AT, AT + "?q=sheet&owned=yes", AT + "add/", AT + "take-in/", ENTRY, ENTRY + "edit/", ENTRY + "history/"]
SEARCH_PAGES = ["/search/", "/search/?q=converter", "/search/?q=6BE6&kind=survivor", "/search/?q=zzz"]


@pytest.fixture
def shelf_of_three(settings: Any, tmp_path: Path) -> None:
    settings.DATA_DIR = tmp_path
    keys = {"maker": "Heron", "model": "6", "volume": "IV", "page": "17", "year": 1949}
    sheet = changes.add({"id": "heron-6-service-sheet", "title": "Service sheet", "owned": True, **keys}, by=None)
    scan = checked(made.encoded(made.drawing(300, 200), "PNG"), "sheet.png")
    changes.attach(sheet, scan, by=None)
    changes.add({"title": "A title so long that it has to be broken on a telephone " * 4, "where": "lent out"}, by=None)
    changes.add({"title": "Unbroken" * 30}, by=None)


@pytest.mark.parametrize(("size", "dark"), [("phone", False), ("desk", True)])
def test_pages_fit_and_are_accessible(
    shelf_of_three: None, sheets: Callable, live_server: Any, size: str, dark: bool
) -> None:
    sheet = sheets(AT, size, dark=dark)
    for address in [*SHELF_PAGES, *SEARCH_PAGES, "/casebook/"]:
        response = sheet.page.goto(live_server.url + address)
        assert response.status == 200, address
        fits_and_is_accessible(sheet.page)
    assert sheet.said == []


def test_without_script_a_document_is_put_on_the_shelf_found_and_corrected(
    shelf_of_three: None, sheets: Callable
) -> None:
    page = sheets(AT, "phone", script=False).page
    page.goto(page.url + "add/")
    page.get_by_label("Title").fill("Field change bulletin")
    page.get_by_label("Note").fill("About the wobbulator.")
    page.get_by_role("button", name="Put it on the shelf").click()
    assert page.get_by_role("heading", level=1).inner_text() == "Field change bulletin"
    page.goto(page.url.split("/literature")[0] + "/search/")
    page.get_by_label("A word, a name, a part, a serial").fill("wobbulator")
    page.locator("main").get_by_role("button", name="Find").click()
    page.get_by_role("link", name="Field change bulletin").click()
    assert "/literature/of/" in page.url


@pytest.mark.parametrize("size", ["phone", "desk"])
def test_a_casebook_is_saved_looked_at_and_taken_in(
    shelf_of_three: None, sheets: Callable, size: str, tmp_path: Path
) -> None:
    page = sheets("/casebook/", size).page
    with page.expect_download() as download:
        page.get_by_role("button", name="Save the casebook").click()
    book = tmp_path / "book.zip"
    download.value.save_as(book)
    changes.change(changes.LiteratureRecord.objects.get(key="heron-6-service-sheet"), {"note": "Mine"}, by=None)
    page.goto(page.url)
    page.locator("input[type=file]").set_input_files(book)
    page.get_by_role("button", name="Look at what it holds").click()
    assert "tick what the casebook's text shall replace" in page.locator("main").inner_text()
    fits_and_is_accessible(page)
    page.get_by_role("button", name="Take it in").click()
    assert "Left as yours is" in page.locator("main").inner_text()
    fits_and_is_accessible(page)
