"""The second cast in a folder, with an answer in which every part has something to say."""

from __future__ import annotations

import pytest
from typer.testing import CliRunner

from setwright.cli import app


@pytest.fixture
def plover_folder(tmp_path, plover_texts):
    for kind, name in (("family", "plover.toml"), ("set", "bench.toml"), ("survivors", "known.csv")):
        (tmp_path / name).write_text(plover_texts[kind], encoding="utf-8")
    return tmp_path


@pytest.fixture
def told(plover_folder, full_answer, monkeypatch):
    """Runs a command on the second cast and gives exit status, stdout, stderr; `told.options` are what it asked for."""
    monkeypatch.setattr(
        "setwright.identity.identify", lambda *values, **options: told_options(run, options, full_answer)
    )

    def run(command, *arguments, survivors=True, columns=80):
        files = [str(plover_folder / "plover.toml"), str(plover_folder / "bench.toml")]
        known = ["--survivors", str(plover_folder / "known.csv")] if survivors else []
        runner = CliRunner(env={"COLUMNS": str(columns), "NO_COLOR": "1"})
        result = runner.invoke(app, [command, *files, *known, *map(str, arguments)])
        assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
        return result.exit_code, result.stdout, result.stderr

    return run


def told_options(run, options, answer):
    run.options = options
    return answer
