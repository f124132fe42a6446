"""`setwright check`: what a file holds, or everything that is wrong with it."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime
from importlib.resources import files

import pytest
import typer
from typer.testing import CliRunner

from setwright.cli.check import check
from setwright.files.casebook import CasebookWriter

app = typer.Typer(rich_markup_mode=None)
app.command()(check)


@pytest.fixture
def folder(tmp_path, texts):
    for kind, name in (("family", "heron.toml"), ("set", "bench.toml"), ("survivors", "known.csv")):
        (tmp_path / name).write_text(texts[kind], encoding="utf-8")
    return tmp_path


def run(*arguments):
    result = CliRunner().invoke(app, [str(argument) for argument in arguments])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.output


def test_sound_files_tell_what_they_hold(folder):
    code, output = run(folder / "heron.toml", folder / "bench.toml", folder / "known.csv")
    assert code == 0
    family, bench, known = output.splitlines()
    assert "heron.toml: fine. Family heron-6, Heron 6 table radio: 6 features, 4 versions in 2 lines" in family
    assert "bench.toml: fine. Set bench-1 of family heron-6, serial H 2?50: 4 features looked at." in bench
    assert "known.csv: fine. 8 survivors of family heron-6, 7 with a full serial and line;" in known


@pytest.mark.parametrize("name", ["bench.toml", "known.csv"])
def test_the_family_is_found_beside_the_file(folder, name):
    assert run(folder / name)[0] == 0


@pytest.mark.parametrize("name", ["bench.toml", "known.csv"])
def test_the_family_is_named(folder, tmp_path_factory, name):
    alone = tmp_path_factory.mktemp("alone")
    shutil.move(folder / name, alone / name)
    code, output = run(alone / name)
    assert code == 1
    assert "name the family file with --family FAMILY.toml" in output
    assert run(alone / name, "--family", folder / "heron.toml")[0] == 0
    assert run(folder / "heron.toml", alone / name)[0] == 0


def test_a_set_takes_the_family_of_its_id_among_several(folder, texts):
    (folder / "other.toml").write_text(texts["family"].replace('"heron-6"', '"heron-7"'), encoding="utf-8")
    assert run(folder / "bench.toml")[0] == 0
    assert run(folder / "heron.toml", folder / "other.toml", folder / "bench.toml")[0] == 0
    code, output = run(folder / "known.csv")
    assert code == 1
    assert "its family is needed" in output


def test_all_problems_of_all_files(folder, texts):
    (folder / "bench.toml").write_text(
        texts["set"].replace("6BE6", "6BE-6").replace("likely", "sure"), encoding="utf-8"
    )
    (folder / "known.csv").write_text("id,seriel\na,1\na,2\n", encoding="utf-8")
    code, output = run(folder / "bench.toml", folder / "heron.toml", folder / "known.csv")
    assert code == 1
    lines = output.splitlines()
    assert lines[0].endswith("bench.toml: 2 problems.")
    assert lines[1].startswith(
        '  line 13, observation 2 (feature "converter"), key state: "6BE-6" is not a listed state'
    )
    assert lines[2].startswith('  line 14, observation 2 (feature "converter"), key sure: must be certain')
    assert "heron.toml: fine." in lines[3]
    assert lines[4].endswith("known.csv: 2 problems.")


def test_what_depends_on_an_unsound_family_says_so(folder, texts):
    (folder / "heron.toml").write_text(texts["family"].replace('kind = "radio"', ""), encoding="utf-8")
    code, output = run(folder / "heron.toml", folder / "bench.toml")
    assert code == 1
    assert "the key kind is missing" in output
    assert "cannot be checked before its family file" in output


def test_notes_about_a_sound_register(folder):
    (folder / "plain.csv").write_bytes("id,note\na,Fl\u00fcgel\n".encode("latin-1"))
    code, output = run(folder / "plain.csv")
    assert code == 0
    assert "  Note: The file is not UTF-8 and was read as Windows-1252." in output


@pytest.mark.parametrize(
    ("name", "content", "expected"),
    [
        ("none.toml", None, "there is no such file"),
        (
            "five-tube.toml",
            'format = "setwright-answer/1"\n',
            'its format is "setwright-answer/1"; checked are families',
        ),
        ("readings.csv", "point,reference,quantity,value,unit,meter,condition\n", "its circuit is needed"),
        ("casebook.zip", "PK\x03\x04 and no more", "casebook.zip: 1 problem"),
        ("notes.txt", "just words\n", "the file is none of ours; checked are families"),
        ("empty.toml", "", 'begin the file with format = "setwright-family/1"'),
        ("broken.toml", 'format = "setwright-set/1"\nid = "x\n', "line 2, column 8: not valid TOML"),
    ],
)
def test_what_is_none_of_our_files(folder, name, content, expected):
    if content is not None:
        (folder / name).write_text(content, encoding="utf-8")
    code, output = run(folder / name, "--family", folder / "heron.toml")
    assert code == 1
    assert expected in output


def test_a_table_is_known_by_its_column_id_whatever_its_name(folder):
    (folder / "register.txt").write_text("sep=;\nid;serial\na;H 12\n", encoding="utf-8")
    assert run(folder / "register.txt")[0] == 0


def test_a_family_that_tells_nothing_yet_says_so(folder):
    bare = 'format = "setwright-family/1"\nid = "bare"\nname = "Bare"\nkind = "radio"\n'
    (folder / "bare.toml").write_text(bare, encoding="utf-8")
    code, output = run(folder / "bare.toml")
    assert code == 0
    assert "Note: it has no feature yet" in output
    assert "Note: it has no version yet" in output


def test_wrong_use():
    assert run()[0] == 2


def test_survivors_take_the_family_of_their_file_s_name_among_several(folder, texts):
    (folder / "other.toml").write_text(texts["family"].replace('"heron-6"', '"heron-7"'), encoding="utf-8")
    shutil.move(folder / "known.csv", folder / "heron-6.survivors.csv")
    code, output = run(folder / "heron.toml", folder / "other.toml", folder / "heron-6.survivors.csv")
    assert code == 0, output
    assert "survivors of family heron-6" in output


DEMO = files("setwright.demo")
CIRCUIT = """format = "setwright-circuit/1"
id = "heron"
family = "heron-6"
ground = "gnd"
[[part]]
ref = "B1"
kind = "source"
volts = 90.0
nodes = ["B+", "gnd"]
[[part]]
ref = "R1"
kind = "resistor"
value = "10k"
nodes = ["B+", "gnd"]
"""
CHART = "point,quantity,value,unit\nB+,volts,90,V\n"


@pytest.mark.parametrize("name", ["sedgewater", "thimble", "lanternmoor"])
def test_the_demonstration_s_circuits_and_charts(name, tmp_path):
    for file in ("family.toml", "circuit.toml", "chart.csv"):
        (tmp_path / file).write_text((DEMO / name / file).read_text(encoding="utf-8"), encoding="utf-8")
    code, output = run(tmp_path / "circuit.toml", tmp_path / "chart.csv")
    assert code == 0, output
    circuit, chart = output.splitlines()
    assert "circuit.toml: fine. Circuit " in circuit
    assert " parts, " in circuit
    assert "chart.csv: fine. " in chart
    assert " readings at " in chart


def test_a_circuit_without_its_family_says_what_was_not_checked(tmp_path):
    (tmp_path / "circuit.toml").write_text(CIRCUIT, encoding="utf-8")
    code, output = run(tmp_path / "circuit.toml")
    assert code == 0
    assert 'Note: its family "heron-6" is not at hand; the features' in output


def test_a_circuit_is_checked_against_the_family_beside_it(folder):
    named = CIRCUIT.replace("[[part]]", '[[part]]\nfeature = "no-such"', 1)
    (folder / "circuit.toml").write_text(named, encoding="utf-8")
    code, output = run(folder / "circuit.toml")
    assert code == 1
    assert "no-such" in output


def test_readings_take_the_circuit_beside_them_or_the_one_named(tmp_path):
    circuit, chart = tmp_path / "circuit.toml", tmp_path / "bench" / "chart.csv"
    chart.parent.mkdir()
    circuit.write_text(CIRCUIT, encoding="utf-8")
    chart.write_text(CHART, encoding="utf-8")
    code, output = run(chart)
    assert code == 1
    assert "name the circuit file with --circuit CIRCUIT.toml" in output
    code, output = run(chart, "--circuit", circuit)
    assert code == 0
    assert "chart.csv: fine. 1 reading at 1 point of circuit heron." in output
    chart.write_text(CHART.replace("B+,", "B++,"), encoding="utf-8")
    code, output = run(chart, circuit)
    assert code == 1
    assert "row 2" in output
    circuit.write_text(CIRCUIT.replace("10k", "-10k"), encoding="utf-8")
    code, output = run(chart, "--circuit", circuit)
    assert code == 1
    assert "cannot be checked before its circuit file" in output


def test_literature(tmp_path):
    entry = 'format = "setwright-literature/1"\nid = "leaf"\ntitle = "A leaf"\nkind = "bulletin"\n'
    (tmp_path / "leaf.toml").write_text(entry, encoding="utf-8")
    code, output = run(tmp_path / "leaf.toml")
    assert code == 0
    assert "leaf.toml: fine. Literature leaf, A leaf: bulletin." in output


def test_a_casebook_is_verified_whole(tmp_path, texts):
    path = tmp_path / "book.zip"
    with path.open("wb") as stream:
        writer = CasebookWriter(stream, datetime(2026, 3, 1, 12, 0, tzinfo=UTC))
        writer.add("families/heron-6.toml", texts["family"])
        writer.note_missing("photos/gone.jpg")
        writer.finish()
    code, output = run(path)
    assert code == 0, output
    assert "book.zip: fine. Casebook made at 2026-03-01 12:00 UTC, all sums right: 1 family, 0 registers" in output
    assert "Note: photos/gone.jpg was not to be had when it was made." in output
    path.write_bytes(path.read_bytes()[:-30])
    code, output = run(path)
    assert code == 1
    assert "book.zip: 1 problem" in output
