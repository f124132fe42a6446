"""Survivors added, changed, taken out; noted in a minute; taken in from tables, with what is wrong said row by row."""

from __future__ import annotations

import html
import io
import random
import re
from pathlib import Path
from typing import Any

import photos_made as made
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from setwright.files.survivors.photos import read_photos
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.records import history, keeping
from setwright.workbench.services.records import register_of
from setwright.workbench.services.survivors import rows_of

pytestmark = pytest.mark.django_db

AT = "/families/heron-6/survivors/"


@pytest.fixture
def client(shelf: None, settings: Any, tmp_path: Path) -> Client:
    settings.DATA_DIR = tmp_path
    return Client(raise_request_exception=True)


def record() -> FamilyRecord:
    return FamilyRecord.objects.select_related("register").get(key="heron-6")


def row(name: str) -> dict[str, str]:
    return dict(rows_of(record()).get(name, {}))


def words_of(response: Any) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", response.content.decode())).replace("\xa0", " ").split())


def picture(name: str = "IMG_1.jpg") -> SimpleUploadedFile:
    return SimpleUploadedFile(name, made.with_everything("JPEG"), "image/jpeg")


def form(**cells: str) -> dict[str, str]:
    """Fields of the form in full: whole columns as they are, features with state_ before them."""
    named = {}
    for name, cell in cells.items():
        kind, _, rest = name.partition("__")
        named[f"{kind}:{rest.replace('_', '-')}" if rest else f"col:{name}"] = cell
    return named


# ---- one by one


def test_one_without_a_name_is_refused_at_its_field_and_nothing_is_entered(client: Client) -> None:
    before = record().register.revision
    for sent in ({}, form(id=" ")):
        response = client.post(f"{AT}add/", sent)
        assert response.status_code == 422
        assert "The id is missing" in words_of(response)
    assert record().register.revision == before


def test_a_survivor_is_added_feature_by_feature(client: Client) -> None:
    cells = form(
        id="K-20",
        serial="H 5000",
        line="main",
        note="from the mill",
        state__converter="6BE6",
        sure__converter="likely",
        state__tone_capacitor=".02 mfd",
        serviced__tone_capacitor="on",
    )
    response = client.post(AT + "add/", cells)
    assert response["Location"] == AT + "of/K-20/"
    assert row("K-20") == {
        "id": "K-20",
        "serial": "H 5000",
        "line": "main",
        "note": "from the mill",
        "converter": "6BE6",
        "converter.sure": "likely",
        "tone-capacitor": ".02 mfd",
        "tone-capacitor.serviced": "true",
    }
    assert history.revisions_of(record().register).first().what == "New survivor: K-20"
    assert "6BE6" in words_of(client.get(AT + "of/K-20/"))


def test_the_first_survivor_begins_the_register(client: Client) -> None:
    keeping.remove(record().register, None)
    assert "No survivors" in words_of(client.get(AT))
    client.post(AT + "add/", form(id="K-1", serial="H 12"))
    assert [*rows_of(record())] == ["K-1"]


@pytest.mark.parametrize(
    ("cells", "said"),
    [
        ({"id": ""}, "The id is missing"),
        ({"id": "K-01"}, '"K-01"'),
        ({"serial": "Q 5000"}, "Q5000"),
        ({"state__converter": "6be-6"}, 'Did you mean "6BE6"?'),
        ({"stamp_date": "last year"}, "last year"),
        ({"note": "=1+1"}, "formula"),
        ({"line": "side"}, "no line"),
    ],
)
def test_what_is_wrong_stands_at_its_field_with_the_input_kept(
    client: Client, cells: dict[str, str], said: str
) -> None:
    given = form(**{"id": "K-20", "serial": "H 5000", "note": "kept", **cells})
    before = record().register.text
    response = client.post(AT + "add/", given)
    assert response.status_code == 422
    assert said in words_of(response)
    page = html.unescape(response.content.decode())
    for name, cell in given.items():
        assert f'name="{name}" value="{cell}"' in page or name == "col:line", name
    mistakes = re.findall(r'<p class="mistake">', page)
    assert len(mistakes) == 1
    assert record().register.text == before


