"""Packed files from elsewhere: looked over before anything in them is unpacked.

A packed file can claim to be small and unpack to the size of a disk, name the same file twice, or name files
outside the folder it is unpacked into. Nothing is ever unpacked to a path here: members are read into memory,
each up to a size stated beforehand.
"""

from __future__ import annotations

import io
import struct
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import BinaryIO

from setwright.files.problems import ProblemList, quoted, refuse

UNREADABLE = (
    zipfile.BadZipFile,
    zipfile.LargeZipFile,
    zlib.error,
    struct.error,
    EOFError,
    NotImplementedError,
    RuntimeError,
    ValueError,
    OSError,
)
"""What the standard library raises for packed files that are damaged or of a kind it does not know."""

_METHODS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_STEP = 1_000_000
_LONGEST_ENTRY = 1_000
_ENCRYPTED = 0x1
_LINK = 0o120000
_KIND = 0o170000


@dataclass(frozen=True, slots=True)
class Limits:
    """How much a packed file may hold. ratio : bytes unpacked per byte packed, of a member over a megabyte."""

    members: int
    bytes_in_all: int
    ratio: float
    bytes_of_one: int = 10**12


class ZippedFile:
    """A packed file whose list of members has been looked over."""

    def __init__(self, stream: BinaryIO, name: str, limits: Limits) -> None:
        """Open it; FileProblems, all of them together, where its list of members cannot be trusted.

        stream : the file, open for reading; closed with this, once it is open.
        """
        self.name = name
        self._stream = stream
        try:
            _refuse_long_directory(stream, name, limits)
            self._zip = zipfile.ZipFile(stream)
            listed = self._zip.infolist()
        except UnicodeDecodeError as error:
            raise refuse(name, "the name of a file in it is not UTF-8; pack it anew") from error
        except UNREADABLE as error:
            raise refuse(name, f"the file is not whole, or no zip file ({_why(error)})") from error
        problems = ProblemList(name)
        _check_members(listed, limits, problems)
        if len(problems):
            self._zip.close()
        problems.raise_if_any()
        self._members = {info.filename: info for info in listed if not info.is_dir()}

    @property
    def names(self) -> tuple[str, ...]:
        """The names of the members, folders left out."""
        return tuple(self._members)

    def size(self, member: str) -> int:
        """The size a member unpacks to, as its entry says [bytes]."""
        return self._members[member].file_size

    def read(self, member: str) -> bytes:
        """A member's content; FileProblems where it is damaged or not as long as its entry says."""
        return b"".join(self.pieces(member))

    def pieces(self, member: str) -> Iterator[bytes]:
        """The same, a megabyte at a time."""
        info, got = self._members[member], 0
        try:
            with self._zip.open(info) as stream:
                while got <= info.file_size and (piece := stream.read(min(_STEP, info.file_size + 1 - got))):
                    got += len(piece)
                    yield piece
        except UNREADABLE as error:
            raise refuse(self.name, f"cannot be unpacked: it is damaged ({_why(error)})", where=member) from error
        if got != info.file_size:
            message = f"unpacks to another length than its entry says, which is {info.file_size:,} bytes"
            raise refuse(self.name, message, where=member)

    def close(self) -> None:
        """Close the file."""
        self._zip.close()
        self._stream.close()

    def __enter__(self) -> ZippedFile:
        return self

    def __exit__(self, *unused: object) -> None:
        self.close()


def _refuse_long_directory(stream: BinaryIO, name: str, limits: Limits) -> None:
    """FileProblems where the list of members is longer than any with names of ours, before it is held in memory.

    The list's size stands in the record at the end of the file (Zip File Format Specification, 4.3.16 and 4.3.14);
    it is looked for there as the standard library does.
    """
    size = stream.seek(0, io.SEEK_END)
    start = max(size - 65_557, 0)
    stream.seek(start)
    tail = stream.read()
    place = tail.rfind(b"PK\x05\x06")
    if place < 0 or len(tail) < place + 22:
        return  # no zip file, which the library says better
    directory = int.from_bytes(tail[place + 12 : place + 16], "little")
    if tail[max(place - 20, 0) : place].startswith(b"PK\x06\x07"):
        stream.seek(max(start + place - 76, 0))
        large = stream.read(56)
        directory = int.from_bytes(large[40:48], "little") if large.startswith(b"PK\x06\x06") else directory
    if directory > limits.members * _LONGEST_ENTRY:
        raise refuse(name, f"holds more than the {limits.members:,} files that are read")


def _check_members(listed: list[zipfile.ZipInfo], limits: Limits, problems: ProblemList) -> None:
    if len(listed) > limits.members:
        problems.add("", f"holds {len(listed):,} files; at most {limits.members:,} are read")
        return
    in_all = sum(info.file_size for info in listed)
    if in_all > limits.bytes_in_all:
        message = f"would unpack to {in_all / 1e6:,.0f} MB; at most {limits.bytes_in_all / 1e6:,.0f} MB are read"
        problems.add("", message)
    seen: set[str] = set()
    for info in listed:
        name = info.filename
        if name in seen:
            problems.add(quoted(name), "stands in the file twice; each name may stand once")
        seen.add(name)
        trouble = _trouble(info, limits)
        if trouble is not None:
            problems.add(quoted(name), trouble)


def _trouble(info: zipfile.ZipInfo, limits: Limits) -> str | None:
    """Why a member is refused, None for an ordinary one."""
    name = info.filename
    if not name.isprintable() or "\\" in name or "\ufffd" in name or len(name) > 300:
        return "the name cannot be used: it holds characters that file names of ours never have, or is too long"
    if name.startswith("/") or ":" in name or any(part in ("", ".", "..") for part in name.rstrip("/").split("/")):
        return "the name leads outside the folder; nothing of it was read"
    if info.create_system == 3 and (info.external_attr >> 16) & _KIND == _LINK:
        return "is a link to another file; only files themselves are read"
    if info.flag_bits & _ENCRYPTED:
        return "is encrypted; save it without a password"
    if info.compress_type not in _METHODS:
        return "is packed by a method that is not read here; pack it as zip programs usually do (deflate)"
    if info.file_size > limits.bytes_of_one:
        return f"would unpack to {info.file_size / 1e6:,.0f} MB; at most {limits.bytes_of_one / 1e6:,.0f} MB are read"
    if info.file_size > 1_000_000 and info.file_size > limits.ratio * max(info.compress_size, 1):
        unpacked = f"{info.file_size / 1e6:,.0f} MB"
        return f"would unpack to {unpacked} from {info.compress_size:,} bytes, which no file of ours does"
    return None


def _why(error: BaseException) -> str:
    text = str(error).strip().rstrip(".")
    return text[:1].lower() + text[1:] if text else type(error).__name__
