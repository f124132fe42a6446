"""The small cast with dates on its survivors, and a set on the bench whose serial is whole."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from setwright.workbench.services import dating
from setwright.workbench.services.cache import ByContent
from setwright.workbench.services.runs import Runs

STAMPS = {"K-01": "1947-03-10", "K-02": "1947-W24", "K-03": "1947-09", "K-04": "1948-02-02", "K-06": "1948-11-15"}
ENDINGS = {"family": ".toml", "set": ".toml", "survivors": ".csv"}
SPEAKERS = {"K-02": "year-week:717", "K-04": "year-week:749", "K-05": "year-week:812", "K-06": "year-week:840"}


def with_dates(survivors: str) -> str:
    """A register with a stamp and a speaker's code for some of its sets."""
    rows = list(csv.DictReader(io.StringIO(survivors)))
    made = io.StringIO()
    writer = csv.DictWriter(made, [*rows[0], "stamp_date", "part_date.speaker"], lineterminator="\n")
    writer.writeheader()
    for row in rows:
        writer.writerow({**row, "stamp_date": STAMPS.get(row["id"]), "part_date.speaker": SPEAKERS.get(row["id"])})
    return made.getvalue()


@pytest.fixture(autouse=True)
def nothing_known(monkeypatch: pytest.MonkeyPatch) -> None:
    """What other tests computed stays out of this one."""
    monkeypatch.setattr(dating, "_runs", Runs(ByContent(size=32)))
    for name in ("_fits", "_trusts"):
        monkeypatch.setattr(dating, name, ByContent(size=8))


@pytest.fixture
def take_in(db: None, texts: dict[str, str]) -> Callable[..., Client]:
    """Takes the cast in, after changes to its texts: take_in(set=text, survivors="")."""
    from setwright.workbench.services.imports import Incoming, import_contents

    def do(**changed: str) -> Client:
        given = {**texts, "survivors": with_dates(texts["survivors"]), **changed}
        files = {kind: text for kind, text in given.items() if text}
        import_contents([Incoming(f"{kind}{ENDINGS[kind]}", text.encode()) for kind, text in files.items()])
        return Client(raise_request_exception=True)

    return do


@pytest.fixture
def client(take_in: Callable[..., Client], texts: dict[str, str]) -> Client:
    """Somebody who works with the set, its serial read in full."""
    return take_in(set=texts["set"].replace("H 2?50", "H 2150"))


@pytest.fixture
def record(client: Client) -> Callable[[], Any]:
    from setwright.workbench.sets.models import SetRecord

    return lambda: SetRecord.objects.select_related("family__register").get(key="bench-1")
