"""The JSON Schemas are those of the shapes, and take what the readers take."""

from __future__ import annotations

import tomllib

import jsonschema
import pytest

from setwright.files import schema
from setwright.files.json_schemas import as_text, make_schema, write_schemas
from setwright.files.schema_files import NAMES


@pytest.mark.parametrize("name", NAMES)
def test_shipped_schemas_are_those_of_the_shapes(name, tmp_path):
    """If this fails after a change of a shape: python -m setwright.files.json_schemas."""
    assert schema(name) == make_schema(name)
    write_schemas(tmp_path)
    assert (tmp_path / f"{name}.json").read_text("utf-8") == as_text(schema(name))


@pytest.mark.parametrize("name", NAMES)
def test_schemas_are_schemas(name):
    jsonschema.Draft202012Validator.check_schema(schema(name))


def test_unknown_schema():
    with pytest.raises(KeyError, match="there are family, set, survivors-row, identity-answer"):
        schema("drawing")


def valid(name: str, value: object) -> bool:
    return bool(jsonschema.Draft202012Validator(schema(name)).is_valid(value))


def test_the_family_schema(family_text):
    data = tomllib.loads(family_text)
    assert valid("family", data)
    assert not valid("family", {**data, "kind": "rado"})
    assert not valid("family", {**data, "colour": 1})
    assert not valid("family", {key: value for key, value in data.items() if key != "id"})
    cutin = {"feature": "converter", "from": "6SB7Y", "to": "6BE6", "after": 4000}
    assert valid("family", {**data, "cutin": [cutin], "access_minutes": {"back off": 3}})


def test_the_set_schema(set_text):
    data = tomllib.loads(set_text)
    assert valid("set", data)
    assert valid("set", {**data, "observation": [{"feature": "converter", "state": "6SB7Y", "how": "measured"}]})
    assert not valid("set", {**data, "observation": [{"feature": "con.verter", "state": "6SB7Y"}]})


def test_the_row_schema():
    assert valid("survivors-row", {"id": "a", "converter": "6SB7Y", "converter.sure": "guess", "x-mine": "7"})
    assert valid("survivors-row", {"id": "a", "part_date.speaker": "1948", "converter.serviced": "true"})
    assert not valid("survivors-row", {"serial": "12"})
    assert not valid("survivors-row", {"id": "a", "converter.sure": "surely"})
    assert not valid("survivors-row", {"id": "a", "con.verter": "x"})
