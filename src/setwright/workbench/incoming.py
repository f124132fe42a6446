"""What somebody sent and has not decided on yet: kept aside for a day, so that a preview need not send it twice."""

from __future__ import annotations

import contextlib
import os
import re
import secrets
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

KEPT_SECONDS = 24 * 3600
MOST_KEPT = 200
"""Beyond so many the oldest go first."""

_TOKEN = re.compile(r"[A-Za-z0-9_-]{20,60}")


class NotKept(LookupError):
    """Nothing is kept under this token: it was taken in, given up or is over a day old. The message says what to do."""

    def __init__(self) -> None:
        super().__init__("What you sent before is no longer here (it is kept for a day). Please send it once more.")


@dataclass(frozen=True, slots=True)
class Sent:
    """What was sent: the file's name and its content."""

    name: str
    content: bytes


class Incoming:
    """The things set aside in one folder. `owner` says whose and what for: under another one nothing is found."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def keep(self, sent: Sent, owner: str) -> str:
        """Set something aside; the token under which it is found again. OSError where the disk is full."""
        self.folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        self._tidy()
        plain_name = " ".join(sent.name.split())
        token = secrets.token_urlsafe(24)
        handle, name = tempfile.mkstemp(dir=self.folder, suffix=".new")
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(f"{owner}\n{plain_name}\n".encode())
                stream.write(sent.content)
            os.replace(name, self.folder / token)
        except BaseException:
            with contextlib.suppress(FileNotFoundError):
                os.unlink(name)
            raise
        return token

    def find(self, token: str, owner: str) -> Sent:
        """What was set aside under a token. Raises NotKept."""
        try:
            data = self._path(token).read_bytes()
        except FileNotFoundError:
            raise NotKept from None
        whose, name, content = data.split(b"\n", 2)
        if whose.decode() != owner:
            raise NotKept
        return Sent(name.decode(), content)

    def drop(self, token: str) -> None:
        """Forget it."""
        self._path(token).unlink(missing_ok=True)

    def _path(self, token: str) -> Path:
        if not _TOKEN.fullmatch(token):
            raise NotKept
        return self.folder / token

    def _tidy(self) -> None:
        """Forget what is too old, and the oldest of very many."""
        kept = []
        for path in self.folder.iterdir():
            with contextlib.suppress(FileNotFoundError):
                kept.append((path.stat().st_mtime, path))
        kept.sort()
        for number, (moment, path) in enumerate(kept):
            if moment < time.time() - KEPT_SECONDS or number < len(kept) - MOST_KEPT:
                path.unlink(missing_ok=True)
