"""Writing a casebook, file by file, into a stream."""

from __future__ import annotations

import hashlib
import zipfile
from datetime import datetime
from typing import BinaryIO

import tomlkit

from setwright import __version__
from setwright.files.casebook.shapes import CASEBOOK_FORMAT, INDEX, LIST, place_of


class CasebookWriter:
    """A casebook under way; `finish` writes the list of what is in it, without which it is none.

    stream : where it goes; it stays the caller's to close. made_at : the moment it says it was made, with a time zone.
    """

    def __init__(self, stream: BinaryIO, made_at: datetime) -> None:
        self._zip = zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED)
        self._made_at = made_at
        self._listed: dict[str, tuple[str, int]] = {}
        self._missing: list[str] = []

    def add(self, name: str, content: bytes | str) -> None:
        """Put one file in, under its name in the casebook; the same name again is passed over.

        Raises ValueError for a name that no file of a casebook has.
        """
        if name != INDEX and place_of(name) is None:
            raise ValueError(f"{name!r} is no place in a casebook")
        if name in self._listed:
            return
        data = content.encode("utf-8") if isinstance(content, str) else content
        self._write(name, data)
        self._listed[name] = (hashlib.sha256(data).hexdigest(), len(data))

    def note_missing(self, name: str) -> None:
        """Say that a file which records name could not be put in."""
        self._missing.append(name)

    def finish(self) -> None:
        """Write the list, and the end of the zip file."""
        document = tomlkit.document()
        document["format"] = CASEBOOK_FORMAT
        document["made_at"] = self._made_at.isoformat(timespec="seconds")
        document["made_with"] = f"Setwright {__version__}"
        if self._missing:
            document["missing"] = sorted(set(self._missing))
        tables = "".join(
            f'\n[[file]]\nname = "{name}"\nsha256 = "{sha256}"\nbytes = {size}\n'
            for name, (sha256, size) in sorted(self._listed.items())
        )
        self._write(LIST, (tomlkit.dumps(document) + tables).encode("utf-8"))
        self._zip.close()

    def _write(self, name: str, data: bytes) -> None:
        info = zipfile.ZipInfo(name, self._made_at.timetuple()[:6])
        info.external_attr = 0o644 << 16
        # Pictures and PDF files are packed already.
        is_text = name.endswith((".toml", ".csv", ".jsonl"))
        info.compress_type = zipfile.ZIP_DEFLATED if is_text else zipfile.ZIP_STORED
        self._zip.writestr(info, data)
