"""What pages ask of the database: a fixed number of questions, however much is kept."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import photos_made as made
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from setwright.workbench.services import records
from setwright.workbench.services.cache import ByContent

FEW, MANY = 2, 9
"""Sets, photos of two of them, and families, in a small and in a larger house; survivors ten times as many."""

MOST = {
    "/sets/": 3,  # how many sets, those of this page, the families to choose from
    "/sets/?q=bench&order=changed": 3,
    "/sets/bench-1/": 3,  # the set with all that belongs to it, the circuits of its family
    "/sets/bench-1/bench/": 2,
    "/sets/bench-1/date/": 2,
    "/sets/bench-1/photos/": 3,  # the set, its pictures, the other sets of the family
    "/families/": 2,
    "/families/heron-6/": 4,  # the family, its sets, the literature it cites, its circuits
    "/families/heron-6/survivors/": 1,
    "/families/heron-6/survivors/?sort=serial&q=window&feature=converter": 1,
    "/search/?q=heron": 5,  # how many of each kind, which are the best, those, their families; how far the index is
    "/search/?q=H+1*": 6,  # before that, which serials fit
}


@pytest.fixture
def house(shelf: None, texts: dict[str, str], settings: Any, tmp_path: Any) -> Callable[[int], Client]:
    """Fills the records with so many of everything."""
    from setwright.workbench.services.imports import Incoming, import_contents

    settings.DATA_DIR = tmp_path

    def fill(number: int) -> Client:
        rows = [f"N-{i},H {i + 1},main,printed,6SA7,,two,one lamp,a window" for i in range(10 * number)]
        import_contents(
            [
                Incoming("heron.toml", texts["family"].encode()),
                Incoming("more.csv", "\n".join([texts["survivors"].strip(), *rows]).encode(), "heron-6"),
                *(
                    Incoming(f"family-{i}.toml", texts["family"].replace('"heron-6"', f'"heron-{i}"').encode())
                    for i in range(10, 10 + number)
                ),
                *(
                    Incoming(f"{i}.toml", texts["set"].replace('"bench-1"', f'"bench-{i}"').encode())
                    for i in range(2, 2 + number)
                ),
            ]
        )
        client = Client()
        for key in ("bench-1", "bench-2"):
            pictures = [
                SimpleUploadedFile(f"{i}.jpg", made.encoded(made.drawing(90 + i, 60), "JPEG"), "image/jpeg")
                for i in range(number)
            ]
            sent = client.post(f"/sets/{key}/photos/add/", {"photos": pictures, "feature": "label"})
            assert sent.status_code in (200, 302)  # some may be there already
        for i in range(1, 2 + number):
            assert client.get(f"/sets/bench-{i}/").status_code == 200  # its line on the shelf
        return client

    return fill


def asked_by(client: Client) -> dict[str, list[str]]:
    """The questions of each page to the database, once what does not change is remembered."""
    asked = {}
    for address in MOST:
        assert client.get(address).status_code == 200
        with CaptureQueriesContext(connection) as queries:
            client.get(address)
        asked[address] = [query["sql"] for query in queries]
    return asked


def test_a_page_asks_no_more_of_a_full_house(house: Callable[[int], Client]) -> None:
    few = asked_by(house(FEW))
    many = asked_by(house(MANY))
    assert {address: len(asked) for address, asked in many.items()} == {a: len(asked) for a, asked in few.items()}
    for address, asked in many.items():
        assert len(asked) <= MOST[address], "\n".join([address, *asked])


def test_after_a_start_nothing_is_fetched_one_by_one(
    house: Callable[[int], Client], monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = []
    for number in (FEW, MANY):
        client = house(number)
        for name in ("_families", "_sets", "_registers"):
            monkeypatch.setattr(records, name, ByContent(size=100))
        counts = {}
        for address in MOST:
            with CaptureQueriesContext(connection) as queries:
                client.get(address)
            counts[address] = len(queries)
        asked.append(counts)
    assert asked[0] == asked[1]


def test_an_observation_asks_as_much_whatever_was_written_before(house: Callable[[int], Client]) -> None:
    """Also the page that follows, which tells what changed."""
    client = house(FEW)
    asked = []
    for state in ("two", "four", "two", "four"):
        with CaptureQueriesContext(connection) as queries:
            answer = client.post("/sets/bench-1/bench/see/output-rivets/", {"state": state})
        kept = len(queries)
        with CaptureQueriesContext(connection) as queries:
            assert "Rivets" in client.get(answer.headers["Location"]).content.decode()
        asked.append((kept, len(queries)))
    assert len(set(asked)) == 1, asked
    assert asked[0] <= (30, 3)
