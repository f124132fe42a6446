"""A browser, and the site with the small cast in it, once for all browser tests."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

CHROMIUM = next(
    (found for name in ("chromium", "chromium-browser", "google-chrome") if (found := shutil.which(name))), None
)
FLAGS = [
    *("--no-sandbox", "--disable-gpu", "--disable-quic", "--disable-background-networking"),
    *("--disable-component-update", "--disable-sync", "--no-first-run"),
]
CAST = Path(__file__).parent.parent / "cast"
SIZES = {"phone": {"width": 390, "height": 844}, "desk": {"width": 1280, "height": 900}}

FASTER = "Autofocus processing was blocked because a document already has a focused element"
"""What the browser notes where somebody clicked before the page had set the focus; the click counts, as it should."""

# Playwright's synchronous interface runs an event loop, in which Django would refuse to touch its database.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if "browser" in item.path.parts and CHROMIUM is None:
            item.add_marker(pytest.mark.skip(reason="chromium is not installed (Debian: apt install chromium)"))


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


@dataclass
class Sheet:
    """An open page with what its console said."""

    page: Any
    said: list[str] = field(default_factory=list)


@pytest.fixture
def plover_shelf(shelf: None) -> None:
    """The second cast beside the first: two groups of features, an undocumented one, survivors without serial."""
    from setwright.workbench.services.imports import import_files

    import_files([CAST / "plover.toml", CAST / "plover-bench.toml", f"plover-5={CAST / 'plover-survivors.csv'}"])


@pytest.fixture
def visit(browser: Any) -> Iterator[Any]:
    """Opens pages of any site: visit("http://127.0.0.1:8117/", "phone", dark=False, script=True)."""
    contexts = []

    def show(address: str, size: str = "desk", *, dark: bool = False, script: bool = True) -> Sheet:
        context = browser.new_context(
            viewport=SIZES[size], color_scheme="dark" if dark else "light", java_script_enabled=script
        )
        contexts.append(context)
        sheet = Sheet(context.new_page())
        sheet.page.on("console", lambda message: message.text.startswith(FASTER) or sheet.said.append(message.text))
        sheet.page.on("pageerror", lambda error: sheet.said.append(str(error)))
        response = sheet.page.goto(address)
        assert response.status == 200, address
        return sheet

    yield show
    for context in contexts:
        context.close()


@pytest.fixture
def sheets(visit: Any, plover_shelf: None, live_server: Any, settings: Any) -> Any:
    """Opens pages of the site with both casts in it: sheets("/sets/", "phone", dark=False, script=True)."""
    settings.PATIENCE_SECONDS = 120.0  # however slow the machine is, pages come with their answers
    return lambda address, *how, **more: visit(live_server.url + address, *how, **more)
