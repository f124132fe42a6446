"""The answer with learnt rates of alteration: its switch, what other families teach it, stopping it."""

from __future__ import annotations

import csv
import html
import io
import json
import re
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.db.models import Q
from django.test import Client

from setwright.files import answer_as_json
from setwright.identity import NothingLearnt, identify, rates_of
from setwright.workbench.accounts import managing
from setwright.workbench.accounts.models import Role
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.services import identity, rates
from setwright.workbench.services.imports import Incoming, import_contents, import_files
from setwright.workbench.sets import method
from setwright.workbench.survivors.models import SurvivorRegister

CAST = Path(__file__).parent.parent / "cast"
LONG = 30.0
SET = "/sets/tall-shelf/"
IDENTITY = SET + "identity/"
LEARNED = IDENTITY + "?learned=1"
PAGES = ["identity/", "looks/", "sisters/", "sisters/of/P-04/", "ask/", "ask/of/P-04/"]
SENTENCE = "Worked out with rates of alteration learnt from survivors of this family and Heron 6 table radio"

pytestmark = pytest.mark.django_db


class Counted:
    """Stands for a function: counts the calls, notes what they asked for, and does what the function does."""

    def __init__(self, function: Any) -> None:
        self.function = function
        self.asked: list[dict[str, Any]] = []

    def __call__(self, *values: Any, **options: Any) -> Any:
        self.asked.append({"values": values, **options})
        return self.function(*values, **options)


@pytest.fixture
def teaching(shelf: None, monkeypatch: pytest.MonkeyPatch) -> Iterator[Counted]:
    """Both casts with their survivors, nothing computed yet; counts how often a family is learnt from."""
    import_files([CAST / "plover.toml", CAST / "plover-bench.toml", f"plover-5={CAST / 'plover-survivors.csv'}"])
    monkeypatch.setattr(identity, "_runs", identity.Runs(identity.ByContent(size=8)))
    monkeypatch.setattr(rates, "_lessons", rates.ByContent(size=8))
    counted = Counted(rates_of)
    monkeypatch.setattr(rates, "rates_of", counted)
    yield counted
    identity.stop_all()


@pytest.fixture
def answering(teaching: Counted, monkeypatch: pytest.MonkeyPatch) -> Counted:
    """Counts the answers, each computed with few draws."""
    counted = Counted(lambda *values, **options: identify(*values, draws=150, **options))
    monkeypatch.setattr(identity, "identify", counted)
    return counted


def page_at(client: Client, address: str) -> str:
    response = client.get(address)
    assert response.status_code == 200, address
    return response.content.decode()


def words_of(page: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).replace("\xa0", " ").split())


def data_at(client: Client, address: str) -> Any:
    return json.loads(page_at(client, address))


def test_the_usual_page_learns_nothing_from_others_and_offers_the_switch(
    client: Client, teaching: Counted, answering: Counted
) -> None:
    page = page_at(client, IDENTITY)
    assert teaching.asked == []
    assert "learned" not in answering.asked[0]
    switch = re.search(r'<nav class="switch".*?</nav>', page).group()
    assert f'<a href="{IDENTITY}" aria-current="true">the usual ones</a>' in switch
    assert f'<a href="{LEARNED}">learnt from survivors</a>' in switch
    assert "Worked out with" not in page
    assert "beside the usual ones, which were used here" in page
    assert "These rest on survivors of this family alone." in page
    assert data_at(client, SET + "identity.json")["method"]["learned_rates"] is False


def test_the_page_with_learnt_rates_says_so_and_leads_back(
    client: Client, teaching: Counted, answering: Counted
) -> None:
    page = page_at(client, LEARNED)
    words = words_of(page)
    assert f"{SENTENCE}, not with the usual ones. The answer with the usual rates" in words
    assert f'<a href="{IDENTITY}">The answer with the usual rates</a>' in page
    assert f'<a href="{LEARNED}" aria-current="true">learnt from survivors</a>' in page
    assert "which were used here, beside the usual ones" in words
    assert "How often parts are altered was learnt from survivors" in words
    assert "How often parts are altered or misread" not in words
    assert "<script" not in page


def test_the_answer_is_that_of_identify_with_what_the_other_family_teaches(
    client: Client, teaching: Counted, plover: Any
) -> None:
    from setwright.files import read_family, read_survivors

    heron = read_family(CAST / "heron.toml").family
    other = rates_of(heron, read_survivors(CAST / "survivors.csv", heron).survivors)
    expected = answer_as_json(identify(*plover, learned=True, other_families=[other]))
    told = data_at(client, SET + "identity.json?learned=1")
    assert told == json.loads(json.dumps(expected))
    assert told["method"]["learned_rates"] is True
    assert told["learned"] != data_at(client, SET + "identity.json")["learned"]
    rows = list(csv.DictReader(io.StringIO(page_at(client, SET + "tables/verdict.csv?learned=1"))))
    assert [float(row["probability"]) for row in rows] == [entry["probability"] for entry in told["verdict"]]


