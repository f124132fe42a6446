"""Writing a text file whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from setwright.files.problems import refuse


def write_text(path: str | Path, text: str, *, overwrite: bool = False, replacing: str | None = None) -> None:
    """Put a text in a file's place at one stroke: whoever reads sees the old file or the new one, whole.

    overwrite : whether a file that exists may be replaced. replacing : the text that a change started from;
    the file may be replaced if it still holds it.

    UTF-8, line ends as they are in the text. The new file is written beside the old one, forced to disk and
    renamed; permissions are kept, a link goes on pointing to the file. Raises FileProblems where the file is
    not to be replaced or cannot be written; what stood there stands then as it was.
    """
    target = Path(os.path.realpath(path))
    try:
        if target.exists():
            if replacing is not None:
                _refuse_changed(path, target, replacing)
            elif not overwrite:
                raise refuse(
                    str(path),
                    "the file exists already and was not touched; give another name, or --force to replace it",
                )
        _write_beside(target, text.encode("utf-8"))
    except OSError as error:
        why = error.strerror or error
        raise refuse(str(path), f"the file cannot be written ({why}); check the name and the folder") from error


def _refuse_changed(path: str | Path, target: Path, replacing: str) -> None:
    try:
        unchanged = target.read_bytes().decode("utf-8-sig") == replacing
    except UnicodeDecodeError as error:
        raise refuse(str(path), "the file has been changed since it was read, and is no longer UTF-8") from error
    if not unchanged:
        raise refuse(str(path), "the file has been changed since it was read; read it again and repeat the change")


def _write_beside(target: Path, data: bytes) -> None:
    handle, name = tempfile.mkstemp(prefix=f".{target.name}.", suffix=".new", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        # A temporary file is for its owner alone; the new file gets what the old one had, or what files usually get.
        os.chmod(name, target.stat().st_mode & 0o777 if target.exists() else 0o666 & ~_umask())
        os.replace(name, target)
    except BaseException:
        os.unlink(name)
        raise
    _sync_folder(target.parent)


def _umask() -> int:
    current = os.umask(0)
    os.umask(current)
    return current


def _sync_folder(folder: Path) -> None:
    """Force the renaming to disk, where the system knows how to (Windows does not open folders)."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
