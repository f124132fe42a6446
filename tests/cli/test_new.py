"""`setwright new`: starter files on the command line."""

import pytest
from typer.testing import CliRunner

from setwright.cli import app
from setwright.files import read_family, read_set

run = CliRunner().invoke


def test_the_family_starter_is_printed_or_written(tmp_path):
    printed = run(app, ["new", "family"])
    assert printed.exit_code == 0
    path = tmp_path / "family.toml"
    written = run(app, ["new", "family", "-o", str(path)])
    assert written.exit_code == 0
    assert f"setwright check {path}" in written.stdout
    assert path.read_text(encoding="utf-8") == printed.stdout
    assert read_family(path).family.features


def test_a_set_for_a_family_lists_its_features(tmp_path):
    family = tmp_path / "family.toml"
    run(app, ["new", "family", "-o", str(family)])
    result = run(app, ["new", "set", "--family", str(family)])
    assert result.exit_code == 0
    for feature in read_family(family).family.features:
        assert f'feature = "{feature.id}"' in result.stdout
    assert read_set(result.stdout.encode(), read_family(family).family).set.observations == ()


def test_a_set_without_a_family_goes_with_the_family_starter(tmp_path):
    family = read_family(run(app, ["new", "family"]).stdout.encode()).family
    assert read_set(run(app, ["new", "set"]).stdout.encode(), family).set.observations


def test_a_file_is_not_overwritten_unless_forced(tmp_path):
    path = tmp_path / "family.toml"
    path.write_text("mine")
    refused = run(app, ["new", "family", "-o", str(path)])
    assert refused.exit_code == 1
    assert "exists already and was not touched" in refused.stderr
    assert path.read_text() == "mine"
    assert run(app, ["new", "family", "-o", str(path), "--force"]).exit_code == 0
    assert path.read_text() != "mine"


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["new", "family", "--family", "x.toml"], "goes only with"),
        (["new", "chassis"], "'family', 'set'"),
        (["new"], "Missing argument"),
    ],
)
def test_wrong_use_is_status_2(arguments, words):
    result = run(app, arguments)
    assert result.exit_code == 2
    assert words in result.stderr


def test_a_family_with_a_mistake_gives_its_problems(tmp_path):
    path = tmp_path / "family.toml"
    path.write_text('format = "setwright-family/1"\n')
    result = run(app, ["new", "set", "--family", str(path), "-o", str(tmp_path / "set.toml")])
    assert result.exit_code == 1
    assert "the key id is missing" in result.stderr
    assert not (tmp_path / "set.toml").exists()
