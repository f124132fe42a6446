"""The page of a set's date, its data and pictures, and what dates it written down and taken out."""

from __future__ import annotations

import csv
import html
import io
import json
import re
from collections.abc import Callable
from io import BytesIO
from typing import Any
from xml.etree import ElementTree

import jsonschema
import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from PIL import Image

from setwright.files import schema
from setwright.workbench.records import history

pytestmark = pytest.mark.django_db

SET = "/sets/bench-1/"
DATE = SET + "date/"
SPEAKER = {"kind": "part", "part": "speaker", "code": "728", "scheme": "year-week"}
LATE = {"kind": "part", "part": "Volume control", "code": "5512", "scheme": "year2-week"}
PICTURES = ("curve", "pace", "parts")


def words(response: Any) -> str:
    return html.unescape(" ".join(re.sub(r"<[^>]+>", " ", response.content.decode()).split())).replace("\xa0", " ")


def note(client: Client, **entry: str) -> None:
    assert client.post(SET + "dates/", entry).status_code == 302


def test_the_page_says_when_and_how_sure(client: Client) -> None:
    said = words(client.get(DATE))
    assert "Built about" in said
    assert re.search(r"50 % range \d+ \w+( \d{4})? to \d+ \w+ 194[78]", said)
    assert re.search(r"90 % range \d+ \w+( \d{4})? to \d+ \w+ 194[78]", said)
    assert "Serial H 2150" in said
    assert "Compared with 6 dated survivors" in said
    assert "Nothing that dates the set itself was written down yet." in said
    assert "Each of 5 stamped survivors was dated from the others" in said
    assert "What does not fit" not in said


def test_a_later_part_is_flagged_in_words_and_the_page_of_the_set_names_it(client: Client) -> None:
    before = client.get(SET + "date.json").json()
    note(client, **SPEAKER)
    note(client, **LATE)
    said = words(client.get(DATE))
    assert "What does not fit: The volume control (5512, 1955-W12) is probably a later replacement" in said
    assert re.search(r"Volume control 5512 Week 12 of 1955, from 21 March.*?probably later", said)
    assert re.search(r"Speaker 728 Week 28 of 1947, from 7 July, .*?fits the set", said)
    after = client.get(SET + "date.json").json()
    assert after["parts"][1]["later_replacement_probability"] > 0.9 > after["parts"][0]["later_replacement_probability"]
    assert after["date"] != before["date"]
    step = words(client.get(SET))
    assert "Chronology Built about" in step
    assert "Probably later: volume control." in step


def test_the_page_of_the_set_asks_for_dates_where_there_are_none(client: Client) -> None:
    said = words(client.get(SET))
    assert "A stamp or a pencilled date inside, or date codes of its parts, would date it more closely." in said


def test_data_follow_their_schema_and_tables_have_rows(client: Client) -> None:
    note(client, **SPEAKER)
    data = client.get(SET + "date.json").json()
    jsonschema.validate(data, schema("date-answer"))
    assert data["trust"]["sets"] == 5
    assert "picture" in client.get(SET + "date.json?drawing=1").json()
    tables = {}
    for name in ("date", "weeks", "curve", "dated"):
        response = client.get(f"{DATE}tables/{name}.csv")
        assert response["Content-Type"] == "text/csv; charset=utf-8"
        tables[name] = list(csv.DictReader(io.StringIO(response.content.decode())))
    assert tables["date"][0]["median"] == data["date"]["median"]
    assert sum(float(row["probability"]) for row in tables["weeks"]) == pytest.approx(1.0)
    main = [row for row in tables["curve"] if row["line"] == "main"]
    assert (main[0]["serial"], main[-1]["serial"]) == ("H1", "H9000")
    assert all(row["low"] <= row["median"] <= row["high"] for row in main)
    assert {row["set"] for row in tables["dated"]} == {"K-01", "K-02", "K-03", "K-04", "K-05", "K-06"}