def test_a_changed_survivor_keeps_what_was_not_touched(client: Client) -> None:
    shown = client.get(AT + "change/K-01/").content.decode()
    assert 'value="dealer&#x27;s window"' in shown
    given = form(
        id="K-01",
        serial="H 120",
        line="main",
        note="dealer's window",
        state__label="printed",
        state__converter="6BE6",
        state__tone_capacitor=".02 mfd",
        state__output_rivets="two",
        state__dial_lamp="one lamp",
        seen=str(record().register.revision),
    )
    given["seen"] = given.pop("col:seen")
    before = record().register.text
    assert client.post(AT + "change/K-01/", given).status_code == 302
    assert record().register.text == before.replace("K-01,H 120,main,printed,6SA7", "K-01,H 120,main,printed,6BE6")
    assert history.revisions_of(record().register).first().what == "K-01, Converter tube: 6BE6"
    revision = record().register.revision
    assert client.post(AT + "change/K-01/", given).status_code == 302
    assert record().register.revision == revision  # nothing changed, nothing kept


def _k03(seen: int, **cells: str) -> dict[str, str]:
    own = {
        "id": "K-03",
        "serial": "H 2110",
        "line": "main",
        "state__label": "printed",
        "state__converter": "6BE6",
        "state__output_rivets": "two",
        "state__dial_lamp": "one lamp",
    }
    return form(**(own | cells)) | {"seen": str(seen)}


def test_two_people_at_one_survivor_lose_nothing(client: Client) -> None:
    seen = record().register.revision
    client.post(AT + "change/K-03/", _k03(seen, note="hers", state__label="stamped over"))
    client.post(AT + "add/", form(id="K-30"))
    mine = client.post(AT + "change/K-03/", _k03(seen, state__dial_lamp="two lamps"))
    assert mine.status_code == 302
    assert (row("K-03")["note"], row("K-03")["label"], row("K-03")["dial-lamp"]) == (
        "hers",
        "stamped over",
        "two lamps",
    )
    clash = client.post(AT + "change/K-03/", _k03(seen, note="mine"))
    assert clash.status_code == 409
    assert "Somebody wrote hers here meanwhile" in words_of(clash)
    assert 'value="mine"' in clash.content.decode()
    assert row("K-03")["note"] == "hers"


def test_a_survivor_is_taken_out_and_can_be_brought_back(client: Client) -> None:
    before = record().register.text
    assert client.get(AT + "take-out/K/08 & co/").status_code == 200
    client.post(AT + "take-out/K/08 & co/", {"seen": record().register.revision})
    assert row("K/08 & co") == {}
    history.undo(record().register, by=None, number=record().register.revision)
    assert record().register.text == before


def test_one_that_was_changed_since_is_not_taken_out_unseen(client: Client) -> None:
    seen = record().register.revision
    client.post(AT + "change/K-03/", _k03(seen, note="new"))
    assert client.post(AT + "take-out/K-03/", {"seen": seen}).status_code == 409
    assert row("K-03")["note"] == "new"


@pytest.mark.parametrize("address", ["change/nobody/", "take-out/nobody/", "photos/nobody/", "photos-out/nobody/"])
def test_who_is_not_there_is_404(client: Client, address: str) -> None:
    assert client.get(AT + address).status_code in (404, 405)
    assert client.post(AT + address, {"photo": "x"}).status_code == 404


# ---- in a minute


def test_a_survivor_in_a_minute(client: Client) -> None:
    page = client.get(AT + "quick/").content.decode()
    assert page.count('<fieldset class="tell">') == 3
    given = {
        "photos": [picture(), picture("two.jpg")],
        "serial": "h 7?10",
        "source": "sale list",
        "state:label": "stamped over",
        "state:converter": "",
        "state:dial-lamp": "",
        "other:dial-lamp": "no lamp at all",
        "x-link": "http://example.org/lot",
    }
    response = client.post(AT + "quick/", given)
    assert response.status_code == 302, words_of(response)
    found = row("h 7?10")
    assert found["serial"] == "h 7?10"
    assert found["label"] == "stamped over"
    assert found["dial-lamp"] == "no lamp at all"
    assert "converter" not in found
    assert re.fullmatch(r"\d{4}-\d\d-\d\d", found["seen_on"])
    photos = read_photos(found["x-photos"])
    assert len(photos) == 1  # the same picture twice is one
    shown = client.get(response["Location"])
    assert "Noted." in words_of(shown)
    address = re.search(r'<img src="([^"]+)"', shown.content.decode())[1]
    assert client.get(html.unescape(address)).status_code == 200


