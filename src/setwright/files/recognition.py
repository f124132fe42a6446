"""Which of our formats a file is of, told without reading it in full."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Literal

from setwright.files.circuits.shapes import CIRCUIT_FORMAT
from setwright.files.problems import quoted, refuse
from setwright.files.shapes import FAMILY_FORMAT
from setwright.files.source_text import cannot_open

Kind = Literal["family", "set", "survivors", "circuit", "readings", "literature", "casebook"]

REGISTER_SUFFIX = ".survivors.csv"
"""A file named FAMILY.survivors.csv says by its name whose survivors it holds."""

_HEAD = 65_536
_FORMAT_KEY = re.compile(rb"""^\s*format\s*=\s*["']([^"'\n]*)["']""", re.MULTILINE)
_ID_KEY = re.compile(r"""^\s*id\s*=\s*["']([^"'\n]*)["']""", re.MULTILINE)
_TABLE_NAMES = (".csv", ".tsv", ".tab")
_BY_FORMAT: dict[str, Kind] = {
    "setwright-family/": "family",
    "setwright-set/": "set",
    "setwright-circuit/": "circuit",
    "setwright-literature/": "literature",
}
_CHECKED = (
    "checked are families, sets, circuits and literature (TOML with a format key), survivors (CSV with a column id), "
    "readings (CSV with a column point) and casebooks (zip)"
)
_READINGS = {"point", "quantity", "value", "unit"}
_ZIP = b"PK\x03\x04"


def kind_of(path: str | Path) -> Kind:
    """What a file is, by its `format` key or, being a table, by its header.

    A TOML file with a mistake in it counts as what its format key says. FileProblems for a file that cannot be
    opened and for one that is none of these.
    """
    name = str(path)
    try:
        head = _head(Path(path))
    except OSError as error:
        raise refuse(name, cannot_open(error)) from error
    if head.startswith(_ZIP):
        return "casebook"
    is_table = name.lower().endswith(_TABLE_NAMES)
    found = _FORMAT_KEY.search(head)
    if found is not None and not is_table:
        return _by_format(name, found[1].decode("utf-8", "replace"))
    if name.lower().endswith(".toml"):
        # The family reader says what a TOML file without a format key needs.
        return "family"
    return _table_kind(name, head, is_table)


def _head(path: Path) -> bytes:
    with path.open("rb") as stream:
        return stream.read(_HEAD)


def _by_format(name: str, given: str) -> Kind:
    for begins, kind in _BY_FORMAT.items():
        if given.startswith(begins):
            return kind
    raise refuse(name, f"its format is {quoted(given)}; {_CHECKED}", where="key format")


def _table_kind(name: str, head: bytes, is_table: bool) -> Kind:
    encoding = "utf-16" if head.startswith((b"\xff\xfe", b"\xfe\xff")) else "utf-8"
    rows = head.decode(encoding, "replace").lstrip("\ufeff").splitlines() or [""]
    if rows[0].lower().startswith("sep="):
        rows = rows[1:] or [""]
    names = {cell.strip().strip('"') for cell in re.split("[,;\t|]", rows[0])}
    if names >= _READINGS:
        return "readings"
    if is_table or "id" in names:
        return "survivors"
    raise refuse(name, f"the file is none of ours; {_CHECKED}")


def family_id_in(path: Path) -> str | None:
    """The id of the family file at a path, None for anything else; only its head is read."""
    return _id_in(path, FAMILY_FORMAT)


def _id_in(path: Path, wanted: str) -> str | None:
    try:
        head = _head(path)
    except OSError:
        return None
    found = _FORMAT_KEY.search(head)
    if found is None or found[1].decode("utf-8", "replace") != wanted:
        return None
    # Only keys before the first table are the file's own.
    top = re.split(r"^\s*\[", head.decode("utf-8", "replace"), maxsplit=1, flags=re.MULTILINE)[0]
    name = _ID_KEY.search(top)
    return name[1] if name else None


def family_named_by(path: str | Path) -> str | None:
    """The family that the name FAMILY.survivors.csv says the survivors are of; None for any other name."""
    name = Path(path).name
    return name.removesuffix(REGISTER_SUFFIX) if name.endswith(REGISTER_SUFFIX) else None


def families_beside(path: Path) -> dict[Path, str]:
    """The family files in the folder of a file, each with its id."""
    return _beside(path, FAMILY_FORMAT)


def circuits_beside(path: Path) -> dict[Path, str]:
    """The circuit files in the folder of a file, each with its id."""
    return _beside(path, CIRCUIT_FORMAT)


def _beside(path: Path, wanted: str) -> dict[Path, str]:
    try:
        found = sorted(path.absolute().parent.glob("*.toml"))
    except OSError:
        return {}
    ids = {candidate: _id_in(candidate, wanted) for candidate in found}
    return {candidate: name for candidate, name in ids.items() if name is not None}
