"""A record's history in a casebook: one line of JSON an entry, each text as its difference from the one before."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated

from pydantic import Field, ValidationError

from setwright.files.case_reading import read_moment
from setwright.files.problems import refuse
from setwright.files.shapes import Shape
from setwright.notation import NotationError

LONGEST_TEXT = 50_000_000
MOST_TEXT = 500_000_000
"""Characters that all texts of one history may come to."""


@dataclass(frozen=True, slots=True)
class HistoryEntry:
    """One entry: its number from 1, when, by whom, what it says, which entry it takes back, and the text then."""

    number: int
    at: datetime
    by: str
    what: str
    text: str
    undoes: int | None = None
    removed: bool = False


Count = Annotated[int, Field(ge=0, le=10**9)]


class _EntryShape(Shape):
    number: Count
    at: str
    by: Annotated[str, Field(max_length=200)]
    what: Annotated[str, Field(max_length=20_000)]
    undoes: Count | None = None
    removed: bool = False
    lines_kept: Count
    lines_out: Count
    text_in: str


def write_history(entries: Iterable[HistoryEntry]) -> str:
    """The lines of a history, the oldest first.

    `lines_kept` lines of the text before stay, then `lines_out` lines are replaced by `text_in`; the rest stays.
    """
    written, before = [], [""]
    for entry in entries:
        lines = entry.text.split("\n")
        start = _alike(before, lines)
        end = _alike(before[start:][::-1], lines[start:][::-1])
        inner = lines[start : len(lines) - end]
        table = {
            "number": entry.number,
            "at": entry.at.isoformat(),
            "by": entry.by,
            "what": entry.what,
            "undoes": entry.undoes,
            "removed": entry.removed,
            "lines_kept": start,
            "lines_out": len(before) - end - start,
            "text_in": "".join(f"{line}\n" for line in inner),
        }
        written.append(json.dumps(table, ensure_ascii=False) + "\n")
        before = lines
    return "".join(written)


def read_history(text: str, name: str) -> tuple[HistoryEntry, ...]:
    """The entries of a history; FileProblems at the first line that cannot be read."""
    entries: list[HistoryEntry] = []
    lines, in_all = [""], 0
    rows = text.removesuffix("\n").split("\n") if text else []
    for number, row in enumerate(rows, 1):
        shape = _shape(row, name, number)
        if shape.number != number:
            message = f"the entry has number {shape.number}; they are counted from 1, one a line"
            raise refuse(name, message, line=number)
        end = shape.lines_kept + shape.lines_out
        if end > len(lines):
            raise refuse(name, "the entry changes lines that the text before does not have", line=number)
        lines = [*lines[: shape.lines_kept], *shape.text_in.split("\n")[:-1], *lines[end:]]
        written = "\n".join(lines)
        in_all += len(written)
        if len(written) > LONGEST_TEXT or in_all > MOST_TEXT:
            raise refuse(name, "the texts of this history are longer than any that is read", line=number)
        try:
            at = read_moment(shape.at)
        except NotationError as error:
            raise refuse(name, error.message, line=number) from error
        entries.append(HistoryEntry(number, at, shape.by, shape.what, written, shape.undoes, shape.removed))
    return tuple(entries)


def _shape(row: str, name: str, line: int) -> _EntryShape:
    try:
        return _EntryShape.model_validate_json(row)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        place = ".".join(str(part) for part in first["loc"])
        message = f"the entry cannot be read ({first['msg'].lower()})"
        raise refuse(name, message, where=f"key {place}" if place else "", line=line) from error


def _alike(first: list[str], second: list[str]) -> int:
    """How many lines at the beginning are the same."""
    count = 0
    for one, other in zip(first, second, strict=False):
        if one != other:
            break
        count += 1
    return count
