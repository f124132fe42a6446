"""Checks a TOML file against its shape and puts every difference into plain words.

What does not fit is noted and taken out, so that the rest can still be checked for what is wrong between
its parts: all problems of a file come in one answer.
"""

from __future__ import annotations

import copy
import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Generic, TypeVar, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from setwright.files.problems import ProblemList, listing, quoted
from setwright.files.shapes import SHA256
from setwright.files.suggest import nearest
from setwright.files.toml.lines import Path
from setwright.files.toml.text import TomlFile

ShapeType = TypeVar("ShapeType", bound=BaseModel)

_STAND_INS = {"access": "outside", "permanence": "soldered", "kind": "other", "name": "?", "title": "?", "family": "?"}
"""Take the place of a required value that was refused, where no further check looks at it."""


class _Everything(set[str]):
    """Holds every id: those of a list of tables that could not be read at all."""

    def __contains__(self, item: object) -> bool:
        return True


@dataclass(frozen=True)
class Checked(Generic[ShapeType]):
    """What is left of a file after everything that does not fit its shape was noted and taken out.

    numbers : for each list of tables the places its remaining tables had in the file.
    broken : for each list of tables the ids of those taken out: known, but not to be looked into. Of a list
        that could not be read at all it holds every id.
    """

    shape: ShapeType
    numbers: dict[str, list[int]]
    broken: dict[str, set[str]]

    def tables(self, kind: str) -> Iterator[tuple[Path, Any]]:
        """The remaining tables of a kind, each with its path in the file."""
        for number, table in zip(self.numbers[kind], getattr(self.shape, kind), strict=True):
            yield (kind, number), table


def check_shape(model: type[ShapeType], toml: TomlFile, problems: ProblemList) -> Checked[ShapeType]:
    """Compare the file with its shape, note every difference, and return what remains."""
    data: dict[str, Any] = copy.deepcopy(toml.data)
    formats = get_args(model.model_fields["format"].annotation)
    data["format"] = formats[0]  # checked before, with its own messages
    kinds = _table_lists(model)
    broken: dict[str, set[str]] = {kind: set() for kind in kinds}
    numbers: dict[str, list[int]] = {}
    try:
        shape = model.model_validate(data)
    except ValidationError as failure:
        errors = failure.errors(include_url=False)
        for number, error in enumerate(errors):
            if problems.is_full:
                problems.count(len(errors) - number)
                break
            _note(model, toml, problems, error)
        _take_out(model, data, [tuple(error["loc"]) for error in errors], broken)
        for kind in kinds:
            tables = data.get(kind, [])
            numbers[kind] = [number for number, table in enumerate(tables) if table is not None]
            data[kind] = [table for table in tables if table is not None]
        try:
            shape = model.model_validate(data)
        except ValidationError:
            # What is left cannot be looked into; the problems noted so far say why.
            raise problems.failure() from failure
    else:
        numbers = {kind: list(range(len(data.get(kind, [])))) for kind in kinds}
    return Checked(shape, numbers, broken)


def _table_lists(model: type[BaseModel]) -> dict[str, type[BaseModel]]:
    """The keys that hold lists of tables, and the shape of each table."""
    found = {}
    for name, info in model.model_fields.items():
        inner = get_args(info.annotation)
        if inner and isinstance(inner[0], type) and issubclass(inner[0], BaseModel):
            found[name] = inner[0]
    return found


def _shape_at(model: type[BaseModel], path: Path) -> type[BaseModel]:
    """The shape of the table that holds the last key of the path."""
    if not path:
        return model
    lists = _table_lists(model)
    if path[0] in lists:
        return lists[str(path[0])]
    info = model.model_fields.get(str(path[0]))
    inner = info.annotation if info is not None else None
    return inner if isinstance(inner, type) and issubclass(inner, BaseModel) else model


def _key_names(model: type[BaseModel]) -> dict[str, str]:
    """Keys as the file writes them, and the attribute each stands for."""
    return {info.alias or name: name for name, info in model.model_fields.items()}


def _take_out(model: type[BaseModel], data: dict[str, Any], paths: list[Path], broken: dict[str, set[str]]) -> None:
    """Remove what was refused from `data`; a table taken out of a list leaves None in its place."""
    lists = _table_lists(model)
    for path in paths:
        kind = str(path[0])
        if kind in lists and len(path) > 1:
            _take_out_of_table(lists[kind], data[kind], path, broken[kind])
        elif len(path) > 1 and isinstance(data.get(kind), dict):
            data[kind].pop(path[1], None)
        else:
            data.pop(kind, None)
            if kind in lists:
                broken[kind] = _Everything()
            if kind in _key_names(model) and model.model_fields[kind].is_required():
                data[kind] = _STAND_INS.get(kind, "unknown")


def _take_out_of_table(shape: type[BaseModel], tables: list[Any], path: Path, broken: set[str]) -> None:
    number = path[1]
    assert isinstance(number, int), "the second step into a list of tables is a number"
    table = tables[number]
    if table is None:
        return
    key = str(path[2]) if len(path) > 2 else ""
    names = _key_names(shape)
    required = key in names and shape.model_fields[names[key]].is_required()
    if not isinstance(table, dict) or (required and key not in _STAND_INS):
        if isinstance(table, dict) and isinstance(table.get("id"), str):
            broken.add(table["id"])
        tables[number] = None
    elif required:
        table[key] = _STAND_INS[key]
    elif len(path) > 3 and isinstance(table.get(key), dict):
        table[key].pop(path[3], None)
    else:
        table.pop(key, None)


