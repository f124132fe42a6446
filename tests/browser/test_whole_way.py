"""The whole way: a set comes in, is looked at, and goes on in a casebook to another instance that says the same of it.

Each instance is `setwright serve` in a process and a data folder of its own; on PostgreSQL in a database of its own.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any

import pytest
from looked_at import fits
from PIL import Image
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

CAST = Path(__file__).parent.parent / "cast"
WITH_POSTGRES = Path(__file__).parent.parent.parent / "scripts" / "with-postgres"
SERVE = [sys.executable, "-c", "from setwright.cli import main; main()", "serve", "--port", "0", "--no-open"]
PATIENT = 60_000
"""Milliseconds that a page may take here; full answers are among them."""


@pytest.fixture(scope="module")
def postgres() -> Iterator[Callable[[str], str]]:
    """Makes a database of that name in a PostgreSQL of its own; gives its address."""
    import psycopg

    if subprocess.run([WITH_POSTGRES, "--check"], check=False).returncode:
        pytest.skip("there is no PostgreSQL here (Debian: apt install postgresql)")
    command = [WITH_POSTGRES, "sh", "-c", 'echo "$DATABASE_URL"; cat']
    server = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    assert server.stdin is not None
    assert server.stdout is not None
    url = server.stdout.readline().strip()

    def made(name: str) -> str:
        with psycopg.connect(url, autocommit=True) as connection:
            connection.execute(f"CREATE DATABASE {name}")
        return url.replace("/setwright?", f"/{name}?")

    yield made
    server.stdin.close()  # which ends it
    assert server.wait(timeout=30) == 0


@contextmanager
def instance(folder: Path, database: str, *files: str) -> Iterator[str]:
    """A running Setwright: its address."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("SETWRIGHT", "DATABASE_URL"))}
    environment = {**kept, "SETWRIGHT_DATA": str(folder), "SETWRIGHT_PATIENCE": "50", "DATABASE_URL": database}
    process = subprocess.Popen([*SERVE, *files], env=environment, stdout=subprocess.PIPE, text=True)
    try:
        assert process.stdout is not None
        address = re.search(r"http://[^/\s]+", process.stdout.readline())
        assert address is not None, "it did not start"
        yield address[0]
    finally:
        process.terminate()
        assert process.wait(timeout=30) == 0


