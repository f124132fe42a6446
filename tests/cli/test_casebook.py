"""`setwright casebook`: saving, taking in, and what it says where records differ."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner

from setwright.cli import app
from setwright.workbench.services.imports import import_files
from setwright.workbench.sets.models import SetRecord

CAST = Path(__file__).parent.parent / "cast"


@pytest.fixture
def told(db, monkeypatch, settings, tmp_path):
    """Runs a command on the records of the test; exit status, stdout, stderr."""
    settings.DATA_DIR = tmp_path / "data"
    monkeypatch.setattr("setwright.workbench.server.prepare", lambda data=None: settings.DATA_DIR)

    def run(*arguments):
        result = CliRunner().invoke(app, ["casebook", *map(str, arguments)])
        assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
        return result.exit_code, result.stdout, result.stderr

    return run


def test_out_and_in_again(told, shelf, tmp_path):
    book = tmp_path / "book.zip"
    said = f"{book}: 1 families, 1 sets, 1 registers of survivors, 0 documents, 0 photos, 0 scans\n"
    assert told("save", book) == (0, said, "")
    status, _, err = told("save", book)
    assert (status, "was not touched" in err) == (1, True)
    status, _, err = told("save", book, "--force", "--family", "wren")
    assert (status, "there is no such family; there are heron-6" in err) == (1, True)
    assert told("save", book, "--force", "--family", "heron-6", "--no-history")[0] == 0
    said = f"{book}: 0 new, 0 replaced, 0 kept as they were, 3 the same; 0 photos and 0 scans added\n"
    assert told("take", book) == (0, said, "")
    assert not list(tmp_path.glob(".book*"))


def test_where_records_differ_it_asks(told, shelf, tmp_path):
    book, changed = tmp_path / "book.zip", tmp_path / "changed.toml"
    told("save", book)
    before = SetRecord.objects.get().text
    changed.write_text(before.replace('"back off"', '"outside"'))
    import_files([changed])
    assert told("take", book) == (
        1,
        "",
        "set bench-1 is here already, with another text\n"
        "Nothing was taken in. Say --theirs to replace them, or --mine to keep them.\n",
    )
    assert "1 kept" in told("take", book, "--mine")[1]
    assert SetRecord.objects.get().text != before
    assert "1 replaced" in told("take", book, "--theirs")[1]
    assert SetRecord.objects.get().text == before


def test_a_file_that_is_no_casebook_is_told(told, tmp_path):
    wrong = tmp_path / "wrong.zip"
    wrong.write_bytes(b"PK")
    assert "wrong.zip: the file is not whole, or no zip file" in told("take", wrong)[2]
    assert "there is no such file" in told("take", tmp_path / "none.zip")[2]
    assert told("take", wrong, "--mine", "--theirs")[0] == 2


def test_a_folder_that_cannot_be_written_is_told(told, tmp_path):
    status, _, err = told("save", tmp_path / "nowhere" / "book.zip")
    assert status == 1
    assert "no such file or directory" in err
