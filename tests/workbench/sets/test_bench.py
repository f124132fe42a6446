"""Observing at the bench: kept at once, told, taken back, changed; and what is refused."""

from __future__ import annotations

import html
import re
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from setwright.workbench.records import history
from setwright.workbench.services.records import set_file_of

pytestmark = pytest.mark.django_db

BENCH = "/sets/bench-1/bench/"
KNOBS = BENCH + "see/knobs/"


def words(response: Any) -> str:
    text = re.sub(r"<(script|head).*?</\1>", " ", response.content.decode(), flags=re.DOTALL)
    return html.unescape(" ".join(re.sub(r"<[^>]+>", " ", text).split())).replace("\N{NO-BREAK SPACE}", " ")


def last_seen(record: Any) -> Any:
    return set_file_of(record).set.observations[-1]


def test_a_state_that_is_pressed_is_kept_and_told(client: Client, bench_1: Callable) -> None:
    response = client.post(KNOBS, {"state": "ivory"})
    assert (response.status_code, response.url) == (302, BENCH + "at/outside/?told=2")
    seen = last_seen(bench_1())
    assert (seen.feature, seen.state, seen.sure) == ("knobs", "ivory", "certain")
    by = set_file_of(bench_1()).case.seen[-1]
    assert by.by == "you"
    assert by.at is not None
    page = words(client.get(response.url))
    assert "Knobs seen: ivory." in page
    assert "Undo" in page
    assert history.revisions_of(bench_1())[0].what == "Knobs seen: ivory"


def test_what_it_changed_is_told_in_figures(client: Client) -> None:
    response = client.post(BENCH + "see/label/", {"state": "stamped over"}, follow=True)
    assert re.search(r"(→|Now most probably|stands at|does not fit)", words(response))


def test_undo_takes_exactly_that_back(client: Client, bench_1: Callable) -> None:
    before = bench_1().text
    client.post(KNOBS, {"state": "ivory"})
    response = client.post(BENCH + "take-back/2/", {"access": "outside"})
    assert response.url == BENCH + "at/outside/?told=3"
    assert bench_1().text == before
    assert "Taken back: Knobs seen: ivory." in words(client.get(response.url))
    again = client.post(BENCH + "take-back/2/", {"access": "outside"})
    assert again.status_code == 409
    assert "Nothing was taken back" in words(again)
    assert client.post(BENCH + "take-back/99/").status_code == 404


@pytest.mark.parametrize(
    ("sent", "kept"),
    [
        ({"do": "cannot-tell"}, {"state": None, "cannot_tell": True, "serviced": False}),
        ({"do": "serviced"}, {"state": None, "cannot_tell": False, "serviced": True}),
        ({"state": "brown", "sure": "guess", "serviced": "on"}, {"state": "brown", "sure": "guess", "serviced": True}),
        ({"written": "chrome", "do": "written", "note": "one only"}, {"state": "chrome", "note": "one only"}),
        ({"state": "brown", "written": "left over"}, {"state": "brown"}),
    ],
)
def test_every_answer_is_kept_as_it_was_meant(
    client: Client, bench_1: Callable, sent: dict[str, str], kept: dict[str, object]
) -> None:
    assert client.post(KNOBS, sent).status_code == 302
    seen = last_seen(bench_1())
    assert {name: getattr(seen, name) for name in kept} == kept


@pytest.mark.parametrize(
    ("value", "how", "state", "drift"),
    [
        (".02 mfd", "marked", "0.02 uF", False),
        ("4700 mmf", "marked", "0.0047 uF", False),
        (".01 mfd", "measured", None, True),
        (".01 mfd", "marked", ".01 mfd", False),
    ],
)
def test_values_are_read_as_the_trade_writes_them(
    client: Client, bench_1: Callable, value: str, how: str, state: str | None, drift: bool
) -> None:
    sent = {"written": value, "how": how, "do": "written"}
    assert client.post(BENCH + "see/tone-capacitor/", sent).status_code == 302
    seen = last_seen(bench_1())
    assert (seen.state, seen.drift) == (state, drift)


def test_a_near_miss_is_asked_about_and_can_be_insisted_on(client: Client, bench_1: Callable) -> None:
    sent = {"written": "6BE-6", "do": "written", "note": "small letters", "sure": "likely"}
    response = client.post(BENCH + "see/converter/", sent)
    assert response.status_code == 422
    page = response.content.decode()
    assert '<button type="submit" name="state" value="6BE6">6BE6</button>' in page
    assert "It does read “6BE-6”" in page
    assert ">small letters</textarea>" in page, "what was entered stays"
    assert re.search(r'value="likely" checked', page)
    assert bench_1().revision == 1
    client.post(BENCH + "see/converter/", {**sent, "do": "insist"})
    assert last_seen(bench_1()).state == "6BE-6"
    assert history.revisions_of(bench_1())[0].what == "Converter tube seen: 6BE-6, likely"


def test_nothing_chosen_is_told_and_nothing_kept(client: Client, bench_1: Callable) -> None:
    response = client.post(KNOBS, {"note": "hm"})
    assert response.status_code == 422
    assert "Press what is seen" in words(response)
    assert bench_1().revision == 1


