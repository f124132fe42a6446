"""Reading a literature file."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from setwright.files.literature.entry import Attachment, LiteratureEntry
from setwright.files.literature.shapes import LITERATURE_FORMAT, AttachmentShape, LiteratureShape
from setwright.files.problems import ProblemList
from setwright.files.shape_check import Checked, check_shape
from setwright.files.source_text import MEGABYTE, load
from setwright.files.toml.text import TomlFile, check_format, read_toml

LITERATURE_LIMIT = MEGABYTE

_SHA256 = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True)
class LiteratureFile:
    """A literature file that was read without a problem; `text` is the file as it stands."""

    name: str
    text: str
    entry: LiteratureEntry


def read_literature(path_or_bytes: str | Path | bytes, name: str | None = None) -> LiteratureFile:
    """Read a literature file of format setwright-literature/1.

    path_or_bytes : the file, or its content. name : what messages call it, default the path.

    Raises FileProblems with everything that is wrong; nothing is taken in then.
    """
    toml = read_toml(load(path_or_bytes, name, LITERATURE_LIMIT, "literature"))
    problems = ProblemList(toml.name)
    check_format(toml, LITERATURE_FORMAT, problems)
    checked = check_shape(LiteratureShape, toml, problems)
    _check_attachments(toml, checked, problems)
    problems.raise_if_any()
    return LiteratureFile(toml.name, toml.text, _entry(checked.shape))


def _entry(shape: LiteratureShape) -> LiteratureEntry:
    keys = shape.model_dump(exclude={"format", "attachment"})
    return LiteratureEntry(**keys, attachments=tuple(Attachment(**one.model_dump()) for one in shape.attachment))


def _check_attachments(toml: TomlFile, checked: Checked[LiteratureShape], problems: ProblemList) -> None:
    seen: set[str] = set()
    for path, table in checked.tables("attachment"):
        for key, message in _faults(table, seen):
            problems.add(toml.where((*path, key)), message, line=toml.line((*path, key)))
        seen.add(table.sha256)


def _faults(table: AttachmentShape, seen: set[str]) -> list[tuple[str, str]]:
    faults = []
    if not _SHA256.fullmatch(table.sha256):
        faults.append(("sha256", "must be the file's SHA-256 in 64 digits, 0 to 9 and a to f"))
    if table.sha256 in seen:
        faults.append(("sha256", "the same file is attached twice; keep one"))
    if table.opens_at > table.pages:
        faults.append(("opens_at", f"is page {table.opens_at} of a scan of {table.pages}; give a page that it has"))
    return faults
