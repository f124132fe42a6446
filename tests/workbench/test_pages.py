"""Every page: works, bad id is 404, wrong method 405, headers strict."""

from __future__ import annotations

import csv
import io
import json
import re
from itertools import pairwise

import pytest
from django.test import Client

pytestmark = pytest.mark.django_db

PAGES = [
    "/casebook/",
    "/sets/",
    "/sets/bench-1/",
    "/sets/bench-1/identity/",
    "/sets/bench-1/bench/",
    "/sets/bench-1/bench/at/back-off/",
    "/sets/bench-1/bench/at/chassis-out/",
    "/sets/bench-1/date/",
    "/sets/bench-1/dates/",
    "/sets/bench-1/condition/",
    "/sets/bench-1/notes/",
    "/sets/bench-1/readings/",
    "/sets/bench-1/seen/",
    "/sets/bench-1/seen/1/",
    "/sets/bench-1/wants/",
    "/sets/bench-1/intake/",
    "/intake/",
    "/families/",
    "/families/heron-6/",
    "/families/heron-6/versions/second/",
    "/families/heron-6/versions/export-only/",
    "/families/heron-6/survivors/",
    "/families/heron-6/survivors/of/K-03/",
    "/families/heron-6/survivors/of/K-07/",
    "/families/heron-6/survivors/of/K/08%20&%20co/",
]
DATA = [
    "/sets/bench-1/identity.json",
    "/sets/bench-1/date.json",
    *(f"/sets/bench-1/date/tables/{name}.csv" for name in ("date", "weeks", "curve", "dated")),
    "/sets/bench-1/set.toml",
    *(f"/sets/bench-1/tables/{name}.csv" for name in ("verdict", "changes", "observations", "predicted", "next")),
    "/families/heron-6/family.toml",
    "/families/heron-6/features.csv",
    "/families/heron-6/survivors/survivors.csv",
]
MISSING = [
    "/nowhere",
    "/sets/bench-2/",
    "/sets/bench-2/identity.json",
    "/sets/bench-2/identity/",
    "/sets/bench-2/bench/",
    "/sets/bench-1/bench/at/lead-lifted/",
    "/sets/bench-1/bench/at/nowhere/",
    "/sets/bench-1/seen/99/",
    "/sets/bench-1/notes/0/",
    "/sets/bench-1/tables/odd.csv",
    "/families/wren/",
    "/families/heron-6/versions/fourth/",
    "/families/heron-6/survivors/of/K-99/",
    "/families/wren/survivors/",
]


@pytest.fixture
def client(shelf: None) -> Client:
    return Client(raise_request_exception=True)


def text_of(client: Client, address: str) -> str:
    response = client.get(address)
    assert response.status_code == 200, address
    return response.content.decode()


@pytest.mark.parametrize("address", [*PAGES, *DATA])
def test_it_works(client: Client, address: str) -> None:
    assert client.get(address).status_code == 200
    assert client.head(address).status_code == 200


FORMS = [
    *(f"/sets/bench-1/{list_}/" for list_ in ("condition", "dates", "notes", "readings", "wants", "seen/1", "intake")),
    "/intake/",
]


@pytest.mark.parametrize("address", [page for page in (*PAGES, *DATA) if page not in FORMS])
def test_wrong_method_is_refused(client: Client, address: str) -> None:
    assert client.post(address).status_code == 405


@pytest.mark.parametrize("address", MISSING)
def test_what_is_not_there_is_404(client: Client, address: str) -> None:
    assert client.get(address).status_code == 404


def test_healthz_answers_ok(client: Client) -> None:
    assert client.get("/healthz").content == b"ok"


def test_the_first_page_is_the_shelf(client: Client) -> None:
    response = client.get("/", follow=True)
    assert response.redirect_chain == [("/sets/", 302)]
    assert "bench-1" in response.content.decode()


@pytest.mark.parametrize("address", PAGES)
def test_every_link_of_a_page_leads_somewhere(client: Client, address: str) -> None:
    page = text_of(client, address)
    links = {link for link in re.findall(r'href="(/[^"#]*)"', page) if not link.startswith("/static/")}
    assert links
    for link in links:
        assert client.get(link.replace("&amp;", "&")).status_code == 200, link


@pytest.mark.parametrize("address", PAGES)
def test_no_inline_style_or_script(client: Client, address: str) -> None:
    response = client.get(address)
    page = response.content.decode()
    assert not re.search(r"\sstyle=|<style|<script(?![^>]*\ssrc=)|\son[a-z]+=", page)
    policy = response.headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert response.headers["X-Content-Type-Options"] == "nosniff"
    assert response.headers["X-Frame-Options"] == "DENY"
    assert response.headers["Referrer-Policy"] == "same-origin"


@pytest.mark.parametrize("address", PAGES)
def test_headings_stand_in_order(client: Client, address: str) -> None:
    levels = [int(level) for level in re.findall(r"<h([1-6])[ >]", text_of(client, address))]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))


@pytest.mark.parametrize("address", PAGES)
def test_pictures_and_tables_say_what_they_show(client: Client, address: str) -> None:
    page = text_of(client, address)
    for drawing in re.findall(r"<svg.*?</svg>", page, re.DOTALL):
        assert 'aria-hidden="true"' in drawing or ("<title" in drawing and "<desc" in drawing)
    for table in re.findall(r"<table.*?</table>", page, re.DOTALL):
        assert "<caption>" in table
        assert 'scope="row"' in table


