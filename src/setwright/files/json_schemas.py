"""Makes the JSON Schemas of the formats from their shapes.

`python -m setwright.files.json_schemas` writes the files anew after a shape was changed.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from setwright.files.answer_shapes import IdentityAnswerShape
from setwright.files.circuits.answer_shapes import ExpectAnswerShape
from setwright.files.circuits.shapes import CircuitShape
from setwright.files.dating_shapes import DateAnswerShape
from setwright.files.schema_files import NAMES
from setwright.files.shapes import FamilyShape, SetShape

_DIALECT = "https://json-schema.org/draft/2020-12/schema"


def make_schema(name: str) -> dict[str, Any]:
    """The JSON Schema made from the shapes as they are now."""
    match name:
        case "family":
            made = FamilyShape.model_json_schema()
        case "set":
            made = SetShape.model_json_schema()
        case "identity-answer":
            made = IdentityAnswerShape.model_json_schema()
        case "date-answer":
            made = DateAnswerShape.model_json_schema()
        case "circuit":
            made = CircuitShape.model_json_schema()
        case "expect-answer":
            made = ExpectAnswerShape.model_json_schema()
        case "survivors-row":
            made = _survivors_row()
        case _:
            raise KeyError(name)
    return {"$schema": _DIALECT, "$id": f"urn:setwright:{name}:1", **made}


def _survivors_row() -> dict[str, Any]:
    text = {"type": "string"}
    return {
        "title": "SurvivorsRow",
        "description": "One row of a survivors file. An empty cell is unknown; other columns are named by features.",
        "type": "object",
        "properties": {
            "id": {"type": "string", "minLength": 1},
            "serial": text,
            "line": text,
            "stamp_date": text,
            "note": text,
            "source": text,
            "seen_on": text,
            "condition": text,
        },
        "patternProperties": {
            r"^part_date\.[^.]+$": text,
            "^x-": text,
            r"^[A-Za-z0-9_-]+$": text,
            r"^[A-Za-z0-9_-]+\.sure$": {"enum": ["", "certain", "likely", "guess"]},
            r"^[A-Za-z0-9_-]+\.serviced$": {"type": "string", "pattern": "^(|true|false|yes|no|1|0)$"},
        },
        "additionalProperties": False,
        "required": ["id"],
    }


def as_text(made: dict[str, Any]) -> str:
    """A schema as it is shipped."""
    return json.dumps(made, indent=2, ensure_ascii=False) + "\n"


def write_schemas(folder: Path) -> None:
    """Write every schema into a folder."""
    for name in NAMES:
        (folder / f"{name}.json").write_text(as_text(make_schema(name)), "utf-8")


if __name__ == "__main__":
    write_schemas(Path(__file__).parent / "schemas")
