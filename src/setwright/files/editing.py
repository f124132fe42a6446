"""Editing set and family files: one table at a time, the user's comments, order and spacing kept.

A change gives a new text, which is read again before anything else happens: a change that would break the
file raises FileProblems and leaves file and text as they were. `writing.write_text` then puts the text in the
file's place at one stroke.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import partial
from typing import Any, Literal

import tomlkit
from tomlkit.items import InlineTable, Item

from setwright.files.families.reading import FamilyFile, read_family
from setwright.files.problems import FileProblems, quoted, refuse
from setwright.files.sets import SetFile, read_set
from setwright.files.toml.blocks import TomlBlocks
from setwright.identity.model import Family

FAMILY_TABLES = ("serial_block", "line", "source", "feature", "version", "cutin")
"""The lists of tables of a family file, in the order in which new ones are put."""

SET_TABLES = ("condition", "observation", "date_evidence", "photo", "reading", "note", "want")
"""The lists of tables of a set file, in the order in which new ones are put."""

WIDEST = 110
"""A table in braces stands on one line; what would be longer gets a header of its own."""

SetEdit = Callable[[SetFile, Family, Mapping[str, object]], SetFile]
SetChange = Callable[[SetFile, Family, int, Mapping[str, object]], SetFile]
SetRemoval = Callable[[SetFile, Family, int], SetFile]


def add_to_set(kind: str, file: SetFile, family: Family, table: Mapping[str, object]) -> SetFile:
    """The set file with one more table of a kind (see SET_TABLES) behind the last of them.

    Keys as the format names them; a key whose value is None is left out.
    """
    return _set(file, family, _with_table(file.text, kind, table, SET_TABLES))


def change_in_set(kind: str, file: SetFile, family: Family, number: int, changes: Mapping[str, object]) -> SetFile:
    """The set file with table `number` of a kind, counted from 0, changed: key to value, None takes a key out."""
    return _set(file, family, _with_changes(file.name, file.text, kind, number, changes))


def remove_from_set(kind: str, file: SetFile, family: Family, number: int) -> SetFile:
    """The set file without table `number` of a kind, counted from 0; comments around it stay."""
    return _set(file, family, _without_table(file.name, file.text, kind, number))


def _edits(kind: str) -> tuple[SetEdit, SetChange, SetRemoval]:
    """`add_to_set`, `change_in_set` and `remove_from_set` for one kind of table."""
    return partial(add_to_set, kind), partial(change_in_set, kind), partial(remove_from_set, kind)


add_observation, change_observation, remove_observation = _edits("observation")
add_date_evidence, change_date_evidence, remove_date_evidence = _edits("date_evidence")
add_condition, change_condition, remove_condition = _edits("condition")
add_photo, change_photo, remove_photo = _edits("photo")
add_reading, change_reading, remove_reading = _edits("reading")
add_note, change_note, remove_note = _edits("note")
add_want, change_want, remove_want = _edits("want")


def change_set(file: SetFile, family: Family, changes: Mapping[str, object]) -> SetFile:
    """The set file with keys of its top changed (`name`, `serial`, `line`, `open_to`); None takes a key out."""
    return _set(file, family, _with_top(file.text, changes))


def change_intake(file: SetFile, family: Family, changes: Mapping[str, object]) -> SetFile:
    """The set file with keys of its intake changed (`on`, `from`, `price` …); None takes a key out."""
    return _set(file, family, _with_sole_table(file.text, "intake", changes, before=SET_TABLES))


def add_to_family(file: FamilyFile, kind: str, table: Mapping[str, object]) -> FamilyFile:
    """The family file with one more table of a kind (see FAMILY_TABLES) behind the last of them."""
    return _family(file, _with_table(file.text, kind, table, FAMILY_TABLES))


def change_in_family(file: FamilyFile, kind: str, which: str | int, changes: Mapping[str, object]) -> FamilyFile:
    """The family file with one table changed, named by its id or its number from 0; None takes a key out.

    A table as value is merged: `{"states": {"converter": None}}` takes one state out of a version.
    """
    number = _number(file.name, file.text, kind, which)
    return _family(file, _with_changes(file.name, file.text, kind, number, changes))


def remove_from_family(file: FamilyFile, kind: str, which: str | int) -> FamilyFile:
    """The family file without one table; FileProblems where something else still names it."""
    return _family(file, _without_table(file.name, file.text, kind, _number(file.name, file.text, kind, which)))


def change_family(file: FamilyFile, changes: Mapping[str, object]) -> FamilyFile:
    """The family file with keys of its top changed (`name`, `last_serial` …); None takes a key out."""
    return _family(file, _with_top(file.text, changes))


@dataclass(frozen=True, slots=True)
class FamilyEdit:
    """One step of a change to a family file.

    action : "add" (`values` is the table), "change" (`values` as for `change_in_family`), "remove", "swap" (with
    table number `other`), "sole" (`values` change a table of which there is one, `access_minutes`), or "top" (`values`
    as for `change_family`; no kind). which : the table's id or its number
    from 0, counted when the step's turn comes.
    """

    action: Literal["add", "change", "remove", "swap", "sole", "top"]
    kind: str = ""
    which: str | int = 0
    values: Mapping[str, object] = field(default_factory=dict)
    other: int = 0


def edit_family(file: FamilyFile, edits: Iterable[FamilyEdit]) -> FamilyFile:
    """The family file after several steps, read again once they are all done: what stands in between may be broken."""
    text = file.text
    for edit in edits:
        text = _after(file.name, text, edit)
    return _family(file, text)


def _after(name: str, text: str, edit: FamilyEdit) -> str:
    match edit.action:
        case "add":
            return _with_table(text, edit.kind, edit.values, FAMILY_TABLES)
        case "sole":
            return _with_sole_table(text, edit.kind, edit.values, before=FAMILY_TABLES)
        case "top":
            return _with_top(text, edit.values)
    number = _number(name, text, edit.kind, edit.which)
    match edit.action:
        case "change":
            return _with_changes(name, text, edit.kind, number, edit.values)
        case "remove":
            return _without_table(name, text, edit.kind, number)
        case "swap":
            return _with_swapped(name, text, edit.kind, number, edit.other)


def _with_swapped(name: str, text: str, kind: str, one: int, other: int) -> str:
    blocks = TomlBlocks(text)
    if blocks.has(kind, one) and blocks.has(kind, other):
        blocks.swap(kind, one, other)
        return blocks.text()
    document, tables = _inline_tables(name, text, kind, max(one, other))
    first, second = copy.deepcopy(tables[one]), copy.deepcopy(tables[other])
    tables[one], tables[other] = second, first
    return tomlkit.dumps(document)


def _set(file: SetFile, family: Family, text: str) -> SetFile:
    return read_set(text.encode("utf-8"), family, file.name)


def _family(file: FamilyFile, text: str) -> FamilyFile:
    return read_family(text.encode("utf-8"), file.name)


def _number(name: str, text: str, kind: str, which: str | int) -> int:
    """The number of a table from its id."""
    if isinstance(which, int):
        return which
    tables = tomlkit.parse(text).unwrap().get(kind, [])
    for number, table in enumerate(tables):
        if table.get("id") == which:
            return number
    raise refuse(name, f"there is no {kind} {quoted(which)} to change")


def _with_table(text: str, kind: str, table: Mapping[str, object], kinds: Iterable[str]) -> str:
    later = [*kinds][[*kinds].index(kind) + 1 :]
    blocks = TomlBlocks(text)
    blocks.insert_after_last(kind, [f"[[{kind}]]\n{_body(table, text)}"], before=later)
    return blocks.text()


def _body(table: Mapping[str, object], text: str) -> str:
    """The lines of a new table for a file with this text."""
    document = tomlkit.document()
    for key, value in table.items():
        if value is not None:
            document.add(tomlkit.key(key), _item(value, _may_break_lines(text)))
    return tomlkit.dumps(document)


def _may_break_lines(text: str) -> bool:
    """Whether a value of several lines may be written as such into a file with this text.

    Where line ends are two characters, both would become part of the value.
    """
    return "\r" not in text


def _with_changes(name: str, text: str, kind: str, number: int, changes: Mapping[str, object]) -> str:
    blocks = TomlBlocks(text)
    if blocks.has(kind, number):
        blocks.edit(kind, number, lambda table: _apply(table, changes, _may_break_lines(text)))
        return blocks.text()
    document, tables = _inline_tables(name, text, kind, number)
    _apply(tables[number], changes)
    return tomlkit.dumps(document)


def _without_table(name: str, text: str, kind: str, number: int) -> str:
    blocks = TomlBlocks(text)
    if blocks.has(kind, number):
        blocks.remove(kind, number)
        return blocks.text()
    document, tables = _inline_tables(name, text, kind, number)
    del tables[number]
    return tomlkit.dumps(document)


def _inline_tables(name: str, text: str, kind: str, number: int) -> tuple[tomlkit.TOMLDocument, Any]:
    """Tables written as one list in brackets, which the library edits in place."""
    document = tomlkit.parse(text)
    tables = document.get(kind, [])
    if not 0 <= number < len(tables):
        raise refuse(name, f"there is no {kind} number {number + 1}; the file has {len(tables)}")
    return document, tables


def _with_sole_table(text: str, kind: str, changes: Mapping[str, object], before: Iterable[str]) -> str:
    """Keys of a table changed of which a file has one, in braces or under its header, or none yet."""
    blocks = TomlBlocks(text)
    if blocks.has(kind, 0):
        blocks.edit(kind, 0, lambda table: _apply(table, changes, _may_break_lines(text)))
    elif kind in tomlkit.parse(text):
        return _with_top(text, {kind: changes})
    else:
        blocks.insert_after_last(kind, [f"[{kind}]\n{_body(changes, text)}"], before=before)
    return blocks.text()


def _with_top(text: str, changes: Mapping[str, object]) -> str:
    blocks = TomlBlocks(text)
    blocks.edit_top(lambda top: _apply(top, changes))
    return blocks.text()


def _apply(table: Any, changes: Mapping[str, object], several_lines: bool = False) -> None:
    """Change keys of a table in place; a value keeps the comment behind it.

    several_lines : whether a text of several lines is written as such.
    """
    for key, value in changes.items():
        if value is None:
            if key in table:
                del table[key]
        elif isinstance(value, Mapping) and isinstance(table.get(key), Mapping):
            _apply(table[key], value)
            _unfold(table, key)
        elif table.get(key) != value:
            table[key] = _keeping_comment(table.get(key), _item(value, several_lines))
            _unfold(table, key)


def _unfold(table: Any, key: str) -> None:
    """Give a table in braces that has grown too long for a line a header of its own, below its table."""
    folded = table.get(key)
    if not isinstance(folded, InlineTable) or isinstance(table, InlineTable) or len(folded.as_string()) <= WIDEST:
        return
    below = tomlkit.table()
    for name, value in folded.unwrap().items():
        # Written anew: inside braces values stand without line ends.
        below.add(tomlkit.key(name), _item(value))
    if folded.trivia.comment:
        below.comment(folded.trivia.comment.lstrip("# "))
    del table[key]
    table.append(tomlkit.key(key), below)


def _keeping_comment(old: object, new: Item) -> Item:
    if isinstance(old, Item):
        new.trivia.comment_ws, new.trivia.comment = old.trivia.comment_ws, old.trivia.comment
    return new


def _item(value: object, several_lines: bool = False) -> Item:
    """A value as the editing library writes it: tables in braces, everything else as usual."""
    if several_lines and isinstance(value, str) and "\n" in value and "\r" not in value:
        return tomlkit.string(value, multiline=True)
    if isinstance(value, Mapping):
        table = tomlkit.inline_table()
        for key, inner in value.items():
            if inner is not None:
                table.append(tomlkit.key(key), _item(inner))
        return table
    if isinstance(value, list | tuple):
        array = tomlkit.array()
        for inner in value:
            array.append(_item(inner))
        return array
    return tomlkit.item(value)


__all__ = [
    "FAMILY_TABLES",
    "SET_TABLES",
    "FamilyEdit",
    "FileProblems",
    "add_condition",
    "add_date_evidence",
    "add_note",
    "add_observation",
    "add_photo",
    "add_reading",
    "add_to_family",
    "add_to_set",
    "add_want",
    "change_condition",
    "change_date_evidence",
    "change_family",
    "change_in_family",
    "change_in_set",
    "change_intake",
    "change_note",
    "change_observation",
    "change_photo",
    "change_reading",
    "change_set",
    "change_want",
    "edit_family",
    "remove_condition",
    "remove_date_evidence",
    "remove_from_family",
    "remove_from_set",
    "remove_note",
    "remove_observation",
    "remove_photo",
    "remove_reading",
    "remove_want",
]
