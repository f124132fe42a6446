"""`setwright compare`: from parts lists to a family file on the command line."""

import pytest
from typer.testing import CliRunner

from setwright.cli import app
from setwright.files import read_family

run = CliRunner().invoke

EARLY = "C12 .05 mfd 400 V\nR7 470K 1/2 watt\nV3 6SB7Y converter\nR9 1 k\nsee page 4\n"
LATE = """\
Ref,Value,Description
C12,20 nF 400 V,
R7,"470,000 ohms ½ W",
V3,,6BE6 converter
C13,500 mmf,mica
R9,1 k,
"""


@pytest.fixture
def files(tmp_path):
    (tmp_path / "early.txt").write_text(EARLY, encoding="utf-8")
    (tmp_path / "late.csv").write_text(LATE, encoding="utf-8")
    return [str(tmp_path / "early.txt"), str(tmp_path / "late.csv")]


def test_a_family_is_printed_and_the_report_kept_apart(files):
    result = run(app, ["compare", *files])
    assert result.exit_code == 0
    family = read_family(result.stdout.encode()).family
    assert [feature.id for feature in family.features] == ["c12", "v3", "c13"]
    assert [version.id for version in family.versions] == ["early", "late"]
    assert 'line 5: not understood: "see page 4"' in result.stderr
    assert "5 references; 2 the same in all lists; 3 features proposed." in result.stderr


def test_a_family_is_written_with_its_name_and_labels(files, tmp_path):
    path = tmp_path / "heron-7.toml"
    arguments = ["compare", *files, "-o", str(path), "--label", "First printing", "--label", "Second printing"]
    result = run(app, [*arguments, "--name", "Heron 7", "--kind", "test gear"])
    assert result.exit_code == 0
    family = read_family(path).family
    assert (family.id, family.name, family.kind) == ("heron-7", "Heron 7", "test gear")
    assert [version.label for version in family.versions] == ["First printing", "Second printing"]
    assert "First printing" in result.stdout
    assert "feature c12" in result.stdout
    again = run(app, arguments)
    assert again.exit_code == 1
    assert "exists already" in again.stderr


def test_a_family_is_extended_in_place(files, tmp_path):
    path = tmp_path / "family.toml"
    run(app, ["compare", *files, "-o", str(path)])
    path.write_text("# mine\n" + path.read_text(encoding="utf-8"), encoding="utf-8")
    (tmp_path / "export.txt").write_text(EARLY.replace("6SB7Y", "12BE6"), encoding="utf-8")
    result = run(app, ["compare", files[1], str(tmp_path / "export.txt"), "--into", str(path)])
    assert result.exit_code == 0
    family = read_family(path).family
    assert [feature.id for feature in family.features] == ["c12", "v3", "c13"]
    assert family.feature("v3").states == ("6SB7Y", "6BE6", "12BE6")
    assert family.versions[-1].id == "export"
    assert path.read_text(encoding="utf-8").startswith("# mine\n")


def test_one_list_may_come_from_standard_input(files):
    result = run(app, ["compare", "-", files[1]], input=EARLY)
    assert result.exit_code == 0
    assert read_family(result.stdout.encode()).family.versions[0].label == "standard input"


def test_lists_without_a_difference_make_no_file(files, tmp_path):
    result = run(app, ["compare", files[0], files[0], "--label", "A", "--label", "B", "-o", str(tmp_path / "new.toml")])
    assert result.exit_code == 0
    assert "no family file was made" in result.stdout
    assert not (tmp_path / "new.toml").exists()


def test_m_means_thousand_on_old_lists(tmp_path):
    (tmp_path / "a.txt").write_text("R1 470M\nR2 1 meg\n")
    (tmp_path / "b.txt").write_text("R1 220M\nR2 1 meg\n")
    files = [str(tmp_path / "a.txt"), str(tmp_path / "b.txt")]
    refused = run(app, ["compare", *files])
    assert "470,000 ohms, because on old drawings M means thousand" in refused.stderr
    result = run(app, ["compare", *files, "--m-means-thousand"])
    assert read_family(result.stdout.encode()).family.feature("r1").values == (470e3, 220e3)


def test_a_bulletin_lists_only_changes(tmp_path, files):
    (tmp_path / "bulletin.txt").write_text("R9 2.2 k\n")
    result = run(app, ["compare", *files, str(tmp_path / "bulletin.txt"), "--changes-only", "bulletin"])
    assert result.exit_code == 0
    last = read_family(result.stdout.encode()).family.versions[-1]
    assert (last.based_on, last.states["c12"], last.states["r9"]) == ("late", "20 nF", "2.2 k")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["FIRST"], "two or more are needed"),
        (["FIRST", "SECOND", "--label", "A"], "1 given for 2 lists"),
        (["FIRST", "SECOND", "--label", "A", "--label", "a"], "a label of its own"),
        (["FIRST", "SECOND", "--line", "export"], "only with --into"),
        (["FIRST", "SECOND", "--into", "x.toml", "-o", "y.toml"], "not together"),
        (["FIRST", "SECOND", "--changes-only", "third"], "there is no list"),
        (["FIRST", "SECOND", "--changes-only", "early"], "none before it"),
        (["-", "-"], "standard input"),
        (["FIRST", "SECOND", "--kind", "boat"], "'television'"),
    ],
)
def test_wrong_use_is_status_2(files, arguments, words):
    named = [{"FIRST": files[0], "SECOND": files[1]}.get(argument, argument) for argument in arguments]
    result = run(app, ["compare", *named])
    assert result.exit_code == 2
    assert words in " ".join(result.stderr.replace("│", " ").split())


def test_all_unreadable_lists_are_named_at_once(files, tmp_path):
    (tmp_path / "empty.txt").write_text("")
    result = run(app, ["compare", str(tmp_path / "empty.txt"), files[0], str(tmp_path / "missing.txt")])
    assert result.exit_code == 1
    assert "empty.txt: no part was found" in result.stderr
    assert "missing.txt: there is no such file" in result.stderr


def test_a_family_with_a_mistake_is_not_touched(files, tmp_path):
    path = tmp_path / "family.toml"
    path.write_text('format = "setwright-family/1"\nid = "x"\n')
    result = run(app, ["compare", *files, "--into", str(path)])
    assert result.exit_code == 1
    assert "the key name is missing" in result.stderr
    assert path.read_text() == 'format = "setwright-family/1"\nid = "x"\n'
