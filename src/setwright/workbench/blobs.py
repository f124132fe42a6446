"""Files kept by what they hold: photos and scans, outside the web root, under the SHA-256 of their content.

A `BlobStore` is one folder. What is put into it stands at `ab/abcdef….pdf`, written aside, flushed to the disk and
moved into place at one stroke, so that a name in the folder always means a whole file. Nothing is ever changed; the
same content put twice is kept once. On opening, the content is held against its name.

>>> import tempfile
>>> store = BlobStore(tempfile.mkdtemp())
>>> name = store.put(b"%PDF-1.4", ".pdf")
>>> with store.open_verified(name, ".pdf") as stream:
...     stream.read()
b'%PDF-1.4'
"""

from __future__ import annotations

import hashlib
import os
import re
import tempfile
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import BinaryIO

_NAME = re.compile(r"[0-9a-f]{64}")
_SUFFIX = re.compile(r"\.[a-z0-9]{1,8}")
_UNFINISHED = ".unfinished-"
_STEP = 1 << 20


class BlobProblem(Exception):
    """A kept file that cannot be given out. `message` is one plain sentence."""

    def __init__(self, sha256: str, message: str) -> None:
        self.sha256 = sha256
        self.message = message
        super().__init__(message)


class BlobMissing(BlobProblem):
    """A record names a file that is not in the folder."""


class BlobDamaged(BlobProblem):
    """A file in the folder is no longer what was put there."""


class BlobStore:
    """One folder of files named by their content. The folder is made when the first file is put into it."""

    def __init__(self, folder: str | Path) -> None:
        self.folder = Path(folder)

    def put(self, content: bytes, suffix: str) -> str:
        """Keep a file; gives its SHA-256 in hexadecimal digits. suffix : ".pdf", ".jpg" …, lower case.

        When this returns, the file is on the disk. A damaged copy under that name is replaced. Raises OSError where
        the disk is full or the folder may not be written to; nothing is left behind then.
        """
        sha256 = hashlib.sha256(content).hexdigest()
        path = self.path_of(sha256, suffix)
        if path.is_file() and path.stat().st_size == len(content) and _digest(path) == sha256:
            with suppress(FileNotFoundError):
                os.utime(path)  # young again: what nothing names is taken away once it is old
                return sha256
        path.parent.mkdir(parents=True, exist_ok=True)
        _write_at_one_stroke(path, content)
        return sha256

    def path_of(self, sha256: str, suffix: str) -> Path:
        """Where a file of that content stands, whether or not it is there. ValueError for what is no such name."""
        if not _NAME.fullmatch(sha256):
            raise ValueError(f"{sha256!r} is no SHA-256 in 64 lower-case hexadecimal digits")
        if not _SUFFIX.fullmatch(suffix):
            raise ValueError(f"{suffix!r} is no file suffix such as .pdf")
        return self.folder / sha256[:2] / f"{sha256}{suffix}"

    def has(self, sha256: str, suffix: str) -> bool:
        """Whether a file of that name is in the folder (its content is not read)."""
        return self.path_of(sha256, suffix).is_file()

    def open_verified(self, sha256: str, suffix: str) -> BinaryIO:
        """The file, opened for reading at its beginning, once its content was held against its name.

        Raises BlobMissing or BlobDamaged.
        """
        path = self.path_of(sha256, suffix)
        try:
            stream = path.open("rb")
        except FileNotFoundError:
            raise BlobMissing(sha256, f"The file {path.name} is not in the folder {self.folder}.") from None
        if hashlib.file_digest(stream, "sha256").hexdigest() != sha256:
            stream.close()
            raise BlobDamaged(sha256, f"The file {path} is damaged: its content is not what was put there.")
        stream.seek(0)
        return stream

    def read_verified(self, sha256: str, suffix: str) -> bytes:
        """The file's whole content. Raises BlobMissing or BlobDamaged."""
        with self.open_verified(sha256, suffix) as stream:
            return stream.read()

    def paths(self) -> Iterator[Path]:
        """Every whole file in the folder, in the order of their names; files half written by a killed process not."""
        for path in sorted(self.folder.glob("[0-9a-f][0-9a-f]/*")):
            if _NAME.fullmatch(path.stem) and path.name.startswith(path.parent.name):
                yield path

    def remove(self, sha256: str, suffix: str) -> None:
        """Take a file out of the folder, if it is there."""
        self.path_of(sha256, suffix).unlink(missing_ok=True)


def _digest(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def _write_at_one_stroke(path: Path, content: bytes) -> None:
    number, unfinished = tempfile.mkstemp(prefix=_UNFINISHED, dir=path.parent)
    try:
        with os.fdopen(number, "wb") as stream:
            for start in range(0, len(content), _STEP):
                stream.write(content[start : start + _STEP])
            stream.flush()
            os.fsync(stream.fileno())
        Path(unfinished).replace(path)
    except BaseException:
        with suppress(FileNotFoundError):
            os.unlink(unfinished)
        raise
    _flush_folder(path.parent)
    # A folder made a moment ago is itself an entry of the one above it.
    _flush_folder(path.parent.parent)


def _flush_folder(folder: Path) -> None:
    """Bring a folder's entries to the disk. Windows opens no folders; its file system keeps entries in order."""
    if os.name == "nt":
        return
    number = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(number)
    finally:
        os.close(number)


__all__ = ["BlobDamaged", "BlobMissing", "BlobProblem", "BlobStore"]
