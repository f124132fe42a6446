"""Takes the README's pictures: starts the demonstration, opens its pages in chromium, writes PNG files."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any
from urllib.parse import urljoin

from playwright.sync_api import sync_playwright

FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update"]
DESK = {"width": 1280, "height": 900}
PHONE = {"width": 390, "height": 844}


def part(page: Any, selector: str, path: Path, *, height: int, above: int = 12) -> None:
    """A picture of the page from the top of one element on."""
    box = page.locator(selector).first.bounding_box()
    left = max(box["x"] - 14, 0)
    width = min(box["width"] + 28, page.viewport_size["width"] - left)
    clip = {"x": left, "y": max(box["y"] - above, 0), "width": width, "height": height}
    page.screenshot(path=path, clip=clip, full_page=True)


def take(address: str, folder: Path) -> None:
    """All pictures of the set whose page this address is."""
    identity = f"{address}identity/"
    with sync_playwright() as playwright:
        chromium = next(found for name in ("chromium", "google-chrome") if (found := shutil.which(name)))
        browser = playwright.chromium.launch(executable_path=chromium, args=FLAGS)
        desk = browser.new_page(viewport=DESK, color_scheme="light")
        desk.goto(identity)
        desk.wait_for_selector("#verdict", timeout=120_000)  # the answer may still be under way at first
        part(desk, "main", folder / "verdict.png", height=820, above=60)
        part(desk, "#run svg.wide", folder / "serial-line.png", height=900)
        part(desk, "#features .grid", folder / "features.png", height=820)
        phone = browser.new_page(viewport=PHONE, color_scheme="light", device_scale_factor=1.5)
        phone.goto(identity)
        phone.wait_for_selector("#verdict")
        part(phone, "#run svg.tall", folder / "phone-serial-line.png", height=760)
        part(phone, "#next", folder / "phone-next-look.png", height=760)
        phone.goto(f"{address}bench/")
        phone.screenshot(path=folder / "phone-bench.png")
        phone.goto(address)
        phone.screenshot(path=folder / "phone-set.png")
        phone.goto(f"{address}volts/socket/V9/pin/2/")
        phone.screenshot(path=folder / "phone-socket.png")
        desk.goto(f"{address}photos/compare/sedgewater-swapped/?feature=tube-label")
        part(desk, ".two-sets", folder / "photos.png", height=560)
        desk.goto(urljoin(address, "/families/sedgewater-11/edit/"))
        desk.screenshot(path=folder / "editor.png")
        desk.goto(f"{address}date/")
        desk.wait_for_selector("#curve svg.wide", timeout=120_000)
        part(desk, "#curve", folder / "date.png", height=800)
        browser.close()


def main() -> None:
    """Starts the demonstration on a free port and takes the pictures into the folder named."""
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    command = [str(Path(sys.executable).parent / "setwright"), "demo", "--port", "0", "--no-open"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as server:
        try:
            assert server.stdout is not None
            found = re.search(r"http://\S+", server.stdout.readline())
            if found is None:
                raise SystemExit("The demonstration did not start.")
            take(found.group(), folder)
        finally:
            server.terminate()


if __name__ == "__main__":
    main()