@pytest.mark.parametrize("sent", [{"state": "x" * 501}, {"state": "a\0b"}, {"state": "brown", "sure": "very"}])
def test_odd_input_gets_an_answer_and_keeps_nothing(client: Client, bench_1: Callable, sent: dict[str, str]) -> None:
    assert client.post(KNOBS, sent).status_code == 422
    assert bench_1().revision == 1


def test_opening_further_is_written_down_with_the_cautions_before_it(client: Client, bench_1: Callable) -> None:
    page = client.get(BENCH + "at/chassis-out/")
    assert "Before this step" in words(page)
    assert "I have opened it: the chassis is out" in words(page)
    assert 'name="state"' not in page.content.decode(), "nothing is asked of what is still closed"
    response = client.post(BENCH + "opened/", {"access": "chassis-out"})
    assert response.url == BENCH + "at/chassis-out/"
    assert bench_1().open_to == "chassis out"
    assert 'name="state"' in client.get(response.url).content.decode()
    client.post(BENCH + "opened/", {"access": "outside"})
    assert bench_1().open_to == "outside"
    assert client.post(BENCH + "opened/", {"access": "lead-lifted"}).status_code == 404


def test_a_feature_that_is_not_there_is_404(client: Client) -> None:
    assert client.post(BENCH + "see/nothing/", {"state": "x"}).status_code == 404


def test_looking_is_no_writing(client: Client) -> None:
    for address in (KNOBS, BENCH + "opened/", BENCH + "take-back/1/"):
        assert client.get(address).status_code == 405
    assert Client(enforce_csrf_checks=True).post(KNOBS, {"state": "ivory"}).status_code == 403


def test_the_verdict_alone_turns_from_quick_to_full(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    from setwright.workbench.services import identity

    monkeypatch.setattr(identity, "_runs", identity.Runs(identity.ByContent(size=8)))
    asked = []
    monkeypatch.setattr(identity, "begin", lambda record, quick=False: asked.append(record.key))
    quick = client.get(BENCH + "verdict/", headers={"hx-request": "true"})
    assert "Quick answer" in words(quick)
    assert 'hx-trigger="load delay:2s"' in quick.content.decode()
    assert asked == ["bench-1"]
    client.get("/sets/bench-1/identity/")
    full = client.get(BENCH + "verdict/")
    assert "Quick answer" not in words(full)
    assert "hx-trigger" not in full.content.decode()


def test_an_observation_costs_few_queries(client: Client, django_assert_max_num_queries: Any) -> None:
    client.get(BENCH)
    with django_assert_max_num_queries(30):
        client.post(KNOBS, {"state": "ivory"})
    client.get(BENCH + "?told=2")
    with django_assert_max_num_queries(3):  # the set with all that belongs to it, the two entries, its texts
        client.get(BENCH + "?told=2")


@pytest.mark.parametrize("told", ["99", "x", "-1", "9" * 30, "0"])
def test_a_number_that_tells_nothing_is_passed_over(client: Client, told: str) -> None:
    response = client.get(f"{BENCH}?told={told}")
    assert response.status_code == 200
    assert 'id="told"' not in response.content.decode()


def test_an_observation_is_changed_and_when_it_was_made_stays(client: Client, bench_1: Callable) -> None:
    client.post(KNOBS, {"state": "ivory", "sure": "guess"})
    made = set_file_of(bench_1()).case.seen[-1]
    page = client.get("/sets/bench-1/seen/4/?next=outside").content.decode()
    assert re.search(r'value="ivory"[^>]* checked', page)
    sent = {"state": "brown", "sure": "certain", "seen": "2", "next": "outside"}
    response = client.post("/sets/bench-1/seen/4/", sent)
    assert response.url == BENCH + "at/outside/"
    assert (last_seen(bench_1()).state, last_seen(bench_1()).sure) == ("brown", "certain")
    assert set_file_of(bench_1()).case.seen[-1] == made
    assert history.revisions_of(bench_1())[0].what == "Changed: Knobs: ivory, a guess now brown"


def test_an_observation_that_was_wrong_is_taken_out_and_can_come_back(client: Client, bench_1: Callable) -> None:
    before = bench_1().text
    client.post("/sets/bench-1/seen/1/remove/", {"seen": "1"})
    assert "converter" not in set_file_of(bench_1()).set.latest
    history.go_back(bench_1(), 1, by=None)
    assert bench_1().text == before


def test_a_photo_comes_with_an_observation(
    client: Client, bench_1: Callable, settings: Any, tmp_path: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    import io

    from django.core.files.uploadedfile import SimpleUploadedFile
    from PIL import Image

    settings.DATA_DIR = tmp_path
    picture = io.BytesIO()
    Image.new("RGB", (60, 40), "brown").save(picture, "JPEG")
    sent = {"state": "ivory", "photos": SimpleUploadedFile("knob.jpg", picture.getvalue(), "image/jpeg")}
    assert client.post(KNOBS, sent).status_code == 302
    photo = set_file_of(bench_1()).case.photos[0]
    assert (photo.feature, photo.name, photo.added_by) == ("knobs", "knob.jpg", "you")
    bad = {"state": "brown", "photos": SimpleUploadedFile("no.jpg", b"no picture", "image/jpeg")}
    response = client.post(KNOBS, bad)
    assert response.status_code == 422
    assert "no.jpg" in words(response)
    assert bench_1().revision == 2