def test_tables_of_the_two_answers_have_names_of_their_own(
    client: Client, teaching: Counted, answering: Counted
) -> None:
    names = [
        client.get(f"{SET}tables/verdict.csv{query}").headers["Content-Disposition"] for query in ("", "?learned=1")
    ]
    assert ["tall-shelf-verdict.csv" in name for name in names] == [True, False]
    assert "tall-shelf-verdict-learned-rates.csv" in names[1]


@pytest.mark.parametrize("value", ["", "0", "yes", "11"])
def test_any_other_value_shows_the_usual_answer(
    client: Client, teaching: Counted, answering: Counted, value: str
) -> None:
    assert "Worked out with" not in page_at(client, f"{IDENTITY}?learned={value}")
    assert teaching.asked == []


@pytest.mark.parametrize("page", PAGES)
def test_every_page_of_the_set_keeps_to_the_answer(
    client: Client, teaching: Counted, answering: Counted, page: str
) -> None:
    shown = page_at(client, SET + page + "?learned=1")
    assert SENTENCE in words_of(shown)
    assert not re.search(r"\sstyle=|<style|<script|\son[a-z]+=", shown)
    own = {html.unescape(link) for link in re.findall(r'href="(/sets/tall-shelf/[^"#]*)"', shown)}
    back = {SET, IDENTITY} if page == "identity/" else set()
    same_for_both = {SET + "set.toml", SET + "date/"}
    assert {link for link in own if not link.endswith(("?learned=1", "&learned=1"))} <= back | same_for_both
    assert any(link.endswith(("?learned=1", "&learned=1")) for link in own)
    for link in own:
        assert client.get(link).status_code == 200, link
    assert len([asked for asked in answering.asked if asked.get("learned")]) == 1


def test_a_family_is_learnt_from_once_for_each_of_its_states(
    client: Client, teaching: Counted, answering: Counted, plover_texts: dict[str, str], texts: dict[str, str]
) -> None:
    page_at(client, LEARNED)
    second = plover_texts["set"].replace("tall-shelf", "short-shelf")
    import_contents([Incoming("short.toml", second.encode())])
    page_at(client, "/sets/short-shelf/identity/?learned=1")
    page_at(client, LEARNED)
    assert [asked["values"][0].id for asked in teaching.asked] == ["heron-6"]
    assert len(answering.asked) == 2
    fewer = "\n".join(texts["survivors"].splitlines()[:-1]) + "\n"
    import_contents([Incoming("survivors.csv", fewer.encode(), "heron-6")])
    page_at(client, LEARNED)
    assert [asked["values"][0].id for asked in teaching.asked] == ["heron-6", "heron-6"]
    assert len(answering.asked) == 3


def test_texts_of_other_families_are_not_read_again(
    client: Client, teaching: Counted, answering: Counted, django_assert_num_queries: Any
) -> None:
    record = FamilyRecord.objects.get(key="plover-5")
    with django_assert_num_queries(2):
        (unread,) = rates.teachers_of(record, Q())
    assert "text" not in unread.get_deferred_fields()
    page_at(client, LEARNED)
    with django_assert_num_queries(1):
        (known,) = rates.teachers_of(record, Q())
    assert "text" in known.get_deferred_fields()


def test_a_large_register_teaches_nothing_and_is_not_even_read(
    client: Client, teaching: Counted, answering: Counted
) -> None:
    SurvivorRegister.objects.filter(family__key="heron-6").update(count=20_001)
    words = words_of(page_at(client, LEARNED))
    assert "learnt from survivors of this family, not with the usual ones" in words
    assert "Heron 6 table radio teaches nothing about rates of alteration: it has 20,001 survivors" in words
    assert teaching.asked == []
    (teacher,) = rates.teachers_of(FamilyRecord.objects.get(key="plover-5"), Q())
    assert "text" in teacher.get_deferred_fields()


def test_another_family_that_teaches_nothing_does_no_harm(
    client: Client, teaching: Counted, answering: Counted
) -> None:
    def nothing(*values: Any, **options: Any) -> Any:
        raise NothingLearnt("Heron 6 table radio teaches nothing: its <documents> contradict each other.")

    teaching.function = nothing
    words = words_of(page_at(client, LEARNED))
    assert "Heron 6 table radio teaches nothing: its <documents> contradict each other." in words
    assert "learnt from survivors of this family, not with the usual ones" in words
    warnings = data_at(client, SET + "identity.json?learned=1")["warnings"]
    assert any("teaches nothing" in warning for warning in warnings)
    SurvivorRegister.objects.filter(family__key="plover-5").update(digest="another")
    page_at(client, LEARNED)
    assert (len(answering.asked), len(teaching.asked)) == (2, 1), "what it cannot teach is known as well"


