"""Pictures saved from their pages: works, bad name 404, wrong method 405, told what they show."""

from __future__ import annotations

import datetime
import html
import re
from io import BytesIO
from typing import Any
from xml.etree import ElementTree

import pytest
from django.test import Client
from PIL import Image

pytestmark = pytest.mark.django_db

SVG = "{http://www.w3.org/2000/svg}"
NAMES = [
    *(f"/sets/bench-1/pictures/{name}" for name in ("serial-line", "features", "verdict", "evidence")),
    *(f"/families/heron-6/pictures/{name}" for name in ("features", "serials")),
    *(f"/families/heron-6/survivors/of/K-03/pictures/{name}" for name in ("features", "serials")),
    "/families/heron-6/survivors/of/K/08%20&%20co/pictures/features",
]
MISSING = [
    "/sets/bench-2/pictures/serial-line.svg",
    "/sets/bench-1/pictures/portrait.svg",
    "/sets/bench-1/pictures/serial-line.gif",
    "/sets/bench-1/pictures/serial-line.svg?line=nowhere",
    "/families/wren/pictures/features.svg",
    "/families/heron-6/pictures/verdict.svg",
    "/families/heron-6/pictures/features.svg?line=nowhere",
    "/families/heron-6/survivors/of/K-99/pictures/serials.svg",
    "/families/wren/survivors/of/K-03/pictures/serials.svg",
]


@pytest.fixture
def client(shelf: None) -> Client:
    return Client(raise_request_exception=True)


def words_at(client: Client, address: str) -> list[str]:
    root = ElementTree.fromstring(client.get(address).content)
    return ["".join(node.itertext()).strip() for node in root.iter(f"{SVG}text")]


@pytest.mark.parametrize("address", NAMES)
def test_every_picture_is_saved_as_svg_and_png(client: Client, address: str) -> None:
    svg = client.get(f"{address}.svg")
    assert svg["Content-Type"] == "image/svg+xml; charset=utf-8"
    assert svg["Content-Disposition"].startswith('inline; filename="')
    assert svg["Content-Security-Policy"].startswith("default-src 'none'; style-src 'sha256-")
    words = words_at(client, f"{address}.svg")
    assert words[-1] == f"{datetime.datetime.now(datetime.UTC):%Y-%m-%d}, made with Setwright"
    assert any("Heron 6" in line for line in words)
    assert any("Service sheet, first printing, page 2" in line for line in words)
    png = client.get(f"{address}.png")
    assert png["Content-Type"] == "image/png"
    assert Image.open(BytesIO(png.content)).width > 1800


@pytest.mark.parametrize("address", NAMES)
def test_wrong_methods_are_refused(client: Client, address: str) -> None:
    assert client.head(f"{address}.svg").status_code == 200
    assert client.post(f"{address}.svg").status_code == 405


@pytest.mark.parametrize("address", MISSING)
def test_what_is_not_there_is_404(client: Client, address: str) -> None:
    assert client.get(address).status_code == 404


def test_a_sets_picture_says_which_set_and_what_it_is(client: Client) -> None:
    words = words_at(client, "/sets/bench-1/pictures/serial-line.svg")
    assert words[0] == "bench-1, Heron 6 table radio"
    assert "bench-1, serial H 2?50. Heron 6 table radio." in words
    assert any(line.startswith(("Most probably", "No version stands out")) for line in words)


def test_another_line_is_drawn_where_it_is_asked_for(client: Client) -> None:
    main, export = (
        words_at(client, f"/families/heron-6/pictures/features.svg?line={line}") for line in ("main", "export")
    )
    assert "Features and versions of the main line" in main
    assert main != export
    assert words_at(client, "/families/heron-6/pictures/features.svg") == main


def test_every_state_of_the_grid_stands_in_the_picture(client: Client) -> None:
    words = " ".join(words_at(client, "/sets/bench-1/pictures/features.svg"))
    for state in ("6BE6", "two lamps", "cannot tell"):
        assert state in words


def test_no_answer_is_told_as_it_is_for_other_data(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    from setwright.identity.model import ImpossibleHistory
    from setwright.workbench.sets import computed

    def impossible(*values: Any, **options: Any) -> None:
        raise ImpossibleHistory("the documents contradict each other")

    monkeypatch.setattr(computed, "identity_of", impossible)
    response = client.get("/sets/bench-1/pictures/serial-line.png")
    assert response.status_code == 409
    assert "contradict" in response.content.decode()


@pytest.mark.parametrize(
    ("page", "at_least"),
    [("/sets/bench-1/identity/", 8), ("/families/heron-6/", 6), ("/families/heron-6/survivors/of/K-03/", 4)],
)
def test_every_page_links_its_pictures_and_every_link_leads_to_one(client: Client, page: str, at_least: int) -> None:
    content = client.get(page).content.decode()
    links = [html.unescape(link) for link in re.findall(r'<a href="([^"]+)" download>', content)]
    assert len(links) >= at_least
    for link in links:
        assert client.head(link).status_code == 200, link
    drawn = len(re.findall(r'<svg class="serial-line', content)) // 2 + len(
        re.findall(r'<table role="table" class="grid', content)
    )
    assert len(links) >= 2 * drawn


def test_the_learnt_rates_are_kept_in_the_links(client: Client) -> None:
    content = client.get("/sets/bench-1/identity/?learned=1").content.decode()
    assert "/sets/bench-1/pictures/serial-line.svg?line=main&amp;learned=1" in content
    assert "/sets/bench-1/pictures/features.png?learned=1" in content
