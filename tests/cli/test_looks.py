"""`setwright looks`: a sheet to print."""

from __future__ import annotations

from dataclasses import replace

import pytest
from typer.testing import CliRunner

from setwright.cli import app
from setwright.cli.look_sheet_text import WIDTH, look_sheet_text
from setwright.files import read_family, read_set
from setwright.identity import identify
from setwright.identity.look_sheet import ALWAYS_BOXES, look_sheet

CAST = ("heron.toml", "bench.toml", "known.csv")


@pytest.fixture
def folder(tmp_path, texts):
    for kind, name in zip(("family", "set", "survivors"), CAST, strict=True):
        (tmp_path / name).write_text(texts[kind], encoding="utf-8")
    return tmp_path


def run(folder, *arguments):
    family, bench, known = (str(folder / name) for name in CAST)
    result = CliRunner().invoke(app, ["looks", family, bench, "--survivors", known, *map(str, arguments)])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.stdout, result.stderr


def test_every_look_has_its_boxes(folder):
    code, output, _ = run(folder)
    assert code == 0
    family = read_family(folder / "heron.toml").family
    for name in ("knobs", "output-rivets"):
        feature = family.feature(name)
        below = output.split(feature.label, 1)[1].split("Notes:", 1)[0]
        for state in feature.states:
            assert f"[ ] {state}" in below
        for box in ALWAYS_BOXES:
            assert f"[ ] {box}" in below
    assert "Tone control capacitor" not in output, "it was looked at and could not be told"


def test_cautions_stand_before_their_step_and_at_the_end(folder):
    _, output, _ = run(folder)
    outside, inside = output.split("WITH THE CHASSIS OUT", 1)
    assert "Pull the plug" not in outside
    before = inside.split("Rivets of the output transformer", 1)[0]
    assert "! Pull the plug" in before
    assert "! Local electrical codes, and licensed practice" in before
    assert output.rstrip().endswith("anything said here.")


def test_what_is_open_now_comes_first(folder):
    _, output, _ = run(folder)
    steps = [line for line in output.splitlines() if line[:1].isdigit()]
    assert steps == ["1. FROM OUTSIDE (open now)", "2. WITH THE CHASSIS OUT (about 25 minutes to open)"]


def test_the_sheet_fits_the_page(folder):
    _, output, _ = run(folder)
    assert max(map(len, output.splitlines())) <= WIDTH


def test_it_goes_into_a_file_that_is_not_overwritten(folder):
    path = folder / "sheet.txt"
    code, output, _ = run(folder, "--out", path)
    assert (code, output) == (0, f"{path} is written.\n")
    _, printed, _ = run(folder)
    assert path.read_text(encoding="utf-8") == printed
    path.write_text("mine", encoding="utf-8")
    code, _, errors = run(folder, "--out", path)
    assert code == 1
    assert "exists already and was not touched" in errors
    assert path.read_text(encoding="utf-8") == "mine"
    assert run(folder, "--out", path, "--force")[0] == 0
    assert path.read_text(encoding="utf-8") == printed


def test_a_numeric_feature_asks_for_another_value_and_long_names_are_broken(folder):
    family = read_family(folder / "heron.toml").family
    bench = replace(read_set(folder / "bench.toml", family).set, observations=())
    long = replace(
        family, features=tuple(replace(f, label=f"{f.label} with a very long name " * 3) for f in family.features)
    )
    answer = identify(family, bench)
    text = look_sheet_text(long, bench, look_sheet(long, bench, answer))
    assert "[ ] another value: ____" in text
    assert "[ ] 0.0047 uF" in text
    assert max(map(len, text.splitlines())) <= WIDTH


def test_nothing_left_to_see_opens_nothing(told, full_answer, monkeypatch):
    nothing = replace(full_answer, next=(), batches=())
    monkeypatch.setattr("setwright.identity.identify", lambda *values, **options: nothing)
    code, output, _ = told("looks")
    assert code == 0
    assert "No look that is left would tell much; nothing need be opened." in output
    assert "[ ]" not in output
