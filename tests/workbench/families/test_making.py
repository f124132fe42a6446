"""Families made from nothing, files, printings and tables; many features taken over one by one."""

from __future__ import annotations

import html
import re
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.records import history, keeping
from setwright.workbench.services.records import family_of
from setwright.workbench.services.survivors import rows_of

pytestmark = pytest.mark.django_db

EARLY = "C12 .05 mfd 400 V paper\nR7 470k 1/2 watt\nV3 6SA7 converter\nR8 1 meg\n"
LATE = "C12 .02 mfd 400 V paper\nR7 470k 1/2 watt\nV3 6BE6 converter\nR8 1 meg\n"
LISTS = {"label-1": "Early", "text-1": EARLY, "label-2": "Late", "text-2": LATE}


@pytest.fixture
def client(db: None, settings: Any, tmp_path: Path) -> Client:
    settings.DATA_DIR = tmp_path
    return Client(raise_request_exception=True)


def words_of(response: Any) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", response.content.decode())).replace("\xa0", " ").split())


def family(key: str) -> Any:
    return family_of(FamilyRecord.objects.get(key=key))


def test_a_family_from_nothing(client: Client) -> None:
    response = client.post("/new-family/", {"name": "Lark 5 table radio", "kind": "radio", "key": ""})
    assert response["Location"].startswith("/families/lark-5-table-radio/edit/")
    page = client.get(response["Location"])
    assert "No feature that changes is listed yet." in words_of(page)
    client.post("/new-family/", {"name": "Lark 5 table radio", "kind": "television"})
    assert family("lark-5-table-radio-2").kind == "television"


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"name": "", "kind": "radio"}, "the name is missing"),
        ({"name": "X", "kind": "radio", "key": "a b"}, "a b"),
        ({"name": "X", "kind": "spaceship"}, "spaceship"),
    ],
)
def test_what_will_not_do_is_said_with_the_input_kept(client: Client, given: dict[str, str], said: str) -> None:
    response = client.post("/new-family/", given)
    assert response.status_code == 422
    assert said in words_of(response)
    assert f'value="{given["name"]}"' in response.content.decode()
    assert not FamilyRecord.everything.exists()


def test_two_printings_become_a_family_of_what_was_ticked(client: Client) -> None:
    page = client.post("/new-family/printings/", {**LISTS, "step": "compare"})
    words = words_of(page)
    assert "4 references, 2 the same in all printings; 2 features proposed." in words
    assert "Early .05 mfd Late .02 mfd" in words
    assert not FamilyRecord.objects.exists()
    chosen = {
        "f1-take": "on",
        "f1-label": "Converter tube",
        "f1-access": "back off",
        "f1-permanence": "plugged",
        "name": "Lark",
        "kind": "radio",
        "step": "take",
    }
    response = client.post("/new-family/printings/", {**LISTS, **chosen})
    assert response.status_code == 302, words_of(response)
    made = family("lark")
    assert [(one.id, one.label, one.states) for one in made.features] == [("v3", "Converter tube", ("6SA7", "6BE6"))]
    assert [version.states for version in made.versions] == [{"v3": "6SA7"}, {"v3": "6BE6"}]
    assert history.revisions_of(FamilyRecord.objects.get()).get().what == "1 feature from parts lists: Early and Late"


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"text-2": ""}, "paste two printings or more"),
        ({"label-2": "early"}, "two printings are called so"),
        ({"text-2": "nothing to be found here"}, "no part was found"),
        ({"step": "take", "name": "Lark"}, "none is ticked"),
        ({"step": "take", "f0-take": "on"}, "the name is missing"),
    ],
)
def test_printings_that_will_not_do_are_said_and_stay(client: Client, changes: dict[str, str], said: str) -> None:
    response = client.post("/new-family/printings/", {**LISTS, "step": "compare", **changes})
    assert response.status_code == 422
    assert said in words_of(response)
    assert "C12 .05 mfd 400 V paper" in response.content.decode()
    assert not FamilyRecord.objects.exists()


def test_a_list_of_changes_only(client: Client) -> None:
    lists = {**LISTS, "text-2": "V3 6BE6 converter\n"}
    assert "tick “only what changed” for it" in words_of(
        client.post("/new-family/printings/", {**lists, "step": "compare"})
    )
    page = client.post("/new-family/printings/", {**lists, "changes-2": "on", "step": "compare"})
    assert "1 feature proposed" in words_of(page)


def test_printings_extend_a_family_and_leave_the_rest_of_it(client: Client, shelf: None) -> None:
    record = FamilyRecord.objects.get(key="heron-6")
    at = "/families/heron-6/edit/printings/"
    lists = {**LISTS, "label-1": "First printing", "label-2": "Second printing"}
    assert "Nothing is said about the new features in" in words_of(client.post(at, {**lists, "step": "compare"}))
    client.post(at, {**lists, "step": "take", "f0-take": "on", "seen": record.revision})
    extended = family("heron-6")
    assert extended.feature("c12").states == (".05 mfd", ".02 mfd")
    assert [version.states.get("c12") for version in extended.versions_of("main")][:2] == [".05 mfd", ".02 mfd"]
    assert "v3" not in {feature.id for feature in extended.features}
    assert client.post(at, {**lists, "step": "take", "f1-take": "on", "seen": record.revision}).status_code == 409


