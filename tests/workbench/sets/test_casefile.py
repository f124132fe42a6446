"""The case of a set: coming in, intake, condition, wants, notes, readings; two people at once; odd input."""

from __future__ import annotations

import html
import re
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from setwright.workbench.literature.changes import add
from setwright.workbench.records import history, keeping
from setwright.workbench.services.records import family_of, set_file_of
from setwright.workbench.sets.models import SetRecord

pytestmark = pytest.mark.django_db

SET = "/sets/bench-1/"
ONE_OF_EACH = {
    "condition": ({"area": "cabinet", "text": "veneer lifting", "on": "2024-05"}, "Cabinet: veneer lifting"),
    "wants": ({"what": "power transformer", "part": "T1", "note": "any"}, "power transformer (T1)"),
    "notes": ({"text": "came with a letter", "about": "converter"}, "came with a letter"),
    "readings": (
        {"point": "V3.plate", "quantity": "volts", "value": "87.5", "meter": "20k/V@250", "condition": "on"},
        "V3.plate: 87.5 V",
    ),
}


def words(response: Any) -> str:
    return html.unescape(" ".join(re.sub(r"<[^>]+>", " ", response.content.decode()).split()))


@pytest.mark.parametrize("slug", ONE_OF_EACH)
def test_an_entry_is_added_changed_and_taken_out(client: Client, bench_1: Callable, slug: str) -> None:
    sent, said = ONE_OF_EACH[slug]
    before = bench_1().text
    assert client.post(f"{SET}{slug}/", sent).url == f"{SET}{slug}/"
    assert said in words(client.get(f"{SET}{slug}/"))
    form = client.get(f"{SET}{slug}/0/").content.decode()
    for value in sent.values():
        assert html.escape(value) in form
    name = next(iter(set(sent) & {"text", "what", "point"}))
    response = client.post(f"{SET}{slug}/0/", {**sent, name: "something new", "seen": "2"})
    assert response.status_code == 302
    assert "something new" in words(client.get(f"{SET}{slug}/"))
    assert "something new" in history.revisions_of(bench_1())[0].what
    assert client.post(f"{SET}{slug}/0/remove/", {"seen": "3"}).status_code == 302
    assert client.get(f"{SET}{slug}/0/").status_code == 404
    assert client.post(f"{SET}{slug}/0/remove/", {"seen": "4"}).status_code == 404
    assert "Taken out" in history.revisions_of(bench_1())[0].what
    history.go_back(bench_1(), 1, by=None)
    assert bench_1().text == before


@pytest.mark.parametrize(
    ("value", "quantity", "kept"),
    [("−7.5 V", "volts", (-7.5, "V")), ("18 mA", "amps", (18.0, "mA")), ("2.2 meg", "ohms", (2.2, "meg"))],
)
def test_a_reading_is_kept_as_it_was_written(
    client: Client, bench_1: Callable, value: str, quantity: str, kept: tuple[float, str]
) -> None:
    sent = {"point": "B+", "quantity": quantity, "value": value, "condition": "off"}
    assert client.post(SET + "readings/", sent).status_code == 302
    reading = set_file_of(bench_1()).case.readings[0]
    assert (reading.value, reading.unit, reading.condition) == (*kept, "off")


@pytest.mark.parametrize(
    ("slug", "wrong", "told"),
    [
        ("readings", {"value": "plenty"}, "plenty"),
        ("readings", {"value": "18 mA"}, "mA"),
        ("readings", {"quantity": "ohms", "value": "-4"}, "not negative"),
        ("readings", {"point": ""}, "Point"),
        ("readings", {"meter": "x" * 61}, "Meter"),
        ("condition", {"area": "lid"}, "lid"),
        ("condition", {"on": "last week"}, "last week"),
        ("notes", {"text": " "}, "Note"),
        ("notes", {"about": "wheels"}, "wheels"),
        ("wants", {"what": ""}, "What is looked for"),
    ],
)
def test_what_is_wrong_is_told_at_its_field_and_the_rest_stays(
    client: Client, bench_1: Callable, slug: str, wrong: dict[str, str], told: str
) -> None:
    sent = {**ONE_OF_EACH[slug][0], **wrong}
    response = client.post(f"{SET}{slug}/", sent)
    assert response.status_code == 422
    page = response.content.decode()
    mistakes = " ".join(re.findall(r'<p class="mistake">(.*?)</p>', page))
    assert told in html.unescape(mistakes)
    assert 'aria-invalid="true"' in page
    assert bench_1().revision == 1


def test_what_somebody_else_did_meanwhile_is_told_and_ones_own_input_stays(client: Client, bench_1: Callable) -> None:
    client.post(SET + "wants/", {"what": "knob"})
    client.post(SET + "wants/0/", {"what": "brown knob", "seen": "2"})  # somebody else, first
    response = client.post(SET + "wants/0/", {"what": "ivory knob", "seen": "2"})
    assert response.status_code == 409
    said = words(response)
    assert "Changed meanwhile, so nothing was kept yet." in said
    assert "The entry now reads: brown knob." in said
    page = response.content.decode()
    assert 'value="ivory knob"' in page
    assert 'name="seen" value="3"' in page
    assert set_file_of(bench_1()).case.wants[0].what == "brown knob"
    client.post(SET + "wants/0/", {"what": "ivory knob", "seen": "3"})
    assert set_file_of(bench_1()).case.wants[0].what == "ivory knob"
    # What was not seen at all is never overwritten.
    assert client.post(SET + "wants/0/", {"what": "unseen"}).status_code == 409
    assert client.post(SET + "wants/0/remove/", {"seen": "1"}).status_code == 409
    assert set_file_of(bench_1()).case.wants[0].what == "ivory knob"


