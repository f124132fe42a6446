"""`setwright date`: the answer for people, as JSON, as a table; what goes wrong in plain words."""

from __future__ import annotations

import csv
import io
import json

import jsonschema
import pytest
from typer.testing import CliRunner

from setwright.cli import app
from setwright.demo import generate, write
from setwright.files import schema


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("demo")
    write(generate(1951), made)
    return made


def run(folder, name, *arguments, family="thimble-5", survivors=True):
    known = ["--survivors", str(folder / f"{family}.survivors.csv")] if survivors else []
    files = [str(folder / f"{family}.family.toml"), str(folder / f"{name}.set.toml")]
    result = CliRunner(env={"COLUMNS": "80", "NO_COLOR": "1"}).invoke(app, ["date", *files, *known, *arguments])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.stdout, result.stderr


def test_every_part_is_told(folder):
    code, output, _ = run(folder, "thimble-bench")
    assert code == 0
    assert "thimble-bench, serial 10343" in " ".join(output.split())
    for words in ("Finished about", "90 % range", "How many were made", "What would narrow the date most"):
        assert words in output
    assert max(map(len, output.splitlines())) <= 80


def test_the_check_and_the_cut_ins_are_told_when_asked_for(folder):
    _, output, _ = run(folder, "sedgewater-swapped", "--check", "--cut-ins", family="sedgewater-11")
    assert "stamped survivors dated from the others" in " ".join(output.split())
    assert "When each change came in" in output
    assert "export line" not in output.split("When each change came in")[1].split("How far")[0]
    _, output, _ = run(folder, "thimble-bench", "--check", survivors=False)
    assert "it cannot be tried out" in " ".join(output.split())


def test_json_keeps_to_its_schema(folder):
    code, output, _ = run(folder, "thimble-bench", "--json", "--check")
    made = json.loads(output)
    jsonschema.validate(made, schema("date-answer"))
    assert (code, made["set"]) == (0, "thimble-bench")


def test_the_table_is_csv(folder):
    code, output, _ = run(folder, "thimble-bench", "--csv")
    rows = list(csv.DictReader(io.StringIO(output)))
    assert code == 0
    assert rows[0]["what"] == "date"
    assert rows[0]["low"] < rows[0]["median"] < rows[0]["high"]
    assert {row["what"] for row in rows} >= {"date", "half", "made"}


def test_what_is_wrong_is_told_plainly(folder, tmp_path):
    code, _, errors = run(folder, "thimble-bench", "--json", "--csv")
    assert code == 2
    assert "not both" in errors
    code, _, errors = run(folder, "thimble-bench", "--level", "2")
    assert code == 2
    for name in ("thimble-5.family.toml", "thimble-bench.set.toml"):
        text = (folder / name).read_text(encoding="utf-8").split("[[date_evidence]]")[0]
        lines = [line for line in text.splitlines() if not line.startswith(("introduced", "discontinued"))]
        (tmp_path / name).write_text("\n".join(lines), encoding="utf-8")
    code, output, errors = run(tmp_path, "thimble-bench", survivors=False)
    assert (code, output) == (1, "")
    assert errors.startswith("nothing can be dated")
