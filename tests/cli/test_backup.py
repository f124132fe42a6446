"""`setwright backup` and `setwright restore`: what they say and do."""

from __future__ import annotations

import sqlite3
from contextlib import closing

import pytest
from typer.testing import CliRunner

from setwright.cli import app


@pytest.fixture
def told(db, settings, tmp_path, monkeypatch):
    """Runs a command on a data folder of its own."""
    settings.DATA_DIR = tmp_path / "data"
    settings.DATA_DIR.mkdir()
    monkeypatch.chdir(tmp_path)

    def run(*arguments):
        result = CliRunner().invoke(app, [*map(str, arguments)])
        assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
        return result.exit_code, result.stdout, result.stderr

    return run


def test_there_and_back(told, tmp_path, settings):
    status, _, err = told("backup")
    assert (status, "There are no records" in err) == (1, True)
    with closing(sqlite3.connect(settings.DATA_DIR / "setwright.sqlite3")) as records:
        records.execute("CREATE TABLE words (word TEXT)")
    status, out, _ = told("backup")
    (made,) = tmp_path.glob("setwright-*.zip")
    assert (status, out) == (0, f"{made}: written and read back, 0.0 MB\n")
    assert "was not touched" in told("backup")[2]
    assert told("backup", made, "--force")[0] == 0
    status, out, err = told("restore", made)
    assert (status, err) == (0, "")
    assert "UTC are back, with 0 files\nWhat was there before is in" in out


def test_what_is_no_backup_is_told(told, tmp_path):
    (tmp_path / "wrong.zip").write_bytes(b"PK")
    status, _, err = told("restore", tmp_path / "wrong.zip")
    assert (status, "wrong.zip: the file is not whole" in err) == (1, True)
    assert "there is no such file" in told("restore", tmp_path / "none.zip")[2]