def test_without_survivors_of_its_own_nothing_is_learnt(client: Client, teaching: Counted, answering: Counted) -> None:
    SurvivorRegister.objects.filter(family__key="plover-5").delete()
    assert 'class="switch"' not in page_at(client, IDENTITY)
    words = words_of(page_at(client, LEARNED))
    assert "Worked out with the usual rates of alteration, because none could be learnt." in words
    assert "No rate of alteration could be learnt" in words
    assert teaching.asked == []


def test_a_family_that_one_may_not_look_at_teaches_one_nothing(
    teaching: Counted, answering: Counted, settings: Any
) -> None:
    settings.SHARED = True
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    people = {name: managing.add_account(name, "rivet brass walnut", Role.READER) for name in ("ada", "ben")}
    managing.set_family_role(people["ben"], FamilyRecord.objects.get(key="heron-6"), Role.NONE)
    seats = {name: Client() for name in people}
    for name, seat in seats.items():
        seat.force_login(people[name])
    assert SENTENCE in words_of(page_at(seats["ada"], LEARNED))
    for page in PAGES:
        assert "Heron" not in page_at(seats["ben"], f"{SET}{page}?learned=1")
    assert "learnt from survivors of this family, not with" in words_of(page_at(seats["ben"], LEARNED))
    assert "Heron" not in json.dumps(data_at(seats["ben"], SET + "identity.json?learned=1"))
    asked = [asked["other_families"] for asked in answering.asked]
    assert [len(others) for others in asked] == [1, 0]
    assert SENTENCE in words_of(page_at(seats["ada"], LEARNED))


class Held:
    """Stands for `rates_of`: reports, waits to be let go on, reports again and answers."""

    def __init__(self) -> None:
        self.started, self.go_on, self.left = threading.Event(), threading.Event(), threading.Event()
        self.calls = 0

    def __call__(self, *values: Any, progress: Any, **options: Any) -> Any:
        self.calls += 1
        try:
            progress("", 0.5)
            self.started.set()
            assert self.go_on.wait(LONG)
            return rates_of(*values, progress=progress, **options)
        finally:
            self.left.set()


@pytest.fixture
def held(answering: Counted, monkeypatch: pytest.MonkeyPatch, settings: Any) -> Iterator[Held]:
    settings.PATIENCE_SECONDS = 0.0
    holding = Held()
    monkeypatch.setattr(rates, "rates_of", holding)
    yield holding
    holding.go_on.set()


def test_learning_shows_how_far_it_is_stops_and_starts_again(
    client: Client, held: Held, answering: Counted, settings: Any
) -> None:
    client.get(LEARNED)
    assert held.started.wait(LONG)
    response = client.get(LEARNED)
    assert (response.status_code, response.headers["Refresh"]) == (202, "2")
    page = response.content.decode()
    assert "Now: learning rates of alteration from Heron 6 table radio." in page
    assert '<progress id="share" max="100" value="10">' in page
    assert f'action="{SET}stop/?learned=1"' in page
    response = client.post(SET + "stop/?learned=1", follow=True)
    assert response.redirect_chain == [(LEARNED, 302)]
    page = response.content.decode()
    assert "The computation with learnt rates of alteration was stopped" in page
    assert f'action="{SET}start/?learned=1"' in page
    held.go_on.set()
    assert held.left.wait(LONG)
    settings.PATIENCE_SECONDS = 120.0
    assert "Worked out with" not in page_at(client, IDENTITY), "the usual answer was not stopped"
    assert not any(asked.get("learned") for asked in answering.asked), "a stopped one does not go on"
    response = client.post(SET + "start/?learned=1", follow=True)
    assert response.redirect_chain == [(LEARNED, 302)]
    assert SENTENCE in words_of(response.content.decode())
    assert held.calls == 2, "what was stopped half-way was not kept"


def test_many_teachers_are_counted(plover: Any) -> None:
    answer = identify(*plover, draws=150, learned=True)
    names = ("Heron 6", "Wren 4", "Finch 5", "Crane 8")
    for teachers, words in (
        (names[:2], "this family, Heron 6 and Wren 4,"),
        (names, "this family and 4 other families,"),
    ):
        case = identity.IdentityCase(plover[0], plover[1], None, answer, True, teachers)
        assert words in method.rates_sentence(case)
    assert method.rates_sentence(identity.IdentityCase(plover[0], plover[1], None, answer)) == ""
