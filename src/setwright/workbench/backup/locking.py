"""Says that a data folder is in use, so that nothing is put back under a running site.

Whoever works with the records holds the folder together with others; putting a backup back takes it alone. The system
gives it free when a process ends, however it ends.
"""

from __future__ import annotations

import os
from pathlib import Path

_held: dict[Path, int] = {}

NAME = ".in-use"
_HOLDERS = 64


class InUse(Exception):
    """Somebody else has the folder."""


def hold(data: Path) -> None:
    """Hold the folder until this process ends. Raises InUse while a backup is being put back there."""
    path = data.resolve()
    if path not in _held:
        handle = _open(path)
        _lock(handle, alone=False)
        _held[path] = handle


class Alone:
    """The folder for this process alone, as a context. Raises InUse while anybody holds it."""

    def __init__(self, data: Path) -> None:
        self._data = data.resolve()

    def __enter__(self) -> Alone:
        self._handle = _open(self._data)
        _lock(self._handle, alone=True)
        return self

    def __exit__(self, *unused: object) -> None:
        os.close(self._handle)


def _open(data: Path) -> int:
    return os.open(data / NAME, os.O_RDWR | os.O_CREAT, 0o600)


def _lock(handle: int, alone: bool) -> None:
    if os.name == "nt":
        _lock_on_windows(handle, alone)
        return
    import fcntl

    try:
        fcntl.flock(handle, (fcntl.LOCK_EX if alone else fcntl.LOCK_SH) | fcntl.LOCK_NB)
    except BlockingIOError:
        os.close(handle)
        raise InUse from None


def _lock_on_windows(handle: int, alone: bool) -> None:
    """There locks are never shared: each holder takes one byte of many, whoever wants it alone takes all of them."""
    import msvcrt

    places = [(0, _HOLDERS)] if alone else [(place, 1) for place in range(_HOLDERS)]
    for place, count in places:
        os.lseek(handle, place, os.SEEK_SET)
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, count)  # type: ignore[attr-defined]
        except OSError:
            continue
        return
    os.close(handle)
    raise InUse
