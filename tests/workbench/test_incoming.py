"""What was sent and not decided on yet."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest

from setwright.workbench import incoming
from setwright.workbench.incoming import Incoming, NotKept, Sent

SENT = Sent("a list\u00e9.csv", b"id,serial\nA,\n\nB,\x00\xff")


def test_it_is_found_again_by_its_owner_only(tmp_path: Path) -> None:
    store = Incoming(tmp_path / "incoming")
    token = store.keep(SENT, "anna survivors heron-6")
    assert store.find(token, "anna survivors heron-6") == SENT
    with pytest.raises(NotKept):
        store.find(token, "bert survivors heron-6")


@pytest.mark.parametrize("token", ["", "../../etc/passwd", "a" * 32, "a" * 32 + "\n", "." * 24])
def test_what_is_no_token_finds_nothing(tmp_path: Path, token: str) -> None:
    store = Incoming(tmp_path)
    with pytest.raises(NotKept):
        store.find(token, "anna")


def test_dropped_and_old_things_are_gone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    store = Incoming(tmp_path)
    dropped, old, young = (store.keep(SENT, "anna") for _ in range(3))
    store.drop(dropped)
    day_ago = time.time() - incoming.KEPT_SECONDS - 10
    os.utime(tmp_path / old, (day_ago, day_ago))
    store.keep(SENT, "anna")
    for token in (dropped, old):
        with pytest.raises(NotKept):
            store.find(token, "anna")
    assert store.find(young, "anna") == SENT
    monkeypatch.setattr(incoming, "MOST_KEPT", 1)
    store.keep(SENT, "anna")
    assert len(list(tmp_path.iterdir())) == 2


def test_nothing_half_written_stays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*names: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(OSError, match="No space"):
        Incoming(tmp_path).keep(SENT, "anna")
    assert list(tmp_path.iterdir()) == []
