"""The machine-readable identity answer keeps its contract."""

# A table of cases reads best with one case a line.

from __future__ import annotations

import json
from dataclasses import replace

import jsonschema
import pytest

from setwright.files import answer_as_json, read_set, read_survivors, schema
from setwright.identity import identify

OBSERVATIONS = """
[[observation]]
feature = "converter"
state = "6SB7Y"
[[observation]]
feature = "tone-capacitor"
state = ".05 mfd"
"""
SURVIVORS = "id,serial,converter\n" + "".join(
    f"s{i},{i * 900 + 1},{'6SB7Y' if i < 20 else '6BE6'}\n" for i in range(40)
)

# Written out from the format's page, not from the schema: the schema is checked against it too.
KEYS = {
    "": {
        "format", "family", "set", "verdict", "changes", "observations", "condition", "groups", "predicted", "next",
        "batches", "serial", "misfit", "learned", "explanations", "warnings", "method",
    },
    "verdict": {"label", "line", "version", "between", "probability", "applied", "states"},
    "changes": {"id", "feature", "from", "to", "line", "block", "cut_in", "applied_probability"},
    "observations": {"feature", "state", "decibans", "altered_probability", "misread_probability"},
    "predicted": {"feature", "states"},
    "next": {"feature", "bits", "minutes", "bits_per_minute", "access"},
    "batches": {"access", "features", "bits", "minutes", "bits_per_minute", "cautions"},
}  # fmt: skip
INTERVAL = {"low", "median", "high", "level"}


@pytest.fixture(scope="module")
def answer(family, set_text):
    bench = read_set((set_text + OBSERVATIONS).encode(), family).set
    return identify(family, bench, read_survivors(SURVIVORS.encode(), family).survivors)


def test_every_key_is_there(answer):
    data = answer_as_json(answer)
    assert set(data) == KEYS[""]
    for name in ("verdict", "changes", "observations", "predicted", "next", "batches"):
        assert data[name], f"the example must have {name}"
        for item in data[name]:
            assert set(item) == KEYS[name]
    assert data["format"] == "setwright-identity/1"
    assert set(data["condition"]) == {"untouched", "repaired", "heavily rebuilt"}
    assert set(data["serial"]) == set(data["changes"][0]["cut_in"]) == INTERVAL
    assert set(data["misfit"]) == {"p_value"}
    assert {"class", "draws", "effective_draws", "seed"} <= set(data["method"])
    assert data["groups"] == data["learned"] == []


def test_the_schema_knows_the_same_keys():
    shipped = schema("identity-answer")
    assert set(shipped["required"]) == KEYS[""]
    shapes = {
        "verdict": "VerdictShape",
        "changes": "ChangeShape",
        "observations": "ObservationAnswerShape",
        "predicted": "PredictedShape",
        "next": "LookShape",
        "batches": "BatchShape",
    }
    for name, shape in shapes.items():
        assert set(shipped["$defs"][shape]["required"]) == KEYS[name]


@pytest.mark.parametrize("drawing", [False, True])
def test_it_fits_the_schema_and_is_plain_json(answer, drawing):
    data = answer_as_json(answer, drawing=drawing)
    again = json.loads(json.dumps(data, allow_nan=False))
    assert again == data
    jsonschema.Draft202012Validator(schema("identity-answer")).validate(data)


def test_alternatives_sum_to_one(answer):
    data = answer_as_json(answer)
    assert sum(entry["probability"] for entry in data["verdict"]) == pytest.approx(1)
    assert sum(data["condition"].values()) == pytest.approx(1)
    for item in data["predicted"]:
        assert sum(item["states"].values()) == pytest.approx(1)


def test_a_picture_gets_cells_and_masses(answer):
    data = answer_as_json(answer, drawing=True)
    (axis,) = data["axes"]
    cells = len(axis["edges"]) - 1
    assert (axis["line"], axis["unit"]) == ("main", "serial")
    assert len(axis["position_mass"]) in (cells, cells + 1)
    for change in data["changes"]:
        assert sum(change["mass"]) == pytest.approx(1)


def test_ends_of_ranges_are_whole_serials(answer):
    data = answer_as_json(answer)
    for interval in (data["serial"], data["changes"][0]["cut_in"]):
        assert all(isinstance(interval[end], int) for end in ("low", "median", "high"))


def test_ends_of_ranges_are_parts_of_the_run_without_serials(family, set_text):
    bench = read_set(set_text.replace('serial = "41?08"\n', "").encode(), family).set
    first_day = identify(replace(family, first_serial=None, last_serial=None), bench)
    serial = answer_as_json(first_day)["serial"]
    assert 0 <= serial["low"] <= serial["median"] <= serial["high"] <= 1
    assert isinstance(serial["median"], float)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), 1.01, -0.01])
def test_a_figure_that_cannot_be_is_not_passed_on(answer, value):
    with pytest.raises(ValueError, match="the answer holds"):
        answer_as_json(replace(answer, misfit_p_value=value))


def test_rounding_above_one_is_taken_off(answer):
    assert answer_as_json(replace(answer, misfit_p_value=1.0000000000000009))["misfit"]["p_value"] == 1.0
