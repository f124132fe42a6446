"""`--also`: survivors of other families teach the rates of alteration too."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from setwright.cli import app
from setwright.cli.other_families import Pair, pairs_of
from setwright.files import answer_as_json, read_family, read_set, read_survivors
from setwright.identity import identify, rates_of

PAIR = "plover.toml,plover.csv"


@pytest.fixture
def folder(tmp_path, texts, plover_texts, monkeypatch):
    names = {"heron.toml": texts["family"], "bench.toml": texts["set"], "known.csv": texts["survivors"]}
    names |= {"plover.toml": plover_texts["family"], "plover.csv": plover_texts["survivors"]}
    for name, text in names.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(*arguments, command="identify", survivors=True):
    known = ["--survivors", "known.csv"] if survivors else []
    runner = CliRunner(env={"COLUMNS": "100", "NO_COLOR": "1"})
    result = runner.invoke(app, [command, "heron.toml", "bench.toml", *known, *arguments])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.stdout, " ".join(result.stderr.split())


def read(folder):
    heron, plover = (read_family(folder / name).family for name in ("heron.toml", "plover.toml"))
    bench = read_set(folder / "bench.toml", heron).set
    return heron, bench, plover


@pytest.mark.parametrize("learned", [False, True])
def test_what_the_other_family_teaches_reaches_the_answer(folder, learned):
    heron, bench, plover = read(folder)
    known = read_survivors(folder / "known.csv", heron, bench=bench).survivors
    other = rates_of(plover, read_survivors(folder / "plover.csv", plover).survivors, seed=3)
    expected = identify(heron, bench, known, seed=3, draws=300, learned=learned, other_families=[other])
    options = ["--seed", "3", "--draws", "300", "--json", *(["--learned"] if learned else [])]
    code, output, _ = run("--also", PAIR, *options)
    assert code == 0
    told = json.loads(output)
    assert told["learned"] == answer_as_json(expected)["learned"]
    assert told["verdict"] == answer_as_json(expected)["verdict"]
    assert told["method"]["learned_rates"] is learned
    assert told["learned"] != json.loads(run(*options)[1])["learned"]


def test_the_report_names_who_took_part(folder):
    code, output, _ = run("--also", PAIR, "--learned", "--draws", "300")
    assert code == 0
    rates = output.split("Alteration rates learnt from survivors (used)")[1].split("\n\n")[0]
    assert "Survivors of other families took part: Plover 5 table radio." in rates


@pytest.mark.parametrize("command", ["looks", "sisters", "ask"])
def test_the_other_commands_take_it_as_well(folder, command):
    code, output, _ = run("--also", PAIR, "--learned", "--draws", "200", command=command)
    assert code == 0
    assert output


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--also", "plover.toml"], "'plover.toml' is not a pair of files"),
        (["--also", ",plover.csv"], "',plover.csv' is not a pair of files"),
        (["--also", "a.toml,b.csv,c.csv"], "'a.toml,b.csv,c.csv' is not a pair of files"),
        (["--also", "plover.csv,plover.toml"], "the family file comes first: plover.toml,plover.csv"),
        (["--also", "heron.toml,known.csv"], "heron-6 is the family of the set itself"),
        (["--also", PAIR, "--also", PAIR], "the family plover-5 is named twice"),
        (["--also", PAIR, "--exact"], "with --exact nothing is learnt"),
    ],
)
def test_a_bad_pair_is_wrong_use(folder, arguments, words):
    code, output, errors = run(*arguments)
    assert (code, output) == (2, "")
    assert "--also" in errors
    assert words in errors


def test_it_needs_survivors_of_the_family_itself(folder):
    code, _, errors = run("--also", PAIR, survivors=False)
    assert code == 2
    assert "name them with --survivors" in errors


def test_problems_of_all_files_come_together(folder):
    (folder / "known.csv").write_text("id,seriel\na,1\n", encoding="utf-8")
    (folder / "plover.csv").write_text("id,serail\nb,1\n", encoding="utf-8")
    code, output, errors = run("--also", PAIR, "--also", "none.toml,none.csv")
    assert (code, output) == (1, "")
    for words in ('the column "seriel"', 'the column "serail"', "none.toml: there is no such file"):
        assert words in errors


def test_a_family_that_teaches_nothing_is_told(folder):
    (folder / "plover.csv").write_text("id,serial,detector\n", encoding="utf-8")
    code, output, errors = run("--also", PAIR)
    assert (code, output) == (1, "")
    assert errors == "Plover 5 table radio teaches nothing about rates of alteration: it has no survivors."


def test_names_of_files_may_hold_commas(folder):
    (folder / "plover, 5.csv").write_text((folder / "plover.csv").read_text(encoding="utf-8"), encoding="utf-8")
    (pair,) = pairs_of(["plover.toml,plover, 5.csv"])
    assert pair == Pair(Path("plover.toml"), Path("plover, 5.csv"))
    with pytest.raises(typer.BadParameter):
        pairs_of(["plover.toml,there, is none.csv"])


def test_rates_that_could_not_be_learnt_are_noted(folder):
    code, output, _ = run("--learned", "--exact")
    assert code == 0
    assert "No rate of alteration could be learnt, so the usual ones were used" in " ".join(output.split())


def test_the_help_says_what_exact_still_draws():
    words = " ".join(CliRunner(env={"COLUMNS": "200"}).invoke(app, ["identify", "--help"]).stdout.split())
    assert "Survivors count item by item" in words
    assert "histories are still drawn for features no document mentions" in words
    assert "Draw nothing" not in words