@pytest.fixture
def instances(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[tuple[str, str]]:
    """Two of them: one that knows the family and its survivors, and one with nothing in it."""
    made = request.getfixturevalue("postgres") if request.param == "PostgreSQL" else lambda name: ""
    number = abs(hash(tmp_path))
    files = (str(CAST / "heron.toml"), f"heron-6={CAST / 'survivors.csv'}")
    with ExitStack() as stack:
        first = stack.enter_context(instance(tmp_path / "first", made(f"first_{number}"), *files))
        second = stack.enter_context(instance(tmp_path / "second", made(f"second_{number}")))
        yield first, second


def take_in(page: Any) -> None:
    """A set comes in, named and with a serial of which one digit is illegible."""
    page.get_by_role("link", name="A set came in").click()
    page.get_by_label("Family", exact=True).select_option("heron-6")
    page.get_by_label("What you call it").fill("The one from the mill")
    page.get_by_label("Serial, as read").fill("H 2?51")
    page.get_by_role("button", name="Take it in").click()
    page.get_by_role("heading", level=1, name="The one from the mill").wait_for()
    page.get_by_role("link", name="Write down the intake").click()
    page.get_by_label("From whom").fill("an estate")
    page.get_by_label("What is missing").fill("rear cover")
    page.get_by_role("button", name="Keep").click()
    page.get_by_text("Missing: rear cover.").wait_for()


def verdict_of(page: Any) -> str:
    """The verdict on a screen at the bench, without what follows it."""
    return page.locator("#verdict-now").inner_text().split("Quick answer")[0].split("The whole answer")[0].strip()


def observe(page: Any, picture: Path) -> None:
    """Look at the knobs from outside and photograph them; then open the set, look further in, and take that back."""
    page.get_by_role("link", name="Look, and note what you see").click()
    look = page.locator("#look-knobs")
    look.get_by_text("Something else, how sure, a note, a photo").click()
    look.get_by_label("Note").fill("all four")
    look.get_by_label("Photos of it").set_input_files(picture)
    look.get_by_role("button", name="ivory").click()
    page.get_by_role("status").filter(has_text="Knobs seen: ivory.").wait_for()
    fits(page)
    before = verdict_of(page)
    page.get_by_role("navigation", name="How far in").get_by_role("link", name=re.compile("Back off")).click()
    page.get_by_role("button", name="I have opened it: the back is off").click()
    page.locator("#look-converter").get_by_role("button", name="6BE6").click()
    said = page.get_by_role("status").filter(has_text="Converter tube seen: 6BE6.")
    said.wait_for()
    assert verdict_of(page) != before, "what a stamped-over converter says is not told"
    said.get_by_role("button", name="Undo").click()
    page.get_by_role("status").filter(has_text="Taken back: Converter tube seen: 6BE6.").wait_for()
    expect(page.locator("#look-converter")).to_be_visible()
    fits(page)


def told_of(page: Any, site: str, key: str) -> dict[str, Any]:
    """What a site says of a set: verdict, next look, observations, history and photos."""
    page.goto(f"{site}/sets/{key}/identity/")
    fits(page)
    told = {"summary": page.locator(".lead").first.inner_text(), "verdict": page.locator("#verdict tbody").inner_text()}
    told["next"] = page.locator("#next").inner_text()
    page.goto(f"{site}/sets/{key}/seen/")
    told["seen"] = page.locator("main").inner_text()
    page.goto(f"{site}/sets/{key}/history/")
    fits(page)
    told["history"] = [entry.inner_text() for entry in page.locator("ol.history > li > p > a").all()]
    page.goto(f"{site}/sets/{key}/photos/")
    images = page.locator(".album img")
    images.first.wait_for()
    for image in images.all():
        image.evaluate("async image => { await image.decode(); }")
    told["photos"] = [image.get_attribute("alt") for image in images.all()]
    source = images.first.get_attribute("src").replace("/small", "/whole")
    told["pixels"] = page.request.get(site + source).body()
    return told


@pytest.mark.parametrize(
    ("instances", "size"),
    [
        ("SQLite", "phone"),
        ("PostgreSQL", "desk"),
        pytest.param("SQLite", "desk", marks=pytest.mark.slow),
        pytest.param("PostgreSQL", "phone", marks=pytest.mark.slow),
    ],
    indirect=["instances"],
)
def test_a_set_goes_the_whole_way_to_another_instance(
    visit: Callable[..., Any], instances: tuple[str, str], size: str, tmp_path: Path
) -> None:
    here, there = instances
    picture = tmp_path / "knobs.jpg"
    Image.radial_gradient("L").resize((320, 240)).convert("RGB").save(picture)
    sheet = visit(f"{here}/sets/", size)
    page = sheet.page
    page.set_default_timeout(PATIENT)
    take_in(page)
    key = page.url.rstrip("/").split("/")[-1]
    expect(page.get_by_text("Look next:")).to_be_visible()
    observe(page, picture)
    own = told_of(page, here, key)
    assert own["summary"]
    assert [what for what in own["history"] if what.startswith("Taken back")] == [
        "Taken back: Converter tube seen: 6BE6"
    ]
    assert len(own["photos"]) == 1
    assert "all four" in own["seen"]

    page.get_by_role("link", name=re.compile("^Casebook")).click()
    fits(page)
    with page.expect_download() as download:
        page.get_by_role("button", name="Save the casebook").click()
    book = tmp_path / download.value.suggested_filename
    download.value.save_as(book)

    page.goto(f"{there}/sets/")
    page.get_by_role("link", name=re.compile("^Casebook")).click()
    page.get_by_label("The casebook's file").set_input_files(book)
    page.get_by_role("button", name="Look at what it holds").click()
    page.get_by_role("heading", name="What this casebook holds").wait_for()
    fits(page)
    page.get_by_role("button", name="Take it in").click()
    page.get_by_role("heading", name="Taken in").wait_for()
    page.get_by_role("link", name="To the sets").click()
    page.get_by_role("link", name="The one from the mill").click()
    expect(page.get_by_text("Missing: rear cover.")).to_be_visible()
    theirs = told_of(page, there, key)
    history = theirs.pop("history")
    assert theirs == {name: value for name, value in own.items() if name != "history"}
    assert history[-len(own["history"]) :] == own["history"]
    assert sheet.said == []
