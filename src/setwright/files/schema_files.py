"""The JSON Schemas of the formats, as shipped."""

from __future__ import annotations

import json
from importlib import resources
from typing import Any

NAMES = ("family", "set", "survivors-row", "identity-answer", "date-answer", "circuit", "expect-answer")


def schema(name: str) -> dict[str, Any]:
    """The shipped JSON Schema of a format, one of `NAMES`.

    Family and set are described as what a TOML parser makes of the file, a row of survivors as an object of
    texts by column. A schema covers one value at a time; what is wrong between values only the readers see.

    Raises KeyError for any other name.
    """
    if name not in NAMES:
        raise KeyError(f'there is no schema "{name}"; there are {", ".join(NAMES)}')
    text = resources.files("setwright.files").joinpath("schemas", f"{name}.json").read_text("utf-8")
    loaded: dict[str, Any] = json.loads(text)
    return loaded
