"""On which line of a TOML text each table, key and element stands.

The standard parser gives values without places. This scanner gives places without values; it walks over
text that the parser has accepted, so it checks nothing.
"""

from __future__ import annotations

import re
from bisect import bisect_right

Path = tuple[str | int, ...]
"""Where something stands: ("feature", 3, "states", 0) is the first state of the fourth feature."""

_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_BASIC = re.compile(r'"(?:[^"\\]|\\.)*"')
_LITERAL = re.compile(r"'[^']*'")
_LONG_BASIC = re.compile(r'"""(?:[^"\\]|\\[\s\S]|"{1,2}(?!"))*"{3,5}')
_LONG_LITERAL = re.compile(r"'''(?:[^']|'{1,2}(?!'))*'{3,5}")
_SCALAR = re.compile(r"[^,\]}\n#]*")
_ESCAPE = re.compile(r"\\(u[0-9A-Fa-f]{4}|U[0-9A-Fa-f]{8}|.)")
_ESCAPED = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r", '"': '"', "\\": "\\"}


def line_numbers(text: str) -> dict[Path, int]:
    """The line, from 1, of every table, key and array element in valid TOML.

    >>> line_numbers('a = 1\\n[[b]]\\nc = [\\n 2,\\n]\\n')[("b", 0, "c", 0)]
    4
    """
    return _Scanner(text).scan()


class _Scanner:
    def __init__(self, text: str) -> None:
        self.text = text
        self.position = 0
        self.lines: dict[Path, int] = {}
        self.table_counts: dict[Path, int] = {}
        self.starts = [0, *(match.end() for match in re.finditer("\n", text))]

    def scan(self) -> dict[Path, int]:
        base: Path = ()
        self._skip(_BLANK)
        while self.position < len(self.text):
            if self.text.startswith("[[", self.position):
                base = self._array_table_header()
            elif self.text[self.position] == "[":
                base = self._table_header()
            else:
                self._key_and_value(base)
            self._skip(_BLANK)
        return self.lines

    def _skip(self, pattern: re.Pattern[str]) -> str:
        match = pattern.match(self.text, self.position)
        assert match is not None, "the text was accepted by the parser"
        self.position = match.end()
        return match[0]

    def _note(self, path: Path) -> None:
        for length in range(1, len(path) + 1):
            self.lines.setdefault(path[:length], bisect_right(self.starts, self.position))

    def _array_table_header(self) -> Path:
        start = self.position
        self.position += 2
        *parents, last = self._dotted_key()
        self.position += 2
        path = self._resolved(parents)
        path = (*path, last)
        number = self.table_counts.get(path, 0)
        self.table_counts[path] = number + 1
        self._note_at(start, (*path, number))
        return (*path, number)

    def _table_header(self) -> Path:
        start = self.position
        self.position += 1
        path = self._resolved(self._dotted_key())
        self.position += 1
        self._note_at(start, path)
        return path

    def _note_at(self, position: int, path: Path) -> None:
        here, self.position = self.position, position
        self._note(path)
        self.position = here

    def _resolved(self, keys: list[str]) -> Path:
        """A header's keys as a path: through an array of tables it goes on in the last one."""
        path: Path = ()
        for key in keys:
            path = (*path, key)
            if path in self.table_counts:
                path = (*path, self.table_counts[path] - 1)
        return path

    def _dotted_key(self) -> list[str]:
        keys = []
        while True:
            self._skip_inline_blank()
            keys.append(self._key())
            self._skip_inline_blank()
            if not self.text.startswith(".", self.position):
                return keys
            self.position += 1

    def _skip_inline_blank(self) -> None:
        while self.text[self.position : self.position + 1] in (" ", "\t"):
            self.position += 1

    def _key(self) -> str:
        match self.text[self.position]:
            case '"':
                return _ESCAPE.sub(_unescaped, self._skip(_BASIC)[1:-1])
            case "'":
                return self._skip(_LITERAL)[1:-1]
        return self._skip(_BARE_KEY)

    def _key_and_value(self, base: Path) -> None:
        start = self.position
        path = (*base, *self._dotted_key())
        self._note_at(start, path)
        self.position += 1  # the equals sign
        self._skip_inline_blank()
        self._value(path)

    def _value(self, path: Path) -> None:
        self._note(path)
        if self.text.startswith('"""', self.position):
            self._skip(_LONG_BASIC)
        elif self.text.startswith("'''", self.position):
            self._skip(_LONG_LITERAL)
        elif self.text[self.position] == '"':
            self._skip(_BASIC)
        elif self.text[self.position] == "'":
            self._skip(_LITERAL)
        elif self.text[self.position] == "[":
            self._array(path)
        elif self.text[self.position] == "{":
            self._inline_table(path)
        else:
            self._skip(_SCALAR)

    def _array(self, path: Path) -> None:
        self.position += 1
        number = 0
        while True:
            self._skip(_BLANK)
            if self.text[self.position] == "]":
                break
            if self.text[self.position] == ",":
                self.position += 1
                continue
            self._value((*path, number))
            number += 1
        self.position += 1

    def _inline_table(self, path: Path) -> None:
        self.position += 1
        while True:
            self._skip(_BLANK)
            if self.text[self.position] == "}":
                break
            if self.text[self.position] == ",":
                self.position += 1
                continue
            self._key_and_value(path)
        self.position += 1


def _unescaped(match: re.Match[str]) -> str:
    code = match[1]
    return chr(int(code[1:], 16)) if code[0] in "uU" else _ESCAPED.get(code, code)
