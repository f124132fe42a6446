"""Pages of histories: who, when, what; buttons that take back; the second of two people is told."""

from __future__ import annotations

import html
import re

import pytest
from django.contrib.auth.models import User
from django.test import Client

from setwright.files import editing
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.records import history, keeping
from setwright.workbench.records.models import Revision
from setwright.workbench.services.records import family_of
from setwright.workbench.sets.models import SetRecord
from setwright.workbench.survivors.models import SurvivorRegister

pytestmark = pytest.mark.django_db

HISTORIES = ["/sets/bench-1/history/", "/families/heron-6/history/", "/families/heron-6/survivors/history/"]


@pytest.fixture
def record(shelf: None) -> SetRecord:
    record = SetRecord.objects.get()
    family = family_of(record.family)
    table = {"feature": "label", "state": "stamped over"}
    mate = User.objects.create_user("mate")
    return keeping.edit(
        record, lambda file: editing.add_observation(file, family, table), by=mate, what="Label seen: stamped over"
    )


def words(response) -> str:
    return html.unescape(re.sub(r"<[^>]+>", " ", response.content.decode()))


@pytest.mark.parametrize("address", HISTORIES)
def test_every_record_has_its_history(client: Client, record: SetRecord, address: str) -> None:
    response = client.get(address)
    assert response.status_code == 200
    assert "Taken in from" in words(response)
    assert client.get(f"{address}1/").status_code == 200
    assert client.get(f"{address}99/").status_code == 404
    assert client.delete(address).status_code == 405


@pytest.mark.parametrize("address", ["/sets/none/history/", "/families/none/history/", "/sets/bench-1/history/0/"])
def test_what_is_not_there_is_404(client: Client, record: SetRecord, address: str) -> None:
    assert client.get(address).status_code == 404


def test_an_entry_shows_who_and_which_lines(client: Client, record: SetRecord) -> None:
    response = client.get("/sets/bench-1/history/2/")
    text = words(response)
    assert "Label seen: stamped over" in text
    assert ", mate." in text
    assert '<span class="unseen">came in: </span>state = "stamped over"</ins>' in html.unescape(
        response.content.decode()
    )


def test_the_buttons_take_back_and_go_back(client: Client, record: SetRecord) -> None:
    before = history.text_at(record, 1)
    response = client.post("/sets/bench-1/history/", {"undo": "2", "seen": "2"})
    assert (response.status_code, response.headers["Location"]) == (302, "/sets/bench-1/history/")
    assert SetRecord.objects.get().text == before
    assert history.revisions_of(record)[0].by_name == "you"
    client.post("/sets/bench-1/history/", {"back": "2", "seen": "3"})
    assert SetRecord.objects.get().text == record.text
    assert "takes entry 2 back" in words(client.get("/sets/bench-1/history/"))


@pytest.mark.parametrize(
    ("sent", "status", "told"),
    [
        ({"undo": "1"}, 409, "The first entry made the record"),
        ({}, 409, "Use the buttons"),
        ({"undo": "x"}, 409, "Use the buttons"),
        ({"undo": "9" * 30}, 409, "Use the buttons"),
        ({"undo": "77"}, 404, ""),
        ({"back": "77"}, 404, ""),
    ],
)
def test_what_cannot_be_taken_back_is_told(
    client: Client, record: SetRecord, sent: dict, status: int, told: str
) -> None:
    response = client.post("/sets/bench-1/history/", sent)
    assert response.status_code == status
    assert told in words(response)
    assert SetRecord.objects.get().revision == 2


def test_the_second_of_two_people_is_told(client: Client, record: SetRecord) -> None:
    response = client.post("/sets/bench-1/history/", {"back": "1", "seen": "1", "remark": "mind <b>this</b>"})
    text = words(response)
    assert response.status_code == 409
    assert "mate" in text
    assert "Label seen: stamped over" in text
    assert "stamped over" in text[text.index("What changed since you opened it") :]
    assert "mind &lt;b&gt;this&lt;/b&gt;" in response.content.decode()
    assert SetRecord.objects.get().revision == 2