@pytest.mark.parametrize("name", PICTURES)
def test_pictures_are_on_the_page_and_saved(client: Client, name: str) -> None:
    note(client, **SPEAKER)
    assert f"{DATE}pictures/{name}.svg" in client.get(DATE).content.decode()
    svg = client.get(f"{DATE}pictures/{name}.svg")
    assert svg["Content-Security-Policy"].startswith("default-src 'none'; style-src 'sha256-")
    texts = ["".join(node.itertext()).strip() for node in ElementTree.fromstring(svg.content).iter()
             if node.tag.endswith("}text")]  # fmt: skip
    assert any(text.startswith("Built about") for text in texts)
    assert texts[-1].endswith("made with Setwright")
    assert Image.open(BytesIO(client.get(f"{DATE}pictures/{name}.png").content)).width > 1800


@pytest.mark.parametrize(
    "address",
    ["/sets/bench-2/date/", "/sets/bench-2/date.json", f"{DATE}tables/odd.csv", f"{DATE}pictures/portrait.svg",
     f"{DATE}pictures/curve.gif", f"{DATE}pictures/curve.svg?line=nowhere", f"{DATE}pictures/parts.svg"],
)  # fmt: skip
def test_what_is_not_there_is_404(client: Client, address: str) -> None:
    assert client.get(address).status_code == 404


def test_wrong_methods_are_refused(client: Client) -> None:
    for address in (DATE, SET + "date.json", f"{DATE}tables/date.csv", f"{DATE}pictures/curve.svg"):
        assert client.post(address).status_code == 405
    for address in (DATE + "stop/", DATE + "start/"):
        assert client.get(address).status_code == 405


@pytest.mark.parametrize(
    ("entry", "read"),
    [
        (SPEAKER, ("part", "728", "year-week", None, "speaker")),
        ({**SPEAKER, "scheme": "own", "own_scheme": "other2-month-year2", "code": "A11248"},
         ("part", "A11248", "other2-month-year2", None, "speaker")),
        ({**SPEAKER, "scheme": ""}, ("part", "728", None, None, "speaker")),
        ({"kind": "part", "part": "Output  Transformer", "date": "1947-W30"},
         ("part", None, None, "1947-W30", "output-transformer")),
        ({"kind": "stamp", "date": "1947-08"}, ("stamp", None, None, "1947-08", None)),
        ({"kind": "document", "date": "1948"}, ("document", None, None, "1948", None)),
    ],
)  # fmt: skip
def test_what_dates_it_is_kept_as_it_was_read_changed_and_taken_out(
    client: Client, record: Callable, entry: dict[str, str], read: tuple
) -> None:
    from setwright.workbench.services.records import set_file_of

    before = record().text
    note(client, **entry)
    (kept,) = set_file_of(record()).date_evidence
    assert (kept.kind, kept.code, kept.scheme, kept.date and kept.date.text, kept.part) == read
    form = client.get(SET + "dates/0/").content.decode()
    assert 'name="own_scheme" value="other2-month-year2"' in form or "other2" not in str(read)
    assert client.post(SET + "dates/0/", {**entry, "seen": "2"}).status_code == 302
    assert set_file_of(record()).date_evidence == (kept,)
    number = history.revisions_of(record())[0].number
    assert client.post(SET + "dates/0/remove/", {"seen": str(number)}).status_code == 302
    assert set_file_of(record()).date_evidence == ()
    history.go_back(record(), 1, by=None)
    assert record().text == before