def _note(model: type[BaseModel], toml: TomlFile, problems: ProblemList, error: ErrorDetails) -> None:
    path: Path = tuple(error["loc"])
    shape = _shape_at(model, path[:-1])
    key = str(path[-1])
    if error["type"] == "missing":
        inner = path[:-1]
        problems.add(
            toml.where(inner) or f"key {key}",
            f"the key {key} is missing; {_example(shape, key)}",
            line=toml.line(inner),
        )
        return
    message, suggestion = _in_words(model, shape, path, error)
    problems.add(toml.where(path), message, line=toml.line(path), suggestion=suggestion)


def _choices(shape: type[BaseModel], key: str) -> tuple[str, ...]:
    """The words allowed for a key, where there is a list of them."""
    name = _key_names(shape).get(key)
    if name is None:
        return ()
    options: list[str] = []
    for option in (shape.model_fields[name].annotation, *get_args(shape.model_fields[name].annotation)):
        options += [arg for arg in get_args(option) if isinstance(arg, str)]
    return tuple(dict.fromkeys(options))


def _example(shape: type[BaseModel], key: str) -> str:
    choices = _choices(shape, key)
    if choices:
        return f'write {key} = "{choices[0]}", or {listing([f"{c!s}" for c in choices[1:]])}'
    if key == "states":
        return 'write states = ["6SB7Y", "6BE6"], every state in quotes'
    info = shape.model_fields[_key_names(shape)[key]]
    return f"write {key} = 1" if info.annotation is int else f'write {key} = "…"'


def _in_words(
    model: type[BaseModel], shape: type[BaseModel], path: Path, error: ErrorDetails
) -> tuple[str, str | None]:
    """What is wrong with one value and what would be right; and the nearest right word."""
    key, given = str(path[-1]), error["input"]
    context = error.get("ctx", {})
    match error["type"]:
        case "extra_forbidden":
            return _unknown_key(model, shape, path)
        case "literal_error":
            choices = _choices(shape, key)
            return f"must be {listing(choices)}; {_shown(given)} was given", nearest(str(given), choices)
        case "string_type":
            return f"must be text in quotes; {_shown(given)} was given{_in_quotes(key, given)}", None
        case "string_pattern_mismatch":
            return _pattern_words(context["pattern"], given), None
        case "string_too_short":
            return "must not be empty", None
        case "string_too_long":
            return f"is {len(given):,} characters long; at most {context['max_length']:,} are read", None
        case "int_type" | "int_from_float" | "int_parsing":
            return f"must be a whole number without quotes; {_shown(given)} was given", None
        case "float_type" | "finite_number":
            return f"must be a number without quotes; {_shown(given)} was given", None
        case "bool_type":
            return f"must be true or false, without quotes; {_shown(given)} was given", None
        case "greater_than" | "greater_than_equal" | "less_than" | "less_than_equal":
            return f"must be {_range_words(error['type'], context)}; {_shown(given)} was given", None
        case "too_short":
            return "the list must not be empty", None
        case "too_long":
            return f"the list has {context['actual_length']} items; at most {context['max_length']} are read", None
        case "list_type" if isinstance(given, dict) and len(path) == 1:
            return f"write [[{key}]] with double brackets, once for each", None
        case "list_type" if len(path) == 1:
            return f"must be written as [[{key}]] tables; {_shown(given)} was given", None
        case "list_type":
            example = f"; write {key} = [{quoted(given)}]" if isinstance(given, str) else ""
            return f"must be a list in square brackets; {_shown(given)} was given{example}", None
        case "dict_type" | "model_type":
            return f"must be a table of keys and values; {_shown(given)} was given", None
    return f"{error['msg'][:1].lower()}{error['msg'][1:]}; {_shown(given)} was given", None


def _unknown_key(model: type[BaseModel], shape: type[BaseModel], path: Path) -> tuple[str, str | None]:
    key, known = str(path[-1]), list(_key_names(shape))
    what = "table" if len(path) == 1 else "key"
    close = nearest(key, known)
    if close is None and shape is not model and key in _key_names(model) and key not in _table_lists(model):
        return f"the key {key} belongs at the top of the file, before the first [table]", None
    return f"the {what} {quoted(key)} is not known here; known are {listing(known, 'and')}", close


def _pattern_words(pattern: str, given: str) -> str:
    if pattern == SHA256:
        return f"must be the SHA-256 sum of the file, 64 digits and letters a to f; {quoted(given)} was given"
    if "A-Za-z" not in pattern and "." not in pattern:
        return f"{quoted(given)} holds control characters or line breaks; write plain text on one line"
    if "A-Za-z" not in pattern:
        return f"must not hold a dot or control characters; {quoted(given)} was given"
    dots = ", dots (not first)" if "." in pattern else " (no dot)" if "." in given else ""
    return f"may hold the letters A to Z, digits, _ and -{dots}; {quoted(given)} was given"


def _range_words(kind: str, context: dict[str, Any]) -> str:
    limit = next(iter(context.values()))
    shown = f"{limit:,}" if isinstance(limit, int) else f"{limit:g}"
    words = {
        "greater_than": "greater than",
        "greater_than_equal": "at least",
        "less_than": "less than",
        "less_than_equal": "at most",
    }
    return f"{words[kind]} {shown}"


def _in_quotes(key: str, given: object) -> str:
    """How a bare number or date would be written as text."""
    if isinstance(given, bool) or not isinstance(given, int | float | datetime.date):
        return ""
    return f'; write {key} = "{given}"' if not key.isdigit() else f'; write "{given}"'


def _shown(given: object) -> str:
    """A TOML value as it is shown in a message."""
    match given:
        case bool():
            return "true" if given else "false"
        case str():
            return quoted(given)
        case dict():
            return "a table"
        case list():
            return "a list"
    return str(given)[:60]
