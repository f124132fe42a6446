"""Dating through the records: never twice, fitted once for all sets of a family, to be watched and stopped."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from setwright.workbench.services import dating, identity
from setwright.workbench.services.dating import date_of

pytestmark = pytest.mark.django_db

SET = "/sets/bench-1/"
DATE = SET + "date/"
LONG = 60.0


@pytest.fixture
def fits(monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """What the production was dated from, each time that it was."""
    made, fit = [], dating.fit

    def counted(production: Any, sets: Any, **more: Any) -> Any:
        made.append(sets)
        return fit(production, sets, **more)

    monkeypatch.setattr(dating, "fit", counted)
    return made


def test_what_was_dated_is_not_dated_again(client: Client, record: Callable, fits: list[Any]) -> None:
    first = date_of(record())
    assert date_of(record()).answer is first.answer
    assert len(fits) == 1


def test_a_date_on_the_set_leaves_the_production_as_it_was_dated(
    client: Client, record: Callable, fits: list[Any]
) -> None:
    before = date_of(record()).answer
    client.post(SET + "dates/", {"kind": "stamp", "date": "1947-W40"})
    assert date_of(record()).answer.date != before.date
    assert len(fits) == 1


def test_a_set_does_not_date_itself_by_its_own_row(take_in: Callable, texts: dict[str, str], fits: list[Any]) -> None:
    from setwright.workbench.sets.models import SetRecord

    take_in(set=texts["set"].replace("H 2?50", "H 2110"))
    case = date_of(SetRecord.objects.select_related("family__register").get(key="bench-1"))
    assert "K-03" not in {one.id for one in fits[0]}
    assert case.answer.method.survivors == 5


def test_the_full_answer_of_identity_counts_where_it_is_ready(
    client: Client, record: Callable, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(identity, "_runs", identity.Runs(identity.ByContent(size=8)))
    assert date_of(record()).quick
    full = identity.identity_of(record()).answer
    case = date_of(record())
    assert not case.quick
    assert case.dated.identity is full
    assert {cut_in.change for cut_in in case.answer.cut_ins} <= {change.id for change in full.changes}


def test_a_change_that_a_document_dates_is_held_to_its_date(take_in: Callable, texts: dict[str, str]) -> None:
    """The same as `setwright date` says of the same files: with the date, a change comes in where the date is."""
    from setwright.workbench.sets.models import SetRecord

    def cut_in(family: str) -> Any:
        take_in(family=family, set=texts["set"].replace("H 2?50", "H 2150"))
        case = date_of(SetRecord.objects.select_related("family__register").get(key="bench-1"))
        assert case.dated.identity is not None
        found = next(change for change in case.dated.identity.changes if change.id == "main:label:1")
        return case, found.cut_in

    case, free = cut_in(texts["family"])
    assert case.quick
    dated = '\n[[cutin]]\nfeature = "label"\nline = "main"\nabout = "1947-09"\nsource = "sheet-1"\n'
    case, held = cut_in(texts["family"] + dated)
    # It rests on sums over everything, not on the quick answer, which knows no dates; and the page says so.
    assert not case.quick
    assert "held to their dates here" in Client().get(DATE).content.decode()
    assert case.dated.identity.method.kind == "exact"
    assert held.high - held.low < 0.7 * (free.high - free.low)


def test_a_long_computation_is_shown_stopped_and_started_again(
    client: Client, record: Callable, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.PATIENCE_SECONDS = 0.0
    started, go_on, fit = threading.Event(), threading.Event(), dating.fit

    def slow(*values: Any, progress: Any, **more: Any) -> Any:
        progress("Dating <the> run", 0.5)
        started.set()
        assert go_on.wait(LONG)
        progress("Dating the run", 0.9)
        return fit(*values, progress=progress, **more)

    monkeypatch.setattr(dating, "fit", slow)
    assert client.get(DATE).status_code == 202
    assert started.wait(LONG)
    response = client.get(DATE)
    page = response.content.decode()
    assert response.status_code == 202
    assert response.headers["Refresh"] == "2"
    assert "Now: Dating &lt;the&gt; run." in page
    assert "The date is being worked out; look again in a moment." in client.get(SET).content.decode()
    assert client.post(DATE + "stop/").status_code == 302
    go_on.set()
    assert "was stopped" in client.get(DATE).content.decode()
    assert "Dating was stopped." in client.get(SET).content.decode()
    assert client.get(SET + "date.json").status_code == 409
    assert client.post(DATE + "start/").status_code == 302
    settings.PATIENCE_SECONDS = LONG
    assert "Built about" in client.get(DATE).content.decode()
