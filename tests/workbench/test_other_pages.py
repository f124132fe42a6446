"""The look sheet, sisters, letters, and the quieter parts of the identity page."""

from __future__ import annotations

import csv
import html
import io
import json
import re
from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest
from django.test import Client

from setwright.identity.cautions import DEFER
from setwright.identity.letter import letters
from setwright.workbench.services import identity

pytestmark = pytest.mark.django_db

SET = "/sets/tall-shelf/"
IDENTITY = SET + "identity/"
PAGES = [IDENTITY, *(SET + page for page in ("looks/", "sisters/", "sisters/of/P-04/", "sisters/of/P-13/"))]
PAGES += [SET + page for page in ("ask/", "ask/of/P-04/", "ask/of/P-13/")]
DATA = [
    SET + "ask/of/P-04/letter.txt",
    *(f"{SET}tables/{name}.csv" for name in ("groups", "free", "sisters", "ask", "learned", "misfit")),
]
MISSING = [
    *(SET + page for page in ("sisters/of/P-99/", "ask/of/P-99/", "ask/of/P-99/letter.txt", "ask/of/P-13/letter.txt")),
    *(f"/sets/nobody/{page}" for page in ("looks/", "sisters/", "sisters/of/P-04/", "ask/", "ask/of/P-04/")),
]


@pytest.fixture
def client(plover_shelf: None) -> Client:
    return Client(raise_request_exception=True)


def page_at(client: Client, address: str) -> str:
    response = client.get(address)
    assert response.status_code == 200, address
    return response.content.decode()


def words_of(page: str) -> str:
    """The page's text without tags, on one line."""
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).replace("\xa0", " ").split())


def section(page: str, name: str) -> str:
    """The text of one section of the identity page."""
    return words_of(re.search(rf'<section class="entry[^"]*" id="{name}".*?</section>', page, re.DOTALL).group())


@pytest.mark.parametrize("address", [*PAGES, *DATA])
def test_it_works_and_only_reads(client: Client, address: str) -> None:
    assert client.get(address).status_code == 200
    assert client.head(address).status_code == 200
    assert client.post(address).status_code == 405


@pytest.mark.parametrize("address", MISSING)
def test_what_is_not_there_is_404(client: Client, address: str) -> None:
    assert client.get(address).status_code == 404


@pytest.mark.parametrize("address", PAGES)
def test_links_lead_somewhere_and_nothing_is_inline(client: Client, address: str) -> None:
    page = page_at(client, address)
    assert not re.search(r"\sstyle=|<style|<script|\son[a-z]+=", page)
    for link in {link for link in re.findall(r'href="(/[^"#]*)"', page) if not link.startswith("/static/")}:
        assert client.get(html.unescape(link)).status_code == 200, link


