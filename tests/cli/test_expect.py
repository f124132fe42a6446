"""`setwright expect`: people's chart, JSON by its schema, readings, sets, and wrong use."""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path

import jsonschema
import pytest
from typer.testing import CliRunner

from setwright.cli import app
from setwright.demo import generate
from setwright.files import schema

THIMBLE = files("setwright.demo").joinpath("thimble")


def run(*words: object):
    return CliRunner().invoke(app, ["expect", *map(str, words)])


@pytest.fixture
def circuit(tmp_path: Path) -> Path:
    path = tmp_path / "thimble.toml"
    path.write_bytes(THIMBLE.joinpath("circuit.toml").read_bytes())
    return path


def test_people_get_cautions_before_figures(circuit: Path) -> None:
    result = run(circuit, "--meter", "20k/V")
    assert result.exit_code == 0, result.output
    assert result.output.index("Line-connected") < result.output.index("expected")
    assert "from memory" in result.output
    assert "V4 cathode" in result.output
    assert all(len(line) <= 100 for line in result.output.splitlines())


@pytest.mark.parametrize("more", [(), ("--off",), ("--meter", "10M"), ("--line-volts", "60")])
def test_json_is_as_its_schema_has_it(circuit: Path, more: tuple[str, ...]) -> None:
    result = run(circuit, "--json", *more)
    assert result.exit_code == 0, result.output
    data = json.loads(result.output)
    jsonschema.validate(data, schema("expect-answer"))
    points = {p["point"]: p for p in data["points"]}
    assert ("line" in points) == ("--off" in more)
    assert "B-" not in points
    if "--off" in more:
        assert points["B+"]["value"] is None
        assert points["V4.cathode"]["value"] == pytest.approx(150.0)


def test_readings_are_marked_without_colour(circuit: Path, tmp_path: Path) -> None:
    chart = tmp_path / "chart.csv"
    chart.write_bytes(THIMBLE.joinpath("chart.csv").read_bytes())
    result = run(circuit, "--readings", chart)
    assert result.exit_code == 0, result.output
    assert " ok " in result.output
    assert "!!" in result.output
    assert "misprint" in result.output
    data = json.loads(run(circuit, "--readings", chart, "--json").output)
    jsonschema.validate(data, schema("expect-answer"))
    assert sum(row["misfit"] for row in data["readings"]) == 1


def test_a_sets_own_parts_are_computed_with(circuit: Path, tmp_path: Path) -> None:
    family = generate(1951).families[1]
    for name, text in family.files.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    result = run(
        circuit, "--family", tmp_path / "thimble-5.family.toml", "--set", tmp_path / "thimble-bench.set.toml", "--json"
    )
    assert result.exit_code == 0, result.output
    warnings = json.loads(result.output)["warnings"]
    assert any("C9 is .01 mfd (seen)" in w for w in warnings)


def test_wrong_use_is_told(circuit: Path) -> None:
    assert run(circuit, "--set", "x.toml").exit_code == 2
    assert run(circuit, "--meter", "good").exit_code == 2
    assert run(circuit, "--line-volts", "-5").exit_code == 2
    missing = run("nothing.toml")
    assert missing.exit_code == 1
    assert "no such file" in missing.output
