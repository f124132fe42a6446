"""Photos at phone and desk size: taken, marked by finger and by keys, and all of it without script too."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path
from typing import Any

import photos_made as made
import pytest
from looked_at import fits, fits_and_is_accessible
from PIL import Image
from playwright.sync_api import expect

from setwright.workbench.services.imports import Incoming, import_contents

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

PHOTOS = "/sets/bench-1/photos/"


@pytest.fixture(autouse=True)
def data_folder(settings: Any, tmp_path: Path) -> Path:
    settings.DATA_DIR = tmp_path / "data"
    return settings.DATA_DIR


@pytest.fixture
def files(tmp_path: Path) -> list[str]:
    """Two photos as they lie on a telephone: one stored lying on its side, one HEIC."""
    lying = made.drawing(900, 1200).transpose(Image.Transpose.ROTATE_90)
    (tmp_path / "IMG_1.jpg").write_bytes(made.with_everything("JPEG", 6, lying))
    (tmp_path / "IMG_2.heic").write_bytes(made.with_everything("HEIF", image=made.drawing(800, 600)))
    return [str(tmp_path / "IMG_1.jpg"), str(tmp_path / "IMG_2.heic")]


@pytest.fixture
def album(sheets: Any, files: list[str]) -> Any:
    """Opens the page of a photo that was just added: album("phone", script=False)."""

    def show(size: str = "desk", **how: bool) -> Any:
        sheet = sheets(f"{PHOTOS}add/?feature=converter", size, **how)
        sheet.page.set_input_files("#photos", files[:1])
        sheet.page.click("main button[type=submit]")
        return sheet

    return show


def place(page: Any) -> list[float]:
    return [
        float(page.input_value(f"form.pin >> nth=0 >> [name={side}]")) for side in ("left", "top", "width", "height")
    ]


@pytest.mark.parametrize("size", ["phone", "desk"])
def test_two_photos_come_in_upright(sheets: Any, files: list[str], size: str) -> None:
    sheet = sheets(f"{PHOTOS}add/", size)
    fits(sheet.page)
    assert sheet.page.get_attribute("#camera", "capture") == "environment"
    sheet.page.set_input_files("#photos", files)
    sheet.page.click("main button[type=submit]")
    images = sheet.page.locator("main img").all()
    sizes = [i.evaluate("async i => { await i.decode(); return [i.naturalWidth, i.naturalHeight]; }") for i in images]
    assert sizes == [[240, 320], [320, 240]]
    fits(sheet.page)
    assert sheet.said == []


def test_a_place_is_marked_by_dragging(album: Any) -> None:
    page = album().page
    page.click("text=Mark it in the picture >> nth=0")
    box = page.locator("svg.marks").bounding_box()
    page.mouse.move(box["x"] + 0.25 * box["width"], box["y"] + 0.5 * box["height"])
    page.mouse.down()
    page.mouse.move(box["x"] + 0.6 * box["width"], box["y"] + 0.7 * box["height"], steps=4)
    page.mouse.up()
    assert place(page) == pytest.approx([25, 50, 35, 20], abs=0.5)
    page.click("text=Keep this")
    assert place(page) == pytest.approx([25, 50, 35, 20], abs=0.5)
    expect(page.locator("svg.marks rect.mark")).to_have_count(1)


@pytest.mark.parametrize("size", ["phone", "desk"])
def test_a_place_is_marked_by_keys(album: Any, size: str) -> None:
    sheet = album(size)
    page = sheet.page
    page.focus("text=Mark it in the picture >> nth=0")
    page.keyboard.press("Enter")
    for key in ("ArrowRight", "ArrowRight", "ArrowUp", "Shift+ArrowRight", "Shift+ArrowUp"):
        page.keyboard.press(key)
    assert place(page) == [37, 34, 31, 29]
    assert page.inner_text(".marking-says") == "left 37 %, top 34 %, width 31 %, height 29 %"
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")  # the button that keeps it has the focus
    page.wait_for_selector("svg.marks rect.mark")
    assert place(page) == [37, 34, 31, 29]
    page.click("text=Mark it in the picture >> nth=0")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Escape")
    assert place(page) == [37, 34, 31, 29]
    assert sheet.said == []


def test_a_place_is_marked_without_script(album: Any) -> None:
    page = album("phone", script=False).page
    expect(page.locator("text=Mark it in the picture")).to_have_count(0)
    page.click("text=Or one part of nine >> nth=0")
    page.check("form.pin >> nth=0 >> [value=middle-right]")
    page.click("text=Keep this")
    assert place(page) == pytest.approx([200 / 3, 100 / 3, 100 / 3, 100 / 3], abs=0.01)
    page.click("text=Remove the photo")
    assert "The photo was removed." in page.inner_text("main")


@pytest.mark.parametrize(("size", "dark"), [("phone", False), ("desk", True)], ids=["phone-light", "desk-dark"])
def test_accessible(album: Any, size: str, dark: bool) -> None:
    sheet = album(size, dark=dark)
    page = sheet.page
    for address in (
        page.url,
        f"{page.url.split('/photos/')[0]}/photos/",
        f"{page.url.split('/photos/')[0]}/photos/add/",
    ):
        page.goto(address)
        fits_and_is_accessible(page)
    assert sheet.said == []


@pytest.mark.parametrize(("size", "dark"), [("phone", False), ("desk", True)], ids=["phone-light", "desk-dark"])
def test_two_sets_are_held_side_by_side(sheets: Any, texts: dict[str, str], size: str, dark: bool) -> None:
    photos = [made.drawing(900, 600), made.drawing(600, 900)]
    contents = [made.encoded(image, "JPEG") for image in photos]
    import_contents(
        [
            Incoming(f"{name}.toml", marked(texts["set"].replace('"bench-1"', f'"{name}"'), content))
            for name, content in zip(("bench-1", "bench-2"), contents, strict=True)
        ]
        + [Incoming(f"{name}.jpg", content) for name, content in zip("ab", contents, strict=True)]
    )
    sheet = sheets("/sets/bench-1/photos/compare/bench-2/?feature=converter", size, dark=dark)
    fits_and_is_accessible(sheet.page)
    first, second = (figure.bounding_box() for figure in sheet.page.locator("figure.photo").all())
    if size == "desk":
        assert first["y"] == second["y"], "beside each other"
        assert second["x"] > first["x"] + first["width"]
    else:
        assert second["y"] > first["y"] + first["height"]
    assert sheet.said == []


def marked(text: str, photo: bytes) -> bytes:
    table = f'[[photo]]\nsha256 = "{sha256(photo).hexdigest()}"\nfeature = "converter"\nregion = [0.1, 0.2, 0.3, 0.2]\n'
    return f"{text}\n{table}".encode()
