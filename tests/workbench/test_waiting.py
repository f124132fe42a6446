"""Answers that take long: pages show how far they are, can stop them, and share one computation."""

from __future__ import annotations

import json
import re
import threading
import time
from pathlib import Path
from typing import Any

import pytest
from django.test import Client

from setwright.identity import Answer, ImpossibleHistory
from setwright.notation import NotationError
from setwright.workbench.services import identity

CAST = Path(__file__).parent.parent / "cast"
LONG = 30.0
PAGES = ["identity/", "looks/", "sisters/", "sisters/of/P-04/", "ask/", "ask/of/P-04/"]
SET = "/sets/tall-shelf/"
IDENTITY = SET + "identity/"

pytestmark = pytest.mark.django_db


class Slow:
    """Stands for `identify`: reports, waits to be let go on, reports again, answers or fails."""

    def __init__(self, answer: Answer) -> None:
        self.answer = answer
        self.error: Exception | None = None
        self.calls = 0
        self.started, self.go_on, self.left = threading.Event(), threading.Event(), threading.Event()

    def __call__(self, *values: Any, progress: Any, **options: Any) -> Answer:
        self.calls += 1
        try:
            progress("drawing <joint> histories", 0.4)
            self.started.set()
            assert self.go_on.wait(LONG)
            if self.error is not None:
                raise self.error
            progress("weighing", 0.9)
            return self.answer
        finally:
            self.left.set()


@pytest.fixture
def slow(plover_shelf: None, full_answer: Answer, monkeypatch: pytest.MonkeyPatch, settings: Any) -> Any:
    settings.PATIENCE_SECONDS = 0.0
    computing = Slow(full_answer)
    monkeypatch.setattr(identity, "identify", computing)
    yield computing
    computing.go_on.set()
    identity.stop_all()


def begun(client: Client, slow: Slow) -> None:
    client.get(IDENTITY)
    assert slow.started.wait(LONG)


def text(response: Any) -> str:
    return response.content.decode()


def finished(client: Client, address: str = IDENTITY) -> Any:
    """The page once its answer is there."""
    until = time.monotonic() + LONG
    while (response := client.get(address)).status_code == 202 and time.monotonic() < until:
        time.sleep(0.01)
    return response


def test_a_page_shows_how_far_its_answer_is_and_looks_again_by_itself(client: Client, slow: Slow) -> None:
    begun(client, slow)
    response = client.get(IDENTITY)
    assert response.status_code == 202
    assert response.headers["Refresh"] == "2"
    assert response.headers["Cache-Control"] == "no-store"
    page = text(response)
    assert '<progress id="share" max="100" value="40">' in page
    assert "Now: drawing &lt;joint&gt; histories." in page
    assert "<script" not in page
    assert re.search(r'<form method="post" action="/sets/tall-shelf/stop/">.*csrfmiddlewaretoken', page, re.DOTALL)
    slow.go_on.set()
    assert 'id="verdict"' in text(finished(client))
    assert slow.calls == 1


@pytest.mark.parametrize("page", PAGES)
def test_every_page_of_a_set_waits_in_the_same_way(client: Client, slow: Slow, page: str) -> None:
    begun(client, slow)
    assert client.get(SET + page).status_code == 202
    slow.go_on.set()
    assert finished(client, SET + page).status_code == 200
    assert slow.calls == 1


def test_a_quick_answer_shows_no_progress(client: Client, plover_shelf: None) -> None:
    response = client.get(IDENTITY)
    assert response.status_code == 200
    assert "Refresh" not in response.headers


def test_two_who_ask_share_one_computation(client: Client, slow: Slow) -> None:
    begun(client, slow)
    answers: list[Any] = []
    key = identity._key_of(record())
    asking = [
        threading.Thread(target=lambda: answers.append(identity._runs.get(key, lambda report: None, LONG)))
        for _ in range(3)
    ]
    for thread in asking:
        thread.start()
    slow.go_on.set()
    for thread in asking:
        thread.join(LONG)
    assert answers == [identity.Worked(slow.answer)] * 3
    assert slow.calls == 1


def record() -> Any:
    from setwright.workbench.sets.models import SetRecord

    return SetRecord.objects.select_related("family__register").get(key="tall-shelf")


def test_it_can_be_stopped_and_started_again(client: Client, slow: Slow) -> None:
    begun(client, slow)
    response = client.post(SET + "stop/", follow=True)
    assert response.redirect_chain == [(IDENTITY, 302)]
    assert "The computation was stopped" in text(response)
    assert 'action="/sets/tall-shelf/start/"' in text(response)
    assert "Refresh" not in response.headers
    slow.go_on.set()
    assert slow.left.wait(LONG)
    assert "The computation was stopped" in text(client.get(SET + "looks/"))
    assert slow.calls == 1, "looking at a page does not start it again"
    response = client.post(SET + "start/", follow=True)
    assert response.status_code in (200, 202)
    assert 'id="verdict"' in text(finished(client))
    assert slow.calls == 2


@pytest.mark.parametrize("action", ["stop/", "start/"])
def test_stopping_and_starting_need_a_form_of_the_site(plover_shelf: None, action: str) -> None:
    strict = Client(enforce_csrf_checks=True)
    assert strict.post(SET + action).status_code == 403
    assert strict.get(SET + action).status_code == 405
    assert Client().post("/sets/nobody/" + action).status_code == 404
    response = Client().post(SET + action, follow=True)
    assert 'id="verdict"' in text(response), "there was nothing to stop or to start again"


@pytest.mark.parametrize(
    "error", [ImpossibleHistory("sheet 2 contradicts sheet 1"), NotationError("too little of the serial is legible")]
)
def test_what_cannot_be_answered_is_told_plainly(client: Client, slow: Slow, error: Exception) -> None:
    slow.error = error
    begun(client, slow)
    assert client.get(IDENTITY).status_code == 202
    slow.go_on.set()
    response = finished(client)
    assert response.status_code == 409
    assert str(error) in text(response)


def test_a_fault_is_not_hidden_and_the_next_look_tries_anew(slow: Slow) -> None:
    client = Client(raise_request_exception=False)
    slow.error = RuntimeError("a fault")
    begun(client, slow)
    slow.go_on.set()
    response = finished(client)
    assert response.status_code == 500
    assert "Something in Setwright itself went wrong" in text(response)
    slow.error = None
    assert 'id="verdict"' in text(finished(client))


def test_data_wait_for_their_answer_and_say_when_there_is_none_yet(
    client: Client, slow: Slow, monkeypatch: pytest.MonkeyPatch
) -> None:
    from setwright.workbench.sets import computed

    monkeypatch.setattr(computed, "PROGRAMS_PATIENCE", 0.0)
    begun(client, slow)
    response = client.get(SET + "identity.json")
    assert (response.status_code, response.headers["Retry-After"]) == (503, "10")
    assert json.loads(text(response)) == {"error": "The answer is still being computed (40 % done); ask again."}
    assert client.get(SET + "tables/verdict.csv").status_code == 503
    monkeypatch.setattr(computed, "PROGRAMS_PATIENCE", LONG)
    slow.go_on.set()
    assert json.loads(text(client.get(SET + "identity.json")))["set"] == "tall-shelf"


def test_data_of_a_stopped_answer_say_so(client: Client, slow: Slow) -> None:
    begun(client, slow)
    client.post(SET + "stop/")
    response = client.get(SET + "identity.json")
    assert response.status_code == 409
    assert "was stopped" in json.loads(text(response))["error"]
    assert text(client.get(SET + "tables/verdict.csv")) == json.loads(text(response))["error"] + "\n"
