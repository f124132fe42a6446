"""`setwright identify`: the answer for people, and the same answer as JSON."""

from __future__ import annotations

import json

import jsonschema
import pytest
from typer.testing import CliRunner

from setwright.cli import app
from setwright.cli.answering import answer_for
from setwright.cli.identity_words import likeness, percent, weight_words
from setwright.files import answer_as_json, read_family, schema
from setwright.identity import Assumptions, identify

FIRST_DAY = 'format = "setwright-set/1"\nid = "new"\nfamily = "heron-6"\n'


@pytest.fixture
def folder(tmp_path, texts):
    for kind, name in (("family", "heron.toml"), ("set", "bench.toml"), ("survivors", "known.csv")):
        (tmp_path / name).write_text(texts[kind], encoding="utf-8")
    (tmp_path / "new.toml").write_text(FIRST_DAY, encoding="utf-8")
    return tmp_path


def run(folder, *arguments, columns=80):
    files = [str(folder / a) if "." in a and not a.replace(".", "").isdigit() else a for a in arguments]
    result = CliRunner(env={"COLUMNS": str(columns), "NO_COLOR": "1"}).invoke(app, ["identify", *files])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.stdout, result.stderr


def sections(output):
    """The report's text under each of its headings."""
    found, name = {"": ""}, ""
    for before, line in zip(["", *output.splitlines()], output.splitlines(), strict=False):
        if not before.strip() and line and not line.startswith(" "):
            name = line.strip()
            found[name] = ""
        else:
            found[name] += line + "\n"
    return found


def test_every_part_is_told(folder):
    code, output, _ = run(folder, "heron.toml", "bench.toml", "--survivors", "known.csv")
    assert code == 0
    parts = sections(output)
    assert list(parts)[2:] == [
        "Verdict",
        next(name for name in parts if name.startswith("What each observation says of: ")),
        "Altered or misread?",
        next(name for name in parts if name.startswith("Changes in production of the ")),
        "The set as a whole",
        "Not seen: what the factory probably built",
        "Sets most like this one",
        "What to look at next",
        "What to ask the owners of other sets",
        "Alteration rates learnt from survivors (not used; --learned uses them)",
        "How this was computed",
    ]
    assert "█" in parts["Verdict"]


def test_the_report_says_what_the_answer_holds(folder):
    case = answer_for(folder / "heron.toml", folder / "bench.toml", folder / "known.csv")
    family, bench, answer = case.family, case.bench, case.answer
    _, output, _ = run(folder, "heron.toml", "bench.toml", "--survivors", "known.csv")
    parts = sections(output)
    words = " ".join(output.split())
    assert f"{family.name}: set {bench.id}, serial H 2?50" in output
    for sentence in (*answer.explanations, *answer.warnings):
        assert " ".join(sentence.split()) in words
    for entry in answer.verdict:
        if entry.probability >= 0.01:
            assert percent(entry.probability) in parts["Verdict"]
    for item in answer.observations:
        assert family.feature(item.feature).label in words
    whole = parts["The set as a whole"]
    for condition, probability in answer.condition.items():
        assert f"{condition}" in whole
        assert percent(probability) in whole
    assert percent(answer.misfit_p_value) in " ".join(whole.split())


def test_cautions_stand_at_their_step(folder):
    answer = answer_for(folder / "heron.toml", folder / "bench.toml", None).answer
    assert any(batch.cautions for batch in answer.batches)
    _, output, _ = run(folder, "heron.toml", "bench.toml")
    words = " ".join(sections(output)["What to look at next"].split())
    for number, batch in enumerate(answer.batches, 1):
        step = words.split(f"{number}. ", 1)[1].split(f" {number + 1}. ", 1)[0]
        for caution in batch.cautions:
            assert f"! {caution}" in step


@pytest.mark.parametrize("columns", [60, 80, 200])
def test_lines_keep_to_the_terminal(folder, columns):
    _, output, _ = run(folder, "heron.toml", "bench.toml", "--survivors", "known.csv", columns=columns)
    assert max(map(len, output.splitlines())) <= min(columns, 100)


@pytest.mark.parametrize("columns", [0, 5, 40])
def test_a_very_narrow_terminal_loses_no_column(folder, columns):
    code, output, _ = run(folder, "heron.toml", "bench.toml", columns=columns)
    assert code == 0
    assert max(map(len, output.splitlines())) <= 48
    looks = output.split("one look", 1)[1]
    answer = answer_for(folder / "heron.toml", folder / "bench.toml", None).answer
    family = read_family(folder / "heron.toml").family
    assert family.feature(answer.next[0].feature).label.split()[0] in looks


def test_a_line_is_named_as_one_says_it(folder):
    _, output, _ = run(folder, "heron.toml", "bench.toml")
    assert "main line" in output
    assert "line main" not in output