@pytest.mark.parametrize(
    ("entry", "said"),
    [
        ({**SPEAKER, "part": ""}, "Say which part carries the date."),
        ({**SPEAKER, "date": "1947"}, "one of the two"),
        ({**SPEAKER, "code": ""}, "one of the two"),
        ({**SPEAKER, "code": "7#8"}, "is no date code"),
        ({**SPEAKER, "scheme": "own", "own_scheme": "year-wek"}, "is not known; perhaps year-week?"),
        ({**SPEAKER, "scheme": "own"}, "Write down how the code is made up."),
        ({"kind": "part", "part": "speaker", "date": "1947", "scheme": "year-week"}, "This goes with a code only."),
        ({"kind": "stamp", "date": "the spring of 47"}, "is not a date"),
        ({"kind": "stamp"}, "Write down the date, as far as it can be read."),
        ({"kind": "stamp", "code": "728", "date": "1947"}, "This goes with a dated part only"),
        ({"kind": "guess", "date": "1947"}, "not one of the available choices"),
    ],
)
def test_what_cannot_be_is_told_at_its_field_and_not_kept(
    client: Client, record: Callable, entry: dict[str, str], said: str
) -> None:
    before = record().text
    response = client.post(SET + "dates/", entry)
    assert response.status_code == 422
    assert said in words(response)
    assert record().text == before


@pytest.mark.parametrize(
    ("entry", "said"),
    [
        ({"kind": "stamp", "date": "1940-05"}, "The stamp 1940-05 lies before the introduction (1947)"),
        ({"kind": "part", "part": "speaker", "date": "2999"}, "lies in the future"),
        ({"kind": "part", "part": "speaker", "code": "799", "scheme": "year-week"}, "it may be 749, misread"),
        ({"kind": "part", "part": "speaker", "code": "7", "scheme": "year-week"}, "cannot be read"),
    ],
)
def test_odd_evidence_is_a_finding_and_never_a_crash(client: Client, entry: dict[str, str], said: str) -> None:
    note(client, **entry)
    assert said in words(client.get(DATE))


def test_without_any_date_the_page_says_what_is_needed(take_in: Callable, texts: dict[str, str]) -> None:
    bare = re.sub(r'(introduced|discontinued) = "[^"]*"\n', "", texts["family"])
    client = take_in(family=bare, survivors=texts["survivors"])
    response = client.get(DATE)
    assert response.status_code == 200
    assert "Nothing has a date yet" in words(response)
    assert "nothing of this family has a date yet" in words(client.get(SET))
    assert client.get(SET + "date.json").status_code == 409
    assert "Nothing has a date yet" in json.loads(client.get(SET + "date.json").content)["error"]
    assert client.get(f"{DATE}pictures/curve.svg").status_code == 409


def test_a_serial_that_is_gone_leaves_the_date_to_the_features(take_in: Callable, texts: dict[str, str]) -> None:
    client = take_in(set=texts["set"].replace('serial = "H 2?50"\n', ""))
    said = words(client.get(DATE))
    assert "Serial not known" in said
    assert "the place in the run is what the features seen say" in said
    assert client.get(f"{DATE}pictures/curve.svg").status_code == 200


def test_years_of_production_alone_date_a_set_without_serials(take_in: Callable, texts: dict[str, str]) -> None:
    family = re.sub(r"\[\[(serial_block|cutin)\]\]\n(?:\w+ = .*\n)+", "", texts["family"])
    client = take_in(family=family, set=texts["set"].replace('serial = "H 2?50"\n', ""), survivors="")
    said = words(client.get(DATE))
    assert "Built about" in said
    assert "only the years of production speak" in said
    assert "How many were made cannot be said" in said
    assert "50 %" in said  # parts of the run stand where serials would
    note(client, **SPEAKER)
    assert client.get(DATE).status_code == 200
    assert client.get(f"{DATE}pictures/pace.svg").status_code == 404
    assert client.get(f"{DATE}tables/curve.csv").status_code == 200


def test_the_page_asks_little_of_the_database(client: Client) -> None:
    note(client, **SPEAKER)
    asked = {}
    for address in (SET, DATE, SET + "date.json"):
        client.get(address)
        with CaptureQueriesContext(connection) as queries:
            client.get(address)
        asked[address] = len(queries)
    assert max(asked.values()) <= 2, asked