def test_quick_names_are_free_and_given_ones_are_kept(client: Client) -> None:
    for _ in range(2):
        client.post(AT + "quick/", {"serial": "H 120"})
    client.post(AT + "quick/", {"name": "The mill's", "serial": "H 130"})
    assert {"H 120", "H 120 (2)", "The mill's"} <= rows_of(record()).keys()
    response = client.post(AT + "quick/", {"name": "The mill's", "note": "kept"})
    assert response.status_code == 422
    assert 'value="kept"' in response.content.decode()


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"serial": "Q 1"}, "Serial: "),
        ({"state:label": "printd"}, "Tube layout label: "),
        ({"photos": SimpleUploadedFile("a.jpg", b"no picture at all")}, "a.jpg"),
    ],
)
def test_a_quick_note_that_will_not_do_keeps_what_was_given(client: Client, given: dict[str, Any], said: str) -> None:
    before = record().register.text
    response = client.post(AT + "quick/", {"source": "owner", **given})
    assert response.status_code == 422
    assert said in words_of(response)
    assert 'value="owner"' in response.content.decode()
    assert record().register.text == before


def test_photos_are_added_and_taken_out(client: Client) -> None:
    assert client.post(AT + "photos/K-03/", {"photos": [picture()]}).status_code == 302
    (photo,) = read_photos(row("K-03")["x-photos"])
    assert photo.sha256 in client.get(AT + "photos/K-03/").content.decode()
    bad = client.post(AT + "photos/K-03/", {"photos": [SimpleUploadedFile("b.png", b"\x89PNG cut short")]})
    assert bad.status_code == 422
    assert "b.png" in words_of(bad)
    client.post(AT + "photos-out/K-03/", {"photo": photo.sha256})
    assert "x-photos" not in row("K-03")
    history.undo(record().register, by=None, number=record().register.revision)
    assert row("K-03")["x-photos"] == photo.sha256


# ---- tables


def take(client: Client, content: bytes | str, name: str = "list.csv") -> Any:
    """Send a table; the page that shows what it would change."""
    given = {"text": content} if isinstance(content, str) else {"file": SimpleUploadedFile(name, content)}
    response = client.post(AT + "import/", given)
    return client.get(response["Location"]) if response.status_code == 302 else response


def decide(client: Client, page: Any, what: str = "good") -> Any:
    fields = dict(re.findall(r'<input type="hidden" name="(token|seen)" value="([^"]*)"', page.content.decode()))
    return client.post(AT + "import/", {**fields, "take": what})


TABLE = "id\tserial\tconverter\nK-01\tH 120\t6BE6\nK-02\t\t6SA7\nK-40\tH 4000\t6be-6\nK-41\tQ 1\t\nK-42\tH 4100\t6BE6\n"


def test_pasted_cells_are_shown_before_anything_is_saved_and_the_good_ones_taken(client: Client) -> None:
    before = record().register.text
    page = take(client, TABLE)
    words = words_of(page)
    assert "1 new set, 1 changed, 1 the same already, 2 bad rows. Nothing is saved yet." in words
    assert '4 K-40 Converter tube 6be-6 "6be-6" is not a listed state but close to one' in words
    assert 'Did you mean "6BE6"?' in words
    assert "5 K-41 Serial Q 1" in words
    assert "Converter tube 6SA7 → 6BE6" in words
    assert record().register.text == before
    done = client.get(decide(client, page)["Location"])
    assert "2 rows taken in, 2 left out because something in them is wrong." in words_of(done)
    assert row("K-01")["converter"] == "6BE6"
    assert row("K-01")["note"] == "dealer's window"
    assert row("K-42")["serial"] == "H 4100"
    assert row("K-40") == row("K-41") == {}
    said = history.revisions_of(record().register).first().what
    assert said == "1 new survivor and 1 changed from pasted table; 2 rows left out"