def test_a_family_file_is_taken_in_once(client: Client, texts: dict[str, str]) -> None:
    upload = SimpleUploadedFile("heron.toml", texts["family"].encode())
    assert client.post("/new-family/file/", {"file": upload}).status_code == 302
    again = client.post("/new-family/file/", {"text": texts["family"]})
    assert again.status_code == 422
    assert 'there is a family "heron-6" already' in words_of(again)
    bad = client.post("/new-family/file/", {"text": texts["family"].replace('"radio"', '"radi"')})
    assert "line 4" in words_of(bad)


def test_the_file_itself_can_be_changed(client: Client, shelf: None) -> None:
    record = FamilyRecord.objects.get(key="heron-6")
    at = "/families/heron-6/edit/file/"
    assert html.escape('name = "Heron 6 table radio"') in client.get(at).content.decode()
    client.post(at, {"text": record.text.replace("Heron 6 table", "Heron Six table"), "seen": record.revision})
    assert family("heron-6").name == "Heron Six table radio"
    other = client.post(at, {"text": record.text.replace('"heron-6"', '"heron-7"'), "seen": record.revision + 1})
    assert other.status_code == 422
    misfit = client.post(
        at,
        {
            "text": record.text.replace('"converter"', '"mixer"').replace("converter =", "mixer ="),
            "seen": record.revision + 1,
        },
    )
    assert misfit.status_code == 422
    assert "bench-1" in words_of(misfit)


def test_a_family_and_its_survivors_from_a_persons_own_table(client: Client) -> None:
    rows = "".join(
        f"{n * 100}\t{'paper' if n < 6 else 'foil'}\t{'.05 mfd' if n < 4 else '20 nF'}\tseen by {n}\n"
        for n in range(1, 11)
    )
    page = client.post("/new-family/table/", {"text": f"serial\ttube chart\tC12\tremarks\n{rows}"})
    words = words_of(page)
    assert "10 sets in the table; 2 features proposed" in words
    assert "paper 5 sets foil 5 sets" in words
    assert "remarks: nearly every set has an entry of its own" in words
    token = re.search(r'name="token" value="([^"]+)"', page.content.decode())[1]
    given = {
        "token": token,
        "step": "take",
        "sets": "on",
        "f0-take": "on",
        "f0-access": "back off",
        "f0-permanence": "stamped",
        "f1-take": "on",
    }
    assert "the name is missing" in words_of(client.post("/new-family/table/", given))
    response = client.post("/new-family/table/", {**given, "name": "Lark", "kind": "radio"})
    assert response.status_code == 302, words_of(response)
    made = family("lark")
    assert [(one.id, one.access, one.permanence, one.unit) for one in made.features] == [
        ("tube-chart", "back off", "stamped", None),
        ("c12", "underside", "consumable", "F"),
    ]
    page = client.get(response["Location"])
    assert "10 new sets" in words_of(page)
    fields = dict(re.findall(r'<input type="hidden" name="(token|seen)" value="([^"]*)"', page.content.decode()))
    client.post("/families/lark/survivors/import/", {**fields, "take": "good"})
    found = rows_of(FamilyRecord.objects.get(key="lark"))
    assert found["700"] == {
        "id": "700",
        "serial": "700",
        "tube-chart": "foil",
        "c12": "20 nF",
        "x-remarks": "seen by 7",
    }


@pytest.mark.parametrize("at", ["/new-family/table/", "/families/heron-6/edit/table/"])
def test_what_is_no_table_is_said(client: Client, shelf: None, at: str) -> None:
    for given, said in (
        ({}, "choose a file, or paste cells"),
        ({"text": "one column\nA"}, "no table was found"),
        ({"token": "made up"}, "no longer here"),
    ):
        response = client.post(at, given)
        assert response.status_code == 422
        assert said in words_of(response)


def test_a_table_without_new_features_says_so(client: Client, shelf: None) -> None:
    page = client.post("/families/heron-6/edit/table/", {"text": "id\tconverter\nA\t6SA7\nB\t6BE6\n"})
    assert "No column makes a feature that is not there already." in words_of(page)


def test_free_columns_of_the_register_may_become_features(client: Client, shelf: None) -> None:
    record = FamilyRecord.objects.get(key="heron-6")
    own = "x-pointer\n" + "".join(
        f"{line},{'brass' if n < 4 else 'steel'}\n" for n, line in enumerate(record.register.text.splitlines()[1:])
    )
    text = record.register.text.splitlines()[0] + "," + own
    keeping.keep(record.register, text, by=None, what="a column of my own")
    at = "/families/heron-6/edit/table/"
    page = client.post(at, {"register": "1"})
    assert "1 feature proposed" in words_of(page)
    token = re.search(r'name="token" value="([^"]+)"', page.content.decode())[1]
    response = client.post(at, {"token": token, "step": "take", "sets": "on", "f0-take": "on"})
    page = client.get(response["Location"])
    assert "no new sets, 8 changed" in words_of(page)
    assert family("heron-6").feature("pointer").states == ("brass", "steel")
