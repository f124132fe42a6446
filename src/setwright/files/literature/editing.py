"""Making and changing literature files: the user's comments, order and spacing kept, every result read again.

A change that would break the file raises FileProblems and gives nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import tomlkit

from setwright.files.literature.reading import LiteratureFile, read_literature
from setwright.files.literature.shapes import LITERATURE_FORMAT
from setwright.files.problems import refuse
from setwright.files.toml.blocks import TomlBlocks

_ATTACHMENT = "attachment"


def new_literature(keys: Mapping[str, object], name: str | None = None) -> LiteratureFile:
    """A literature file with the given keys at its top, as the format names them; None and "" are left out."""
    document = tomlkit.document()
    document["format"] = LITERATURE_FORMAT
    for key, value in keys.items():
        if value is not None and value != "":
            document[key] = _item(value)
    return read_literature(tomlkit.dumps(document).encode("utf-8"), name or f"{keys.get('id', 'literature')}.toml")


def change_literature(file: LiteratureFile, changes: Mapping[str, object]) -> LiteratureFile:
    """The file with keys of its top changed (`maker`, `owned` …); None and "" take a key out."""
    blocks = TomlBlocks(file.text)
    blocks.edit_top(lambda top: _apply(top, changes))
    return _read_again(file, blocks)


def add_attachment(file: LiteratureFile, table: Mapping[str, object]) -> LiteratureFile:
    """The file with one more attachment behind the last; keys as the format names them."""
    document = tomlkit.document()
    for key, value in table.items():
        document[key] = _item(value)
    blocks = TomlBlocks(file.text)
    blocks.insert_after_last(_ATTACHMENT, [f"[[{_ATTACHMENT}]]\n{tomlkit.dumps(document)}"])
    return _read_again(file, blocks)


def change_attachment(file: LiteratureFile, number: int, changes: Mapping[str, object]) -> LiteratureFile:
    """The file with attachment `number`, counted from 0, changed; None takes a key out."""
    blocks = _blocks_with(file, number)
    blocks.edit(_ATTACHMENT, number, lambda table: _apply(table, changes))
    return _read_again(file, blocks)


def remove_attachment(file: LiteratureFile, number: int) -> LiteratureFile:
    """The file without attachment `number`, counted from 0; comments around it stay."""
    blocks = _blocks_with(file, number)
    blocks.remove(_ATTACHMENT, number)
    return _read_again(file, blocks)


def _read_again(file: LiteratureFile, blocks: TomlBlocks) -> LiteratureFile:
    return read_literature(blocks.text().encode("utf-8"), file.name)


def _blocks_with(file: LiteratureFile, number: int) -> TomlBlocks:
    """The file's tables, once it is known that the attachment is one of them."""
    count = len(file.entry.attachments)
    if not 0 <= number < count:
        raise refuse(file.name, f"there is no attachment number {number + 1}; the file has {count}")
    blocks = TomlBlocks(file.text)
    if not blocks.has(_ATTACHMENT, number):
        raise refuse(file.name, "the attachments stand in one list; write each as an [[attachment]] of its own")
    return blocks


def _apply(table: Any, changes: Mapping[str, object]) -> None:
    for key, value in changes.items():
        if value is None or value == "":
            table.pop(key, None)
        elif table.get(key) != value:
            new = _item(value)
            if key in table:
                old = table[key]
                new.trivia.comment_ws, new.trivia.comment = old.trivia.comment_ws, old.trivia.comment
            table[key] = new


def _item(value: object) -> Any:
    """A value as the editing library writes it; text of several lines on several lines."""
    if isinstance(value, str) and "\n" in value:
        return tomlkit.string(value, multiline=True)
    return tomlkit.item(value)
