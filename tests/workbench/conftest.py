"""Pages of tests wait for their answers, however slow the machine is."""

from __future__ import annotations

import os
import uuid
from collections.abc import Iterator
from pathlib import Path

import pytest

CAST = Path(__file__).parent.parent / "cast"


@pytest.fixture(autouse=True)
def patient(settings) -> None:
    settings.PATIENCE_SECONDS = 120.0


@pytest.fixture
def plover_shelf(db: None, full_answer, monkeypatch) -> None:
    """The second cast, taken into the records; its answer has something to say in every part."""
    from setwright.workbench.services import identity
    from setwright.workbench.services.imports import import_files

    import_files([CAST / "plover.toml", CAST / "plover-bench.toml", f"plover-5={CAST / 'plover-survivors.csv'}"])
    # What other tests computed for the same files stays out of this one, and the other way round.
    monkeypatch.setattr(identity, "_runs", identity.Runs(identity.ByContent(size=8)))
    monkeypatch.setattr(identity, "identify", lambda *values, **options: full_answer)


@pytest.fixture
def own_store(tmp_path: Path) -> Iterator[dict[str, str]]:
    """Environment variables of a process that keeps records of its own, in the kind of database that is tested."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("SETWRIGHT", "DJANGO"))}
    kept["SETWRIGHT_DATA"] = str(tmp_path / "data")
    url = os.environ.get("DATABASE_URL")
    if not url:
        yield kept
        return
    import psycopg

    name = f"own_{uuid.uuid4().hex}"
    before, _, after = url.partition("?")
    with psycopg.connect(url, autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name}")
        yield {**kept, "DATABASE_URL": f"{before.rpartition('/')[0]}/{name}?{after}"}
        connection.execute(f"DROP DATABASE {name} WITH (FORCE)")
