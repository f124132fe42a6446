"""From a path or bytes to text: size limits, encodings, missing files, things that are no text at all."""

from __future__ import annotations

import codecs
from dataclasses import dataclass
from pathlib import Path

from setwright.files.problems import refuse

MEGABYTE = 1_000_000
FAMILY_LIMIT = 5 * MEGABYTE
SET_LIMIT = 5 * MEGABYTE
SURVIVORS_LIMIT = 1000 * MEGABYTE

_OTHER_KINDS = (
    (b"PK\x03\x04", "is a spreadsheet workbook or another packed file"),
    (b"\xd0\xcf\x11\xe0", "is an old spreadsheet workbook or document"),
    (b"%PDF", "is a PDF"),
    (b"\x1f\x8b", "is a compressed file"),
    (b"\x89PNG", "is a picture"),
    (b"\xff\xd8\xff", "is a picture"),
)
_WIDE_MARKS = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)


@dataclass(frozen=True, slots=True)
class SourceBytes:
    """A file's content under the name that messages use. `path` is where it lies, None for bytes given directly."""

    name: str
    data: bytes
    path: Path | None = None


def load(path_or_bytes: str | Path | bytes, name: str | None, limit: int, kind: str) -> SourceBytes:
    """The content of a file, or the bytes themselves; FileProblems where it is missing, unreadable or too large.

    limit : largest size in bytes. kind : "family", "set" or "survivors", for the message.
    """
    if isinstance(path_or_bytes, bytes):
        name = name or f"{kind} file"
        check_size(name, len(path_or_bytes), limit, kind)
        return SourceBytes(name, path_or_bytes)
    path = Path(path_or_bytes)
    name = name or str(path)
    try:
        check_size(name, path.stat().st_size, limit, kind)
        with path.open("rb") as stream:
            # One byte more than allowed shows a file that is longer than it says (a device, a pipe).
            data = stream.read(limit + 1)
    except OSError as error:
        raise refuse(name, cannot_open(error)) from error
    check_size(name, len(data), limit, kind)
    return SourceBytes(name, data, path)


def check_size(name: str, size: int, limit: int, kind: str) -> None:
    """FileProblems if a file is larger than its kind may be."""
    if size > limit:
        raise refuse(
            name,
            f"is {size / MEGABYTE:,.1f} MB large; a {kind} file may have {limit / MEGABYTE:,.0f} MB. "
            "Check that this is the right file, or split it",
        )


def cannot_open(error: OSError) -> str:
    """Why a file could not be opened, in plain words."""
    match error:
        case FileNotFoundError():
            return "there is no such file; check the name and the folder"
        case IsADirectoryError():
            return "this is a folder; name a file in it"
        case PermissionError():
            return "the file may not be read; check its permissions"
    return f"the file cannot be read ({error.strerror or error})"


def refuse_other_kinds(source: SourceBytes, wanted: str) -> None:
    """FileProblems for content that is plainly no text: workbooks, pictures, packed files."""
    for mark, what in _OTHER_KINDS:
        if source.data.startswith(mark):
            raise refuse(source.name, f"this {what}, not {wanted}; save or export it as {wanted}")


def decode_utf8(source: SourceBytes, wanted: str) -> str:
    """The text of a UTF-8 file, with or without a byte-order mark; FileProblems for any other encoding."""
    refuse_other_kinds(source, wanted)
    if source.data.startswith(_WIDE_MARKS):
        raise refuse(source.name, "the file is saved as UTF-16; save it as UTF-8")
    try:
        return source.data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        start = error.start + (3 if source.data.startswith(codecs.BOM_UTF8) else 0)
        line = source.data.count(b"\n", 0, start) + 1
        guess = _as_windows_1252(source.data[start : start + 1])
        seen = f' (in an older Western encoding that byte would be "{guess}")' if guess else ""
        raise refuse(
            source.name,
            f"the byte 0x{source.data[start]:02X} is not UTF-8 text{seen}; save the file as UTF-8",
            line=line,
        ) from None


def _as_windows_1252(byte: bytes) -> str | None:
    try:
        text = byte.decode("cp1252")
    except UnicodeDecodeError:
        return None
    return text if text.isprintable() else None