def test_a_family_with_one_version_has_nothing_to_look_for(tmp_path):
    (tmp_path / "one.toml").write_text(
        'format = "setwright-family/1"\nid = "one"\nname = "One"\nkind = "radio"\n'
        '[[feature]]\nid = "stamp"\nlabel = "Stamp"\naccess = "outside"\npermanence = "stamped"\nstates = ["A", "B"]\n'
        '[[version]]\nid = "only"\nlabel = "Only"\nstates = { stamp = "A" }\n'
    )
    (tmp_path / "set.toml").write_text('format = "setwright-set/1"\nid = "s"\nfamily = "one"\n')
    code, output, _ = run(tmp_path, "one.toml", "set.toml")
    assert code == 0
    assert sections(output)["What to look at next"].strip() == "Nothing that is left to see would tell more."


def test_without_colour_there_are_no_escapes(folder):
    assert "\x1b" not in run(folder, "heron.toml", "bench.toml")[1]


def test_the_first_day(folder):
    code, output, _ = run(folder, "heron.toml", "new.toml")
    assert code == 0
    assert "Nothing has been seen yet." in output
    assert "Nothing is either with a probability of 20 % or more." in output


def test_json_is_the_contract_and_nothing_else(folder):
    code, output, _ = run(folder, "heron.toml", "bench.toml", "--survivors", "known.csv", "--json", "--seed", "7")
    assert code == 0
    data = json.loads(output)
    jsonschema.Draft202012Validator(schema("identity-answer")).validate(data)
    case = answer_for(folder / "heron.toml", folder / "bench.toml", folder / "known.csv", seed=7)
    family, bench, answer = case.family, case.bench, case.answer
    assert data == answer_as_json(answer)
    assert data["method"]["seed"] == 7
    assert (data["family"], data["set"]) == (family.id, bench.id)


def test_level_and_seed_reach_the_computation(folder):
    case = answer_for(folder / "heron.toml", folder / "bench.toml", None, seed=3, level=0.5)
    family, bench, answer = case.family, case.bench, case.answer
    direct = identify(family, bench, assumptions=Assumptions(level=0.5), seed=3)
    assert answer_as_json(answer) == answer_as_json(direct)
    _, output, _ = run(folder, "heron.toml", "bench.toml", "--level", "0.5", "--json")
    assert json.loads(output)["serial"]["level"] == 0.5


def test_the_registers_warnings_are_told(folder, texts):
    row = texts["survivors"].splitlines()[1].split(",")
    row[0] = "bench-1"
    (folder / "known.csv").write_text(texts["survivors"] + ",".join(row) + "\n", encoding="utf-8")
    _, output, _ = run(folder, "heron.toml", "bench.toml", "--survivors", "known.csv", "--json")
    assert any(warning.startswith('Left out: "bench-1"') for warning in json.loads(output)["warnings"])


def test_problems_of_set_and_survivors_come_together(folder, texts):
    (folder / "bench.toml").write_text(texts["set"].replace('"6BE6"', '"6BE-6"'), encoding="utf-8")
    (folder / "known.csv").write_text("id,seriel\na,1\n", encoding="utf-8")
    code, output, errors = run(folder, "heron.toml", "bench.toml", "--survivors", "known.csv")
    assert (code, output) == (1, "")
    one, other = errors.splitlines()
    assert "bench.toml, line 13, observation 2" in one
    assert 'known.csv, line 1, row 1, column 2: the column "seriel"' in other


def test_an_unsound_family_is_told_alone(folder, texts):
    (folder / "heron.toml").write_text(texts["family"].replace('kind = "radio"', ""), encoding="utf-8")
    code, output, errors = run(folder, "heron.toml", "bench.toml")
    assert (code, output, len(errors.splitlines())) == (1, "", 1)
    assert "the key kind is missing" in errors


def test_a_missing_file(folder):
    code, _, errors = run(folder, "heron.toml", "none.toml")
    assert code == 1
    assert "none.toml: there is no such file" in errors


@pytest.mark.parametrize(
    "arguments",
    [(), ("heron.toml",), ("heron.toml", "bench.toml", "--level", "1.5"), ("heron.toml", "bench.toml", "--seed", "-1")],
)
def test_wrong_use(folder, arguments):
    code, _, errors = run(folder, *arguments)
    assert code == 2
    assert "Error: " in errors


def test_figures_in_words():
    assert [percent(p) for p in (0.0994, 0.0996, 0.9949, 0.9951)] == ["9.9 %", "10 %", "99 %", "99.5 %"]
    assert weight_words(45.0) == "over 10,000 times as good"
    assert weight_words(-20.0) == "100 times as bad"
    assert "12 % look at least as odd" in likeness(0.12)
