"""Writing a text file whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from setwright.files.problems import refuse


def write_text(path: Path, text: str, *, overwrite: bool = False) -> None:
    """Write UTF-8 text, line ends as they are in it.

    The file appears only when all of it is written. FileProblems where it exists and `overwrite` is false, or where
    its folder cannot be written to.
    """
    if path.exists() and not overwrite:
        raise refuse(
            str(path), "the file exists already and was not touched; give another name, or --force to replace it"
        )
    try:
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    except OSError as error:
        raise refuse(str(path), f"the file cannot be written ({error.strerror or error}); check the folder") from error
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as stream:
            stream.write(text)
        _keep_permissions(path, Path(temporary))
        Path(temporary).replace(path)
    except OSError as error:
        Path(temporary).unlink(missing_ok=True)
        raise refuse(str(path), f"the file cannot be written ({error.strerror or error})") from error


def _keep_permissions(path: Path, temporary: Path) -> None:
    """A temporary file is private; the file keeps the permissions it had, a new one gets the usual ones."""
    if path.exists():
        mode = path.stat().st_mode & 0o777
    else:
        usual = os.umask(0)
        os.umask(usual)
        mode = 0o666 & ~usual
    temporary.chmod(mode)
