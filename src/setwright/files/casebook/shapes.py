"""The shape of casebook.toml, and where each kind of file stands in a casebook."""

from __future__ import annotations

import re
from typing import Annotated, Literal

from pydantic import Field

from setwright.files.shapes import Named, Shape, Sum, Text, When
from setwright.files.source_text import MEGABYTE
from setwright.files.zipped import Limits

CASEBOOK_FORMAT = "setwright-casebook/1"
LIST = "casebook.toml"
INDEX = "literature/index.csv"

LIMITS = Limits(members=100_000, bytes_in_all=50_000 * MEGABYTE, ratio=200, bytes_of_one=200 * MEGABYTE)
"""Far more than a workshop has; text packs to a tenth or so, pictures not at all."""

_ID = r"[A-Za-z0-9_-][A-Za-z0-9._-]{0,99}"
_SUM = r"[0-9a-f]{64}"
PLACES = {
    "family": re.compile(rf"families/({_ID})\.toml"),
    "survivors": re.compile(rf"survivors/({_ID})\.csv"),
    "set": re.compile(rf"sets/({_ID})\.toml"),
    "circuit": re.compile(rf"circuits/({_ID})\.toml"),
    "chart": re.compile(rf"charts/({_ID})\.csv"),
    "literature": re.compile(rf"literature/({_ID})\.toml"),
    "photo": re.compile(rf"photos/({_SUM})\.(?:jpg|png)"),
    "attachment": re.compile(rf"literature/files/({_SUM})\.(?:pdf|jpg|png)"),
    "history": re.compile(rf"history/((?:family|set|survivors|circuit|chart|literature)-{_ID})\.jsonl"),
}
"""Where files of each kind stand; the group is the id, the sum of the content, or kind and id."""

KINDS = ("family", "survivors", "set", "circuit", "chart", "literature")
"""The kinds of records, in the order in which they need each other."""


class FileShape(Shape):
    """One file of the casebook."""

    name: Named
    sha256: Sum
    bytes: Annotated[int, Field(ge=0)]


class CasebookShape(Shape):
    """The list of everything in a casebook."""

    format: Literal["setwright-casebook/1"]
    made_at: When
    made_with: Text = ""
    missing: Annotated[list[Named], Field(max_length=100_000)] = []
    file: Annotated[list[FileShape], Field(max_length=100_000)] = []


def place_of(name: str) -> tuple[str, str] | None:
    """The kind of a file by its name in the casebook, and its id or sum; None for a name that stands nowhere."""
    for kind, pattern in PLACES.items():
        match = pattern.fullmatch(name)
        if match is not None:
            return kind, match[1]
    return None
