"""A casebook that somebody sent and has not decided on yet: kept aside for a day, never held in memory as a whole."""

from __future__ import annotations

import contextlib
import os
import re
import secrets
import time
from collections.abc import Iterable
from pathlib import Path

from setwright.workbench.incoming import KEPT_SECONDS, NotKept

MOST_KEPT = 5
_TOKEN = re.compile(r"[A-Za-z0-9_-]{20,60}")


class Uploads:
    """The casebooks set aside in one folder. `owner` says whose: nobody else finds them."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def keep(self, name: str, chunks: Iterable[bytes], owner: str) -> str:
        """Set a casebook aside, piece by piece; the token under which it is found again. OSError for a full disk."""
        self.folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        self._tidy()
        token = secrets.token_urlsafe(24)
        path = self.folder / f"{token}.part"
        try:
            with path.open("wb") as stream:
                for chunk in chunks:
                    stream.write(chunk)
            (self.folder / f"{token}.name").write_text(f"{owner}\n{' '.join(name.split())}", encoding="utf-8")
            os.replace(path, self._content(token))
        except BaseException:
            with contextlib.suppress(FileNotFoundError):
                path.unlink()
            raise
        return token

    def find(self, token: str, owner: str) -> tuple[str, Path]:
        """The name of a casebook set aside and where it lies. Raises NotKept."""
        path = self._content(token)
        try:
            whose, _, name = (self.folder / f"{token}.name").read_text(encoding="utf-8").partition("\n")
        except FileNotFoundError:
            raise NotKept from None
        if whose != owner or not path.is_file():
            raise NotKept
        return name, path

    def drop(self, token: str) -> None:
        """Forget it."""
        self._content(token).unlink(missing_ok=True)
        (self.folder / f"{token}.name").unlink(missing_ok=True)

    def _content(self, token: str) -> Path:
        if not _TOKEN.fullmatch(token):
            raise NotKept
        return self.folder / f"{token}.zip"

    def _tidy(self) -> None:
        """Forget what is too old, what was broken off, and the oldest of more than a few."""
        kept = sorted((path.stat().st_mtime, path) for path in self.folder.iterdir())
        books = [path for _, path in kept if path.suffix == ".zip"]
        gone = {path.stem for path in books[: max(len(books) + 1 - MOST_KEPT, 0)]}
        for moment, path in kept:
            if moment < time.time() - KEPT_SECONDS or path.stem in gone:
                path.unlink(missing_ok=True)