def test_removing_asks_first_and_can_be_undone(client: Client, record: SetRecord) -> None:
    asked = words(client.get("/sets/bench-1/remove/"))
    assert "can be brought back" in asked
    assert "Bench-1" not in asked  # what a person called it stays as written
    assert client.post("/sets/bench-1/remove/", {"seen": "2"}).headers["Location"] == "/removed/"
    assert client.get("/sets/bench-1/").status_code == 404
    assert "bench-1" in words(client.get("/removed/"))
    assert "It is removed" in words(client.get("/sets/bench-1/history/"))
    assert client.get("/sets/bench-1/remove/").status_code == 404
    assert client.post("/removed/set/bench-1/bring-back/").headers["Location"] == record.get_absolute_url()
    assert SetRecord.objects.get().text == record.text
    assert "there already" in words(client.post("/removed/set/bench-1/bring-back/"))


def test_a_family_with_sets_says_why_it_stays(client: Client, record: SetRecord) -> None:
    asked = client.get("/families/heron-6/remove/")
    assert "remove what belongs to it first" in words(asked)
    assert '<a href="/sets/bench-1/">bench-1</a>' in asked.content.decode(), "what is in the way is one tap away"
    assert client.post("/families/heron-6/remove/").status_code == 409
    client.post("/sets/bench-1/remove/")
    client.post("/families/heron-6/survivors/remove/")
    client.post("/families/heron-6/remove/")
    assert not FamilyRecord.objects.exists()
    for kind, key in (("set", "bench-1"), ("survivors", "heron-6")):
        response = client.post(f"/removed/{kind}/{key}/bring-back/")
        assert response.status_code == 409
        assert "bring the family back first" in words(response)
    for kind, key in (("family", "heron-6"), ("set", "bench-1"), ("survivors", "heron-6")):
        assert client.post(f"/removed/{kind}/{key}/bring-back/").status_code == 302
    assert SurvivorRegister.objects.get().family.sets.count() == 1


@pytest.mark.parametrize("address", ["/removed/set/none/bring-back/", "/removed/odd/bench-1/bring-back/"])
def test_what_was_never_there_cannot_come_back(client: Client, record: SetRecord, address: str) -> None:
    assert client.post(address).status_code == 404


def test_a_long_history_goes_over_several_pages(client: Client, record: SetRecord) -> None:
    for number in range(40):
        record = keeping.keep(record, record.text + f"# {number}\n", by=None, what=f"Remark {number}")
    first, second = (words(client.get(f"/sets/bench-1/history/?page={page}")) for page in (1, 2))
    assert "Remark 39" in first
    assert "Taken in from" not in first
    assert "Taken in from" in second


def test_a_text_with_a_character_that_no_text_has_is_told(record: SetRecord) -> None:
    from setwright.files import FileProblems

    register = SurvivorRegister.objects.get()
    with pytest.raises(FileProblems, match=r"line 4.*NUL"):
        keeping.keep(register, register.text.replace("K-03", "K\0", 1), by=None, what="x\0")
    assert Revision.objects.filter(kind="survivors").count() == 1


def test_a_history_costs_as_many_queries_for_many_entries(
    client: Client, record: SetRecord, django_assert_max_num_queries
) -> None:
    for number in range(20):
        record = keeping.keep(record, record.text + f"# {number}\n", by=None, what=f"Remark {number}")
    with django_assert_max_num_queries(5):
        client.get("/sets/bench-1/history/")


def test_it_is_said_how_many_survivors_go_together(record: SetRecord, client: Client) -> None:
    assert "8 survivors of Heron 6" in words(client.get("/families/heron-6/survivors/remove/"))
    client.post("/families/heron-6/survivors/remove/", {"seen": "1"})
    assert "Survivors of Heron 6" in words(client.get("/removed/"))