@pytest.mark.parametrize("address", PAGES)
def test_no_id_of_a_file_stands_where_a_label_exists(client: Client, address: str) -> None:
    shown = re.sub(r"<[^>]+>", " ", text_of(client, address))
    for raw in ("tone-capacitor", "output-rivets", "dial-lamp", "heron-6", "sheet-1", "cannot_tell", "None"):
        assert raw not in shown.replace("setwright serve heron-6=", ""), raw


def test_the_identity_page_says_what_the_answer_says(client: Client) -> None:
    page = text_of(client, "/sets/bench-1/identity/")
    answer = json.loads(text_of(client, "/sets/bench-1/identity.json"))
    assert answer["format"] == "setwright-identity/1"
    assert sum(entry["probability"] for entry in answer["verdict"]) == pytest.approx(1.0)
    assert answer["verdict"][0]["label"] in page
    for sentence in answer["explanations"]:
        assert sentence.split(":")[0][:40] in page
    for batch in answer["batches"]:
        for caution in batch["cautions"]:
            assert caution.replace("'", "&#x27;") in page


def test_tables_hold_the_same_figures_as_the_json(client: Client) -> None:
    answer = json.loads(text_of(client, "/sets/bench-1/identity.json"))
    rows = list(csv.DictReader(io.StringIO(text_of(client, "/sets/bench-1/tables/verdict.csv"))))
    assert [float(row["probability"]) for row in rows] == [entry["probability"] for entry in answer["verdict"]]
    rows = list(csv.DictReader(io.StringIO(text_of(client, "/sets/bench-1/tables/changes.csv"))))
    assert [(row["id"], float(row["median"])) for row in rows] == [
        (change["id"], change["cut_in"]["median"]) for change in answer["changes"]
    ]


def test_an_empty_house_tells_how_to_begin(db: None) -> None:
    client = Client()
    assert "setwright new family" in text_of(client, "/sets/")
    assert "setwright compare" in text_of(client, "/families/")


def test_a_family_without_survivors(texts: dict[str, str], db: None) -> None:
    from setwright.workbench.services.imports import Incoming, import_contents

    import_contents([Incoming("heron.toml", texts["family"].encode()), Incoming("set.toml", texts["set"].encode())])
    client = Client()
    assert "no survivors" in text_of(client, "/sets/bench-1/identity/")
    assert "take in a table with one row a set" in text_of(client, "/families/heron-6/survivors/")
    assert client.get("/families/heron-6/survivors/survivors.csv").status_code == 404


NO_VERSION = """\
format = "setwright-family/1"
id = "bare"
name = "Bare"
kind = "radio"
[[feature]]
id = "stamp"
label = "Rear stamp"
access = "outside"
permanence = "stamped"
states = ["A", "B"]
[[feature]]
id = "socket"
label = "Rectifier socket"
access = "underside"
permanence = "riveted"
states = ["wafer", "moulded"]
"""
ITS_SET = """\
format = "setwright-set/1"
id = "plain"
family = "bare"
[[observation]]
feature = "stamp"
state = "A"
"""


def test_what_no_document_mentions_is_not_called_a_misfit(db: None) -> None:
    from setwright.workbench.services.imports import Incoming, import_contents

    import_contents([Incoming("bare.toml", NO_VERSION.encode()), Incoming("plain.toml", ITS_SET.encode())])
    page = text_of(Client(), "/sets/plain/identity/")
    assert "does not fit</span>" not in page
    assert "no document says which versions have it" in page
    foretold = page.split("Features that were not seen", 1)[1].split("</table>", 1)[0]
    assert "Rectifier socket" in foretold
    assert "50\xa0%" in foretold
    assert "Nothing that was seen weighs anything yet." in page
    assert "Features as  has them" not in page


def test_a_foreign_host_and_a_foreign_form_get_pages_of_the_site(client: Client) -> None:
    response = client.get("/sets/", headers={"host": "evil.example"})
    assert response.status_code == 400
    assert "This request was not understood" in response.content.decode()
    response = Client(enforce_csrf_checks=True).post("/sets/")
    assert response.status_code == 403
    assert "Nothing was changed" in response.content.decode()


def test_a_set_file_of_odd_text_is_shown_as_text(texts: dict[str, str], db: None) -> None:
    from setwright.workbench.services.imports import Incoming, import_contents

    odd = texts["set"].replace('state = "two lamps"', 'state = "other: <b>&\\"x"')
    import_contents([Incoming("heron.toml", texts["family"].encode()), Incoming("set.toml", odd.encode())])
    page = text_of(Client(), "/sets/bench-1/identity/")
    assert "<b>&" not in page
    assert "&lt;b&gt;&amp;" in page


def test_the_shelf_and_a_set_cost_as_many_queries_for_many_sets(
    shelf: None, texts: dict[str, str], django_assert_num_queries: object
) -> None:
    from setwright.workbench.services.imports import Incoming, import_contents

    client = Client()
    client.get("/sets/bench-1/")
    with django_assert_num_queries(3):  # type: ignore[operator]  # how many, those of this page, the families
        client.get("/sets/")
    more = [Incoming(f"{i}.toml", texts["set"].replace("bench-1", f"bench-{i}").encode()) for i in range(2, 6)]
    import_contents(more)
    for i in range(2, 6):
        client.get(f"/sets/bench-{i}/")
    with django_assert_num_queries(3):  # type: ignore[operator]
        client.get("/sets/")
    with django_assert_num_queries(2):  # type: ignore[operator]  # the set, the circuits of its family
        client.get("/sets/bench-3/")
