"""What to measure, at phone and desk size: the chart, and readings entered by walking round a socket."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from looked_at import accessible, fits
from playwright.sync_api import expect

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

CAST = Path(__file__).parent.parent / "cast"
VOLTS = "/sets/bench-1/volts/"
SOCKET = f"{VOLTS}socket/V6/"
CIRCUIT = "/families/heron-6/circuits/heron-output/"


@pytest.fixture(autouse=True)
def circuit(plover_shelf: None, settings: Any, tmp_path: Path) -> None:
    from setwright.workbench.services.imports import import_files

    settings.DATA_DIR = tmp_path / "data"
    import_files([CAST / "heron-circuit.toml", CAST / "heron-output.chart.csv"])


def check(sheet: Any) -> None:
    """The open page is accessible, no wider than the window, and its console is silent."""
    accessible(sheet.page)
    fits(sheet.page)
    assert sheet.said == []


def walk(page: Any, readings: list[str]) -> None:
    """Round the socket from its page on, one reading a pin."""
    page.click("text=Walk round it, pin by pin")
    for reading in readings:
        page.fill("#value", reading)
        page.click("text=Keep")


@pytest.mark.parametrize(("size", "dark"), [("phone", False), ("phone", True), ("desk", False)])
def test_pages_are_accessible_and_fit(sheets: Any, live_server: Any, size: str, dark: bool) -> None:
    sheet = sheets(VOLTS, size, dark=dark)
    more = [f"{VOLTS}?off=1", SOCKET, f"{SOCKET}pin/1/", f"{VOLTS}printed/", CIRCUIT, f"{CIRCUIT}edit/"]
    check(sheet)
    for address in more:
        sheet.page.goto(live_server.url + address)
        check(sheet)


@pytest.mark.parametrize(("size", "script"), [("phone", True), ("desk", False)])
def test_readings_are_entered_round_a_socket(sheets: Any, size: str, script: bool) -> None:
    sheet = sheets(SOCKET, size, script=script)
    page = sheet.page
    walk(page, ["6.3", "0", "99", "255", "260"])
    assert page.url.endswith(f"{SOCKET}?told=5")
    assert "above by" in page.inner_text("table.pins")
    expect(page.locator(".socket .pin.read")).to_have_count(6)  # five stops, of which the heater has two pins
    if script:
        check(sheet)
    page.click("text=All sockets")
    assert "all 5 read" in page.inner_text("#sockets")
    assert "out of band" in page.inner_text("main")


def test_a_wrong_reading_is_told_where_it_was_entered(sheets: Any) -> None:
    sheet = sheets(f"{SOCKET}pin/3/", "phone")
    sheet.page.fill("#value", "a lot")
    sheet.page.click("text=Keep")
    assert sheet.page.input_value("#value") == "a lot"
    expect(sheet.page.locator(".mistake").first).to_be_visible()
    fits(sheet.page)


def test_the_field_for_the_reading_is_in_sight_on_a_phone(sheets: Any) -> None:
    """From the second pin on: which pin, what to expect and the field stand on one screen."""
    sheet = sheets(f"{SOCKET}pin/3/", "phone")
    box = sheet.page.locator("#value").bounding_box()
    assert box["y"] + box["height"] <= 844 + sheet.page.evaluate("window.scrollY")
