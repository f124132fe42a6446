"""Reading TOML: syntax errors with their line, and the line of every key for the problems found later."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from functools import cached_property
from typing import Any

from setwright.files.problems import FileProblems, ProblemList, quoted, refuse
from setwright.files.source_text import SourceBytes, decode_utf8
from setwright.files.toml.lines import Path, line_numbers

DEEPEST = 12
"""Our formats need four levels; a file that nests deeper than this is none of them."""

_TABLE_ENDINGS = (".csv", ".tsv", ".tab")
_FILE_NAMES = {
    "setwright-family": "family file",
    "setwright-set": "set file",
    "setwright-literature": "literature file",
    "setwright-casebook": "casebook",
    "setwright-circuit": "circuit file",
}
_NAMED_BY = {
    "observation": "feature",
    "cutin": "feature",
    "serial_block": "prefix",
    "condition": "area",
    "photo": "name",
    "reading": "point",
    "want": "what",
    "part": "ref",
    "tube": "ref",
}
"""The key by which a table without an id is told from others of its kind."""
_PLACE = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")
_ONE_LINE = "a table in braces { } stands on one line; for several lines write a [table] of its own, with a key on each"
_GIVEN_TWICE = "the same key or table is given twice; keep one of them"
_PLAINER = (
    (r"Cannot overwrite a value|Duplicate inline table key|Cannot (?:mutate|redefine)", _GIVEN_TWICE),
    (r"Cannot declare", "the same table is declared twice; keep one, or write [[…]] for a list of tables"),
    (r"Invalid statement", 'this is neither a [table] nor a line of the form key = "value"'),
    (r"Expected '=' after a key", 'an equals sign is missing after the key; write key = "value"'),
    (r"Invalid value", "the value cannot be read; text needs quotes, while numbers, true and false have none"),
    (r"Invalid initial character for a key part", "a key is missing, or begins with a character that needs quotes"),
    (
        r"Expected newline or end of document after a statement",
        "something is left over after the value; text needs quotes around the whole of it, and each key its own line",
    ),
    (r"Unclosed array", "a list is opened with [ and not closed with ]; its items need commas between them"),
    (r"Unclosed inline table", "a table is opened with { and not closed with }"),
    (r"Unterminated string|Expected [\"']+$", "text is opened with a quote and not closed"),
    (r"Illegal character '\\[nr]'", "a line ends in the middle of a text; close the quote on the same line"),
    (r"Unescaped", "a backslash inside double quotes must be written twice; or use single quotes"),
)


class TomlFile:
    """A TOML text with its values and, on demand, the line of every key."""

    def __init__(self, name: str, text: str, data: dict[str, Any]) -> None:
        self.name = name
        self.text = text
        self.data = data

    @cached_property
    def _lines(self) -> dict[Path, int]:
        return line_numbers(self.text)

    def line(self, path: Iterable[str | int]) -> int | None:
        """The line of the key, or of the innermost table around it that stands in the text."""
        place = tuple(path)
        while place:
            if place in self._lines:
                return self._lines[place]
            place = place[:-1]
        return None

    def where(self, path: Path) -> str:
        """A place in the file's own words: `feature "converter", key altered`, or `key first_serial`.

        A table without an id is named by its number among its kind.
        """
        if not path:
            return ""
        kind, rest = str(path[0]), path[1:]
        if rest and isinstance(rest[0], int):
            name, rest = f"{kind} {self._naming(kind, rest[0])}", rest[1:]
            return f"{name}, key {_dotted(rest)}" if rest else name
        if rest:
            return f"table {kind}, key {_dotted(rest)}"
        return f"table {kind}" if isinstance(self.data.get(kind), dict) else f"key {kind}"

    def _naming(self, kind: str, number: int) -> str:
        tables = self.data.get(kind)
        table = tables[number] if isinstance(tables, list) and number < len(tables) else None
        if isinstance(table, dict):
            key = _NAMED_BY.get(kind, "id")
            name = table.get(key)
            if isinstance(name, str) and name:
                return quoted(name) if key == "id" else f"{number + 1} ({key} {quoted(name)})"
        return str(number + 1)


def _dotted(path: Path) -> str:
    words = ""
    for part in path:
        words += f" {part + 1}" if isinstance(part, int) else f".{part}" if words else part
    return words


def read_toml(source: SourceBytes) -> TomlFile:
    """Parse a TOML file; FileProblems where it is no text, no UTF-8 or no TOML."""
    text = decode_utf8(source, "TOML text in UTF-8")
    if source.name.lower().endswith(_TABLE_ENDINGS):
        raise refuse(source.name, "this is a table by its name; a family or set file (TOML) is read here")
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise _syntax_problem(source.name, text, str(error)) from error
    except ValueError as error:
        # Python refuses to turn thousands of digits into a whole number.
        raise refuse(source.name, f"a number in the file is far too long ({error})") from error
    except RecursionError as error:
        raise refuse(source.name, "lists or tables are nested far too deeply for any of our files") from error
    if _depth(data) > DEEPEST:
        raise refuse(source.name, f"lists or tables are nested more than {DEEPEST} deep; none of our files needs that")
    return TomlFile(source.name, text, data)


def _syntax_problem(name: str, text: str, message: str) -> FileProblems:
    """The parser's message in plain words; it stops at the first error, so there is only one."""
    place = _PLACE.search(message)
    what = _PLACE.sub("", message)
    lines = text.split("\n")
    line, where, rest = len(lines), "", ""
    if place is not None and place[1]:
        line, column = int(place[1]), int(place[2])
        where, rest = f"column {column}", lines[line - 1][column - 1 :].strip()
    if not rest and re.match("Invalid initial character|Unclosed inline table", what):
        plain = _ONE_LINE
    else:
        plain = next((words for pattern, words in _PLAINER if re.match(pattern, what)), what[:1].lower() + what[1:])
    return refuse(name, f"not valid TOML: {plain}", where=where, line=line)


def _depth(data: object) -> int:
    """How deep tables and lists are nested; without recursion, since the text may be hostile."""
    deepest, level = 0, [data]
    while level and deepest <= DEEPEST:
        deepest += 1
        below: list[object] = []
        for item in level:
            inside = item.values() if isinstance(item, dict) else item if isinstance(item, list) else ()
            below.extend(value for value in inside if isinstance(value, dict | list))
        level = below
    return deepest


def _named(file_format: str) -> str:
    name = _FILE_NAMES.get(file_format.split("/")[0], "file")
    return f"a {name} of format {quoted(file_format)}"


def check_format(toml: TomlFile, wanted: str, problems: ProblemList) -> None:
    """Note a missing or unknown format; FileProblems at once for another of our formats, which reads differently."""
    given = toml.data.get("format")
    if given == wanted:
        return
    line = toml.line(("format",))
    if not toml.data:
        start = f'begin the file with format = "{wanted}", or start from one that setwright new writes'
        raise refuse(toml.name, f"the file is empty but for remarks; {start}", where="key format")
    if given is None:
        problems.add("key format", f'the key format is missing; begin the file with format = "{wanted}"')
        return
    if isinstance(given, str) and given.startswith("setwright-"):
        newer = "; a newer Setwright may be needed" if given.split("/")[0] == wanted.split("/")[0] else ""
        message = f"this is {_named(given)}; here {_named(wanted)} is read{newer}"
        raise refuse(toml.name, message, where="key format", line=line)
    problems.add("key format", f'must be format = "{wanted}"; {quoted(given)} was given', line=line)