def test_adding_never_meets_a_conflict(client: Client, bench_1: Callable) -> None:
    for number in range(3):
        assert client.post(SET + "notes/", {"text": f"note {number}"}).status_code == 302
    assert [note.text for note in set_file_of(bench_1()).case.notes] == ["note 0", "note 1", "note 2"]
    said = words(client.get(SET + "notes/"))
    assert said.index("note 2") < said.index("note 0"), "the newest first"


def test_observations_are_made_at_the_bench_only(client: Client) -> None:
    assert client.post(SET + "seen/", {"state": "ivory"}).status_code == 405
    assert "One more" not in words(client.get(SET + "seen/"))


def test_a_set_comes_in_with_a_name_alone(client: Client) -> None:
    response = client.post("/intake/", {"family": "heron-6", "name": "The one from the mill"})
    assert response.url == "/sets/the-one-from-the-mill/"
    page = words(client.get(response.url))
    assert "The one from the mill" in page
    assert "Still to write down: when it came in" in page
    again = client.post("/intake/", {"family": "heron-6", "name": "The one from the mill"})
    assert again.url == "/sets/the-one-from-the-mill-2/"
    keeping.remove(SetRecord.objects.get(key="the-one-from-the-mill"), None)
    third = client.post("/intake/", {"family": "heron-6", "name": "The one from the mill"})
    assert third.url == "/sets/the-one-from-the-mill-3/", "the removed one keeps its id"


def test_a_set_comes_in_with_all_that_is_known(client: Client) -> None:
    sent = {
        "family": "heron-6",
        "name": 'Odd "name" \\ [x]',
        "serial": "H 2?51",
        "on": "1999-05",
        "from_whom": "a sale",
    }
    response = client.post("/intake/", {**sent, "price": "40 crowns"})
    record = SetRecord.objects.get(key=response.url.split("/")[2])
    file = set_file_of(record)
    assert (record.name, record.serial) == ('Odd "name" \\ [x]', "H 2?51")
    assert (file.case.intake.from_whom, file.case.intake.price) == ("a sale", "40 crowns")
    assert "Came in on 1999-05 from a sale for 40 crowns." in words(client.get(response.url))
    assert history.revisions_of(record)[0].what == 'Came in: Odd "name" \\ [x]'


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"family": "wren"}, "wren"),
        ({"family": ""}, "Family"),
        ({"name": "  "}, "What you call it"),
        ({"serial": "Z 5"}, "Z"),
        ({"serial": "!!"}, "!!"),
        ({"on": "1999-13"}, "1999-13"),
    ],
)
def test_what_cannot_come_in_is_told_and_nothing_is_kept(client: Client, wrong: dict[str, str], told: str) -> None:
    response = client.post("/intake/", {"family": "heron-6", "name": "kept name", "serial": "H2051", **wrong})
    assert response.status_code == 422
    assert told in html.unescape(" ".join(re.findall(r'<p class="mistake">(.*?)</p>', response.content.decode())))
    assert SetRecord.everything.count() == 1
    if "name" not in wrong:
        assert 'value="kept name"' in response.content.decode()


def test_without_a_family_it_says_how_one_is_made(db: None) -> None:
    page = words(Client().get("/intake/"))
    assert "there is none yet" in page
    assert "The list of families" in page


def test_the_intake_is_written_down_and_changed(client: Client, bench_1: Callable) -> None:
    sent = {
        "name": "Mill",
        "serial": "H 2?50",
        "line": "main",
        "on": "2001",
        "from_whom": "",
        "price": "",
        "by": "me",
        "missing": "rear cover\n\n one knob ",
        "came_with": "",
        "provenance": "a mill\n  by the weir",
        "seen": "1",
    }
    assert client.post(SET + "intake/", sent).url == SET
    file = set_file_of(bench_1())
    assert (file.case.name, file.set.line, file.case.intake.missing) == ("Mill", "main", ("rear cover", "one knob"))
    said = words(client.get(SET))
    assert "Came in on 2001 taken in by me." in said
    assert "Known of its past: a mill by the weir" in said
    assert "Missing: rear cover and one knob." in said
    assert client.post(SET + "intake/", {**sent, "seen": "2", "missing": "", "line": "", "on": ""}).status_code == 302
    file = set_file_of(bench_1())
    assert (file.set.line, file.case.intake.missing, file.case.intake.on) == (None, (), None)
    late = client.post(SET + "intake/", {**sent, "seen": "2", "by": "somebody"})
    assert late.status_code == 409
    assert "Changed meanwhile" in words(late)
    assert 'value="somebody"' in late.content.decode()


def test_the_steps_of_the_job_stand_in_their_order(client: Client) -> None:
    titles = re.findall(r'<h2 id="[a-z]+-h">([^<]+)</h2>', client.get(SET).content.decode())
    order = ["Intake", "Identity", "Condition", "Parts to find", "Readings", "Photos", "Notes", "History"]
    assert [title for title in titles if title in order] == order


def test_an_observation_is_offered_the_sources_there_are(client: Client, bench_1: Callable) -> None:
    add({"title": "Field <sheet>"}, by=None)
    page = client.get(SET + "seen/0/").content.decode()
    family = family_of(bench_1().family)
    assert '<option value="field-sheet">Field &lt;sheet&gt;</option>' in page
    assert all(f'<option value="{source.id}">' in page for source in family.sources)
    assert 'name="source"' in page
    assert 'list="offered-source"' in page