def test_nothing_is_taken_in_where_nothing_is_wanted(client: Client) -> None:
    before = record().register.text
    page = take(client, TABLE)
    assert decide(client, page, "nothing")["Location"] == AT
    assert record().register.text == before
    again = decide(client, page)
    assert again.status_code == 422
    assert "no longer here" in words_of(again)


def test_a_workbook_is_read_like_any_table(client: Client) -> None:
    from openpyxl import Workbook

    book = Workbook()
    for cells in (["id", "serial", "label"], ["K-50", "H 6000", "printed"], ["K-51", "H 6001", "=A1"]):
        book.active.append(cells)
    stream = io.BytesIO()
    book.save(stream)
    page = take(client, stream.getvalue(), "list.xlsx")
    assert "1 new set" in words_of(page) or "2 new sets" in words_of(page)
    decide(client, page)
    assert row("K-50")["label"] == "printed"


def test_what_others_add_meanwhile_is_seen_before_and_stays(client: Client) -> None:
    page = take(client, TABLE)
    client.post(AT + "add/", form(id="K-42", serial="H 9"))
    moved = decide(client, page)
    assert moved.status_code == 409
    assert "changed meanwhile" in words_of(moved)
    assert "no new sets, 2 changed" in words_of(moved)
    decide(client, moved)
    assert row("K-42")["serial"] == "H 4100"


def test_ten_thousand_rows_with_fifty_bad_ones_are_told_plainly_and_nothing_half_taken(client: Client) -> None:
    rng = random.Random(3)
    bad = set(rng.sample(range(10_000), 50))
    rows = [
        f"R-{n},{'H 99999' if n in bad else f'H {n % 8999 + 1}'},{rng.choice(['', '6SA7', '6BE6'])}"
        for n in range(10_000)
    ]
    before = record().register.text
    page = take(client, ("id,serial,converter\n" + "\n".join(rows) + "\n").encode())
    words = words_of(page)
    assert "9,950 new sets, 0 changed, 0 the same already, 50 bad rows" in words
    for n in bad:
        assert f" {n + 2} R-{n} Serial H 99999 " in words
    assert record().register.text == before
    revision = record().register.revision
    assert decide(client, page).status_code == 302
    assert record().register.count == 8 + 9950
    assert record().register.revision == revision + 1
    assert not any(f"R-{n}" in rows_of(record()) for n in bad)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("", "choose a file, or paste cells"),
        ("id,serial\nK", "no table"),
        (b"%PDF-1.7", "PDF"),
        (b"id,chimney\nA,b\n", '"chimney" is no feature'),
        (b"serial\nH 1\n", 'the column "id" is missing'),
    ],
)
def test_what_is_no_table_of_survivors_is_said(client: Client, content: bytes | str, said: str) -> None:
    before = record().register.text
    page = take(client, content)
    if said == "no table":
        assert page.status_code == 200  # a table with one row, all of it new
        return
    assert page.status_code == 422
    assert said in words_of(page)
    assert record().register.text == before


def test_unknown_columns_can_become_features_and_the_sets_go_in(client: Client) -> None:
    rows = "".join(f"Z-{n},H {n * 100 + 1},{'brass' if n < 4 else 'steel'},{'6BE6'}\n" for n in range(8))
    page = take(client, f"id,serial,dial pointer,converter\n{rows}".encode())
    token = re.search(r'name="token" value="([^"]+)"', page.content.decode())[1]
    proposals = client.post("/families/heron-6/edit/table/", {"token": token})
    words = words_of(proposals)
    assert "1 feature proposed" in words
    assert "brass 4 sets steel 4 sets" in words
    given = {
        "token": token,
        "step": "take",
        "sets": "on",
        "f0-take": "on",
        "f0-label": "Dial pointer",
        "f0-access": "outside",
        "f0-permanence": "riveted",
    }
    response = client.post("/families/heron-6/edit/table/", given)
    assert response.status_code == 302, words_of(response)
    page = client.get(response["Location"])
    assert "8 new sets" in words_of(page)
    decide(client, page)
    assert row("Z-5")["dial-pointer"] == "steel"
    assert register_of(record().register).survivors.seen["dial-pointer"].max() > 0
