"""The shelf: found, ordered and paged; its lines are kept, and never computed while it is shown."""

from __future__ import annotations

import time
from typing import Any

import pytest
from django.test import Client

from setwright.workbench.services import identity
from setwright.workbench.services.imports import Incoming, import_contents
from setwright.workbench.sets import shelf_lines
from setwright.workbench.sets.models import SetRecord, ShelfLine
from setwright.workbench.sets.shelf import ON_A_PAGE, Asked

pytestmark = pytest.mark.django_db


def page(client: Client, address: str = "/sets/") -> str:
    response = client.get(address)
    assert response.status_code == 200
    return str(response.content.decode())


def more_sets(texts: dict[str, str], number: int) -> None:
    import_contents(
        Incoming(f"{i}.toml", texts["set"].replace("bench-1", f"more-{i:03}").encode()) for i in range(number)
    )


def without_computing(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Nothing may be computed from here on; what is put off to the background is listed."""

    def never(*values: Any, **options: Any) -> Any:
        raise AssertionError("computed while the shelf was shown")

    begun: list[str] = []
    monkeypatch.setattr(identity, "_quick_runs", identity.Runs(identity.ByContent(size=8), at_once=1))
    monkeypatch.setattr(identity, "_runs", identity.Runs(identity.ByContent(size=8)))
    monkeypatch.setattr(identity, "identify", never)
    monkeypatch.setattr(identity, "quick_answer", never)
    monkeypatch.setattr(shelf_lines, "begin", lambda record, quick: begun.append(record.key))
    return begun


def test_the_shelf_computes_nothing_and_has_a_few_begun(
    client: Client, texts: dict[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    more_sets(texts, 20)
    begun = without_computing(monkeypatch)
    response = client.get("/sets/")
    assert "Being worked out." in response.content.decode()
    assert len(begun) == shelf_lines.AT_ONCE
    assert response.headers["Refresh"] == "4"


def test_a_kept_line_is_shown_until_a_better_one_is_there(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(identity, "_runs", identity.Runs(identity.ByContent(size=8)))
    client.get("/sets/bench-1/")
    line = ShelfLine.objects.get()
    assert line.quick
    assert "(quick answer)" in page(client)
    client.get("/sets/bench-1/identity/")
    line = ShelfLine.objects.get()
    assert not line.quick
    begun = without_computing(monkeypatch)
    shown = page(client)
    assert line.verdict in shown
    assert line.step.replace("'", "&#x27;") in shown
    assert begun == []


def test_a_line_from_before_a_change_says_so(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    client.get("/sets/bench-1/identity/")
    begun = without_computing(monkeypatch)
    client.post("/sets/bench-1/notes/", {"text": "anything"})
    assert "being worked out anew" in page(client)
    assert begun == ["bench-1"]


def test_the_background_makes_the_line_by_itself(client: Client) -> None:
    until = time.monotonic() + 60
    while "Being worked out." in page(client) and time.monotonic() < until:
        time.sleep(0.05)
    assert ShelfLine.objects.get().probability is not None


def test_a_set_that_cannot_be_told_says_why(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    from setwright.identity import ImpossibleHistory

    def contradict(*values: Any, **options: Any) -> Any:
        raise ImpossibleHistory("sheet 2 contradicts sheet 1")

    monkeypatch.setattr(identity, "_quick_runs", identity.Runs(identity.ByContent(size=8), at_once=1))
    monkeypatch.setattr(identity, "_runs", identity.Runs(identity.ByContent(size=8)))
    monkeypatch.setattr(identity, "quick_answer", contradict)
    assert "sheet 2 contradicts sheet 1" in page(client, "/sets/bench-1/")
    assert "Not worked out: sheet 2 contradicts sheet 1" in page(client)
    assert client.get("/sets/bench-1/bench/").status_code == 409


def test_it_is_found_by_every_word_and_ordered(client: Client, texts: dict[str, str]) -> None:
    client.post("/intake/", {"family": "heron-6", "name": "Attic radio", "serial": "H77"})
    more_sets(texts, 3)
    for asked, there in (("attic", True), ("ATTIC heron", True), ("h77", True), ("attic cellar", False)):
        assert ("Attic radio" in page(client, f"/sets/?q={asked}")) is there, asked
    shown = page(client)
    assert shown.index("Attic radio") < shown.index("bench-1") < shown.index("more-000")
    newest = page(client, "/sets/?order=changed")
    assert newest.index("more-002") < newest.index("bench-1")
    assert "bench-1" not in page(client, "/sets/?family=wren")
    assert "Show all" in page(client, "/sets/?q=nothing-of-that-name")


@pytest.mark.parametrize(
    "query", ["q=%00", "q=%25", "page=x", "page=-4", "page=99", "order=x", "q=" + "a" * 5000, "q=''"]
)
def test_odd_addresses_show_a_shelf(client: Client, query: str) -> None:
    page(client, f"/sets/?{query}")


def test_pages_keep_what_was_asked(client: Client, texts: dict[str, str], monkeypatch: pytest.MonkeyPatch) -> None:
    more_sets(texts, ON_A_PAGE + 2)
    without_computing(monkeypatch)
    first = page(client, "/sets/?q=more&order=changed")
    assert f"{ON_A_PAGE + 2} sets found" in first
    assert 'href="?q=more&amp;order=changed&amp;page=2"' in first
    assert page(client, "/sets/?q=more&page=2").count('class="title"') == 2


def test_what_was_asked_stands_in_the_address() -> None:
    assert Asked.of({"q": " a b ", "order": "changed", "family": "x"}).query == "q=a+b&family=x&order=changed&"
    assert Asked.of({"order": "name"}).query == ""


def test_a_line_goes_with_its_set(client: Client) -> None:
    client.get("/sets/bench-1/")
    SetRecord.everything.all().delete()
    assert ShelfLine.objects.count() == 0