@pytest.mark.parametrize("address", PAGES)
def test_headings_stand_in_order_and_ids_are_not_shown(client: Client, address: str) -> None:
    page = page_at(client, address)
    levels = [int(level) for level in re.findall(r"<h([1-6])[ >]", page)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
    for raw in ("rear-stamp", "dial-glass", "plover-5", "knob-inserts", "None"):
        assert raw not in words_of(page).replace("plover-bench.toml", ""), raw


def test_a_marriage_is_told_with_where_from_and_how_sure(client: Client) -> None:
    words = section(page_at(client, IDENTITY), "evidence")
    assert "What does not belong to it" in words
    assert "Cabinet if so, from about 4900: 4010 to 5930 (90 % range) 93 %" in words


def test_a_feature_that_no_document_mentions_has_its_row_and_its_place_in_the_picture(client: Client) -> None:
    page = page_at(client, IDENTITY)
    assert "Knob inserts changed from brass to painted 83 % else: side by side 16 %" in section(page, "run")
    for drawing in re.findall(r'<svg class="serial-line.*?</svg>', page, re.DOTALL):
        assert "Not in any document: learnt from survivors" in drawing
        assert "brass → painted (83 % sure)" in drawing.replace("\xa0", " ")


def test_survivors_without_a_serial_are_named_as_such(client: Client) -> None:
    page = page_at(client, IDENTITY)
    words = section(page, "run")
    assert "3 survivors without a place on the line" in words
    assert "P-13 (no serial), P-14 (serial 31??), P-15 (no serial)" in words
    assert "survivors (12), and 3 without a full serial" in page.lower()


def test_a_misfit_names_what_drives_it_and_what_would_explain_it(client: Client) -> None:
    words = words_of(re.search(r'<div class="alarm".*?</div>', page_at(client, IDENTITY), re.DOTALL).group())
    assert words.startswith("Take care: No documented history explains this set")
    assert "Grille cloth weave (basket, 11 decibans)" in words
    assert words.count("A cabinet from a later set would explain it.") == 1


def test_the_method_is_told_at_the_quiet_end(client: Client) -> None:
    page = page_at(client, IDENTITY)
    words = section(page, "method")
    assert "How this was computed Weighted: 1,200 joint histories, 870 effective, seed 0." in words
    assert "riveted learnt 1.1 % 0.2 to 3.4 % usual 2.0 % from 48 items" in words
    assert "which were used here" in words
    assert page.index('id="method"') == max(page.index(f'id="{name}"') for name in ("method", "sisters", "next", "run"))


def test_three_sisters_on_the_page_and_all_on_their_own(client: Client) -> None:
    words = section(page_at(client, IDENTITY), "sisters")
    assert (
        "P-04 , serial 1490: 0.4 changes apart, alike in 2 of 3 features; it differs in Detector tube (12AV6)." in words
    )
    assert "P-12" not in words
    rows = re.findall(r"<tr><th scope=\"row\"><a [^>]*>([^<]*)", page_at(client, SET + "sisters/"))
    assert rows == ["P-04", "P-05", "P-14", "P-12"]


def test_a_comparison_goes_difference_by_difference(client: Client) -> None:
    page = page_at(client, SET + "sisters/of/P-04/")
    words = words_of(page)
    assert "tall-shelf beside P-04" in words
    assert "0.4 changes apart; what was seen of both speaks clearly for their having been made alike." in words
    assert "Detector tube here 12SQ7 there 12AV6 (differs) clearly against −7.5 (odds ÷ 5.6)" in words
    assert page.count('class="differs"') == 1
    assert "Seen only on P-04: Knob inserts (brass)." in words


def test_a_survivor_that_cannot_be_compared_says_so(client: Client) -> None:
    assert "shows nothing that could be compared" in words_of(page_at(client, SET + "sisters/of/P-13/"))


def test_the_letter_is_the_same_as_on_the_command_line(client: Client, plover: Any, full_answer: Any) -> None:
    family, bench, survivors = plover
    first, second = letters(family, bench, survivors, full_answer)
    page = page_at(client, SET + "ask/")
    shown = html.unescape(re.search(r'<pre class="letter"[^>]*>(.*?)</pre>', page, re.DOTALL).group(1))
    assert shown == first.text(None)
    assert "P-04" in words_of(page.split("Others to ask")[1])
    assert page_at(client, SET + "ask/of/P-04/letter.txt") == second.text()
    response = client.get(SET + "ask/of/P-04/letter.txt")
    assert response.headers["Content-Type"] == "text/plain; charset=utf-8"


def test_whom_it_makes_no_sense_to_ask(client: Client) -> None:
    words = words_of(page_at(client, SET + "ask/of/P-13/"))
    assert "Nothing that could be seen of P-13 without opening it would tell much about tall-shelf." in words
    assert "Others to ask" in words


def test_what_to_ask_stands_beside_the_next_looks(client: Client) -> None:
    words = section(page_at(client, IDENTITY), "next")
    assert "Look sheet to print and take along" in words
    assert "P-05 : Dial glass lettering, from outside (0.3 bit about this set)" in words


def test_a_sheet_with_nothing_left_to_see(client: Client, full_answer: Any, monkeypatch: Any) -> None:
    monkeypatch.setattr(identity, "identify", lambda *values, **options: replace(full_answer, next=(), batches=()))
    words = words_of(page_at(client, SET + "looks/"))
    assert "No look that is left would tell much; nothing need be opened." in words
    assert DEFER in words


def test_a_sheet_with_boxes_in_the_order_of_opening(shelf: None) -> None:
    page = page_at(Client(), "/sets/bench-1/looks/")
    assert page.index("From outside") < page.index("With the chassis out")
    words = words_of(page)
    assert "brown ivory something else: cannot tell looks serviced" in words
    assert "open now; 1 look" in words
    before = page.split("With the chassis out")[1].split("Rivets of the output transformer")[0]
    assert "Before this step" in before
    assert html.escape(DEFER) in before
    assert page.count('class="box"') == 2 * 2 + 2 * 3


def test_tables_hold_the_figures_of_the_json(client: Client) -> None:
    answer = json.loads(page_at(client, SET + "identity.json"))

    def rows(name: str) -> list[dict[str, str]]:
        return list(csv.DictReader(io.StringIO(page_at(client, f"{SET}tables/{name}.csv"))))

    assert [float(row["elsewhere_probability"]) for row in rows("groups")] == [0.93]
    assert [float(row["probability"]) for row in rows("free")] == [
        p["probability"] for p in answer["free"][0]["patterns"]
    ]
    assert [row["set"] for row in rows("sisters")] == [s["set"] for s in answer["sisters"] for _ in s["differences"]]
    assert [float(row["bits"]) for row in rows("ask")] == [asked["bits"] for asked in answer["ask"]]
    assert [float(row["default"]) for row in rows("learned")] == [rate["default"] for rate in answer["learned"]]
    assert [float(row["decibans"]) for row in rows("misfit")] == [11.4]
    assert float(rows("changes")[-1]["probability"]) == 0.83


def test_empty_tables_are_not_offered(shelf: None) -> None:
    page = page_at(Client(), "/sets/bench-1/identity/")
    for name in re.findall(r"/tables/([a-z]+)\.csv", page):
        assert len(page_at(Client(), f"/sets/bench-1/tables/{name}.csv").splitlines()) > 1
