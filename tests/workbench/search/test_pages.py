"""The page of what was found: grouped, in sheets, marked, and the same as data."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.test import Client

from setwright.workbench.accounts.managing import add_account
from setwright.workbench.accounts.models import Role
from setwright.workbench.literature.changes import add
from setwright.workbench.search import finding
from setwright.workbench.search.models import IndexMark

pytestmark = pytest.mark.django_db


@pytest.fixture
def client() -> Client:
    for number in range(7):
        add(
            {"title": f"Bulletin {number}", "maker": "Heron", "note": "About the <b>converter</b> & its coil."}, by=None
        )
    return Client(raise_request_exception=True)


def test_hits_are_grouped_and_marked(client: Client) -> None:
    page = client.get("/search/", {"q": "converter"}).content.decode()
    assert "7 places found" in re.sub(r"<[^>]+>", "", page)
    assert "About the &lt;b&gt;<mark>converter</mark>&lt;/b&gt; &amp; its coil." in page
    assert page.count("<mark>") == finding.BEST_OF_A_KIND
    assert "kind=literature" in page


def test_one_kind_in_sheets(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    for module in ("finding", "pages"):
        monkeypatch.setattr(f"setwright.workbench.search.{module}.HITS_A_PAGE", 3)
    sheets = [client.get("/search/", {"q": "heron", "kind": "literature", "page": number}) for number in (1, 2, 3)]
    hits = [set(re.findall(r'/literature/of/([^/"]+)/', sheet.content.decode())) for sheet in sheets]
    assert [len(found) for found in hits] == [3, 3, 1]
    assert len(set.union(*hits)) == 7
    assert "Sheet 2 of 3" in sheets[1].content.decode()


def test_common_words_come_in_their_own_order(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(finding, "MOST_RANKED", 2)
    found = client.get("/search/found.json", {"q": "heron"}).json()
    assert [hit["title"] for hit in found["groups"][0]["hits"]] == [f"Bulletin {number}" for number in range(5)]


def test_the_same_as_data(client: Client) -> None:
    found = client.get("/search/found.json", {"q": "bulletin 3"}).json()
    assert (found["format"], found["asked"], found["total"]) == ("setwright-found/1", "bulletin 3", 1)
    assert found["groups"] == [
        {
            "kind": "literature",
            "count": 1,
            "hits": [
                {"title": "Bulletin 3", "text": "Other", "address": "/literature/of/heron-bulletin-3/", "family": ""}
            ],
        }
    ]


@pytest.mark.parametrize("query", [{}, {"q": " "}, {"q": "\0"}, {"q": "x", "kind": "y"}, {"q": "heron", "page": "-1"}])
def test_odd_addresses_are_answered(client: Client, query: dict[str, str]) -> None:
    assert client.get("/search/", query).status_code == client.get("/search/found.json", query).status_code == 200


def test_nothing_found_says_what_to_try(client: Client) -> None:
    assert "Nothing was found for" in client.get("/search/", {"q": "zzz"}).content.decode()


def test_an_index_that_is_behind_or_could_not_read_something_says_so(client: Client, settings: Any) -> None:
    assert "still being read" not in client.get("/search/").content.decode()
    IndexMark.objects.filter(record_key="heron-bulletin-1").update(behind=True)
    IndexMark.objects.filter(record_key="heron-bulletin-2").update(problem="b.toml, line 3: no such <key>")
    page = client.get("/search/", {"q": "heron"}).content.decode()
    assert "1 record changed a moment ago and is still being read for the search" in page
    assert "heron-bulletin-2: b.toml, line 3: no such &lt;key&gt;" in page
    assert client.get("/search/found.json", {"q": "heron"}).json()["behind"] == 1
    settings.SHARED = True
    reader = Client()
    reader.force_login(add_account("ada", "rivet brass walnut", Role.READER))
    page = reader.get("/search/", {"q": "heron"}).content.decode()
    assert ("still being read" in page, "line 3" in page) == (True, False)
