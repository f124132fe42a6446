"""A TOML text cut into its tables, so that one table can be edited and the rest stays letter for letter.

The editing library keeps comments and order inside a table; across lists of tables that stand in each other's way
(`[[feature]]`, `[[version]]`, `[[feature]]` again) it would sort them. So it is given one table at a time.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import tomlkit
from tomlkit.items import AoT, InlineTable

from setwright.files.toml.lines import line_numbers


@dataclass
class _Block:
    """One table with its sub-tables, or what stands before the first. `kind` and `index` as in `[[kind]]` number index.

    `tail` are the blank lines and comments at its end, which belong to what follows.
    """

    kind: str
    index: int
    body: str
    tail: str = ""


class TomlBlocks:
    """The blocks of a valid TOML text, for editing and joining again."""

    def __init__(self, text: str) -> None:
        self._newline = "\r\n" if "\r\n" in text else "\n"
        lines = re.findall(r"[^\n]*\n|[^\n]+", text)
        if lines and not lines[-1].endswith(("\n", "\r")):
            lines[-1] += self._newline
        starts = _table_starts(text)
        bounds = [*(line for line, _, _ in starts), len(lines)]
        self._blocks = [_block("", 0, lines[: bounds[0]])]
        for (line, kind, index), end in zip(starts, bounds[1:], strict=True):
            self._blocks.append(_block(kind, index, lines[line:end]))

    def text(self) -> str:
        """The whole text."""
        return "".join(block.body + block.tail for block in self._blocks)

    def edit(self, kind: str, index: int, change: Callable[[Any], None]) -> None:
        """Let `change` work on table number `index` of a kind, from 0, as the editing library presents it."""
        block = next(one for one in self._blocks if (one.kind, one.index) == (kind, index))
        document: Any = tomlkit.parse(block.body)
        tables = document[kind]
        change(tables[0] if isinstance(tables, AoT) else tables)
        text = tomlkit.dumps(document)
        block.body = re.sub(r"(?<!\r)\n", "\r\n", text) if self._newline == "\r\n" else text

    def has(self, kind: str, index: int) -> bool:
        """Whether table number `index` of a kind, from 0, has a header of its own."""
        return any((block.kind, block.index) == (kind, index) for block in self._blocks)

    def edit_top(self, change: Callable[[Any], None]) -> None:
        """Let `change` work on the keys before the first table."""
        document = tomlkit.parse(self._blocks[0].body)
        change(document)
        self._blocks[0].body = tomlkit.dumps(document)

    def remove(self, kind: str, index: int) -> None:
        """Take table number `index` of a kind out; comments around it stay."""
        place = next(i for i, one in enumerate(self._blocks) if (one.kind, one.index) == (kind, index))
        gone = self._blocks.pop(place)
        if gone.tail.strip():
            self._blocks[place - 1].tail += gone.tail

    def swap(self, kind: str, one: int, other: int) -> None:
        """Let two tables of a kind, by their numbers from 0, change places; comments right above them go along."""
        first, second = sorted(
            next(i for i, block in enumerate(self._blocks) if (block.kind, block.index) == (kind, index))
            for index in (one, other)
        )
        blocks = self._blocks
        before_first, own_first = _parted(blocks[first - 1].tail)
        before_second, own_second = _parted(blocks[second - 1].tail)
        blocks[first - 1].tail = before_first + own_second
        blocks[second - 1].tail = before_second + own_first
        blocks[first].body, blocks[second].body = blocks[second].body, blocks[first].body

    def insert_after_last(self, kind: str, tables: Sequence[str], before: Iterable[str] = ()) -> None:
        """Put tables behind the last of a kind; without one, before the first of the kinds `before`, or at the end."""
        if not tables:
            return
        text = "".join(self._newline + table.replace("\n", self._newline) for table in tables)
        last = [place for place, block in enumerate(self._blocks) if block.kind == kind]
        following = [place for place, block in enumerate(self._blocks) if block.kind in tuple(before)]
        place = last[-1] if last else following[0] - 1 if following else len(self._blocks) - 1
        block = self._blocks[place]
        last_of_all = place + 1 == len(self._blocks)
        tail = "" if last_of_all and not block.tail.strip() else block.tail
        if not last_of_all and not tail.startswith(("\n", "\r")):
            tail = self._newline + tail
        self._blocks.insert(place + 1, _Block("", -1, text, tail))
        block.tail = ""


def _parted(tail: str) -> tuple[str, str]:
    """What stands between two tables, parted into the rest and the comments right above the second."""
    lines = tail.splitlines(keepends=True)
    start = len(lines)
    while start and lines[start - 1].strip():
        start -= 1
    return "".join(lines[:start]), "".join(lines[start:])


def _table_starts(text: str) -> list[tuple[int, str, int]]:
    """Line index, name and number of every table at the top level that has a header of its own."""
    lines = line_numbers(text)
    rows = text.split("\n")
    starts = []
    for name, value in tomllib.loads(text).items():
        places = [((name, index), index) for index in range(len(value))] if isinstance(value, list) else [((name,), 0)]
        for path, index in places:
            line = lines.get(path)
            if line is not None and rows[line - 1].lstrip().startswith("["):
                starts.append((line - 1, name, index))
    return sorted(starts)


def _block(kind: str, index: int, lines: list[str]) -> _Block:
    end = len(lines)
    while end and (not lines[end - 1].strip() or lines[end - 1].lstrip().startswith("#")):
        end -= 1
    # comments right behind the last line, without a blank line between, are about this table
    while end and end < len(lines) and lines[end].strip():
        end += 1
    # what looks like a comment may be the end of a text of several lines
    while end < len(lines) and not _is_whole("".join(lines[:end])):
        end += 1
    return _Block(kind, index, "".join(lines[:end]), "".join(lines[end:]))


def _is_whole(text: str) -> bool:
    """Whether a piece of valid TOML ends outside any text of several lines."""
    if '"""' not in text and "'''" not in text:
        return True
    try:
        tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return False
    return True


def add_entries(table: Any, key: str, entries: Mapping[str, str]) -> None:
    """Add text entries, under names that need no quotes, to the table under `key`.

    That table may stand in braces, under a header of its own, or not be there yet.
    """
    known = table.get(key)
    if known is not None and not isinstance(known, InlineTable):
        for name, text in entries.items():
            known[name] = text
        return
    # Written as text and read again, because the library leaves spaces out where it adds to a table in braces.
    begun = known.as_string().rstrip()[:-1].rstrip(" \t,") if known is not None else "{"
    new = ", ".join(f"{name} = {tomlkit.item(text).as_string()}" for name, text in entries.items())
    written: Any = tomlkit.parse(f"{key} = {begun}{' ' if begun == '{' else ', '}{new} }}")[key]
    if known is not None:
        written.trivia.comment_ws, written.trivia.comment = known.trivia.comment_ws, known.trivia.comment
    table[key] = written
