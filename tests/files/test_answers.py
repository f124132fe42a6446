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
    "groups": {"group", "elsewhere_probability", "serial"},
    "learned": {"what", "value", "low", "high"},
    "observations": {"feature", "state", "decibans", "altered_probability", "misread_probability"},
    "predicted": {"feature", "states"},
    "next": {"feature", "bits", "minutes", "bits_per_minute", "access"},
    "batches": {"access", "features", "bits", "minutes", "bits_per_minute", "cautions"},
}  # fmt: skip
INTERVAL = {"low", "median", "high", "level"}

# Keys that came later: an answer has them, a reader of older answers must do without.
LATER = {
    "": {"free", "sisters", "ask"},
    "changes": {"probability"},
    "groups": {"line"},
    "learned": {"default", "items", "level"},
    "misfit": {"drivers", "suggestions"},
    "method": {"cells", "r_hat", "learned_rates"},
}


@pytest.fixture(scope="module")
def answer(family, set_text):
    bench = read_set((set_text + OBSERVATIONS).encode(), family).set
    return identify(family, bench, read_survivors(SURVIVORS.encode(), family).survivors)


def test_every_key_is_there(answer):
    data = answer_as_json(answer)
    assert set(data) == KEYS[""] | LATER[""]
    for name in ("verdict", "changes", "observations", "predicted", "next", "batches"):
        assert data[name], f"the example must have {name}"
        for item in data[name]:
            assert set(item) == KEYS[name] | LATER.get(name, set())
    assert data["format"] == "setwright-identity/1"
    assert set(data["condition"]) == {"untouched", "repaired", "heavily rebuilt"}
    assert set(data["serial"]) == set(data["changes"][0]["cut_in"]) == INTERVAL
    assert set(data["misfit"]) == {"p_value"} | LATER["misfit"]
    assert set(data["method"]) == {"class", "draws", "effective_draws", "seed"} | LATER["method"]


def test_a_full_answer_has_every_key_and_fits_the_schema(full_answer):
    data = answer_as_json(full_answer)
    jsonschema.Draft202012Validator(schema("identity-answer")).validate(json.loads(json.dumps(data, allow_nan=False)))
    for name in ("groups", "learned"):
        assert data[name]
        for item in data[name]:
            assert set(item) == KEYS[name] | LATER[name]
    assert data["groups"][0]["serial"] == {"low": 4010, "median": 4900, "high": 5930, "level": 0.9}
    (free,) = data["free"]
    assert free["patterns"][0] == {"kind": "changes", "order": ["brass", "painted"], "probability": 0.83}
    assert free["shares"] == {"brass": 0.42, "painted": 0.58}
    assert (data["changes"][-1]["block"], data["changes"][-1]["probability"]) == (None, 0.83)
    first = data["sisters"][0]
    assert (first["set"], first["apart"], first["same_line_probability"], first["decibans"]) == ("P-04", 0.4, 1.0, 6.2)
    assert first["differences"][0] == {
        "feature": "detector", "state": "12SQ7", "other_state": "12AV6", "decibans": -7.5
    }  # fmt: skip
    assert data["ask"][0] == {"set": "P-05", "feature": "dial-glass", "bits": 0.31, "access": "outside"}
    assert data["misfit"] == {
        "p_value": 0.004,
        "drivers": [{"feature": "grille-cloth", "state": "basket", "decibans": 11.4}],
        "suggestions": ["A cabinet from a later set would explain it."],
    }
    assert data["learned"][1] == {
        "what": "consumable", "value": 0.41, "low": 0.22, "high": 0.62, "default": 0.35, "items": 9, "level": 0.9
    }  # fmt: skip
    assert data["method"] == {
        "class": "weighted", "draws": 1200, "effective_draws": 870.4, "seed": 0,
        "cells": full_answer.method.cells, "r_hat": None, "learned_rates": False,
    }  # fmt: skip


def test_it_says_whether_learnt_rates_were_used(full_answer):
    used = replace(full_answer, method=replace(full_answer.method, learned_rates=True))
    data = answer_as_json(used)
    assert data["method"]["learned_rates"] is True
    jsonschema.Draft202012Validator(schema("identity-answer")).validate(data)
    data["method"]["learned_rates"] = "yes"
    with pytest.raises(jsonschema.ValidationError, match="boolean"):
        jsonschema.Draft202012Validator(schema("identity-answer")).validate(data)


def test_a_rate_without_a_default_has_none(full_answer):
    rate = replace(full_answer.learned[0], default=float("nan"))
    assert answer_as_json(replace(full_answer, learned=(rate,)))["learned"][0]["default"] is None


def test_an_answer_without_the_later_keys_still_fits_the_schema(full_answer):
    data = answer_as_json(full_answer)
    for name, later in LATER.items():
        for holder in [data] if not name else data[name] if isinstance(data[name], list) else [data[name]]:
            for key in later:
                del holder[key]
    jsonschema.Draft202012Validator(schema("identity-answer")).validate(data)


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
        "groups": "GroupShape",
        "learned": "LearnedShape",
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
