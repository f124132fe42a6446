"""Reading a casebook: everything in it is verified, and all that is wrong told at once, before anything is taken in."""

from __future__ import annotations

import hashlib
import io
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import TypeVar

from setwright.files.case_reading import read_moment
from setwright.files.casebook.history import HistoryEntry, read_history
from setwright.files.casebook.shapes import CASEBOOK_FORMAT, INDEX, LIMITS, LIST, CasebookShape, place_of
from setwright.files.circuits.reading import CircuitFile, family_named_by, read_circuit
from setwright.files.families.reading import FamilyFile, read_family
from setwright.files.literature import LiteratureFile, read_literature
from setwright.files.problems import FileProblems, ProblemList, quoted, refuse
from setwright.files.readings import read_readings
from setwright.files.sets import SetFile, family_id_of, read_set
from setwright.files.shape_check import check_shape
from setwright.files.source_text import SourceBytes, cannot_open
from setwright.files.survivors.reading import read_survivors
from setwright.files.toml.text import check_format, read_toml
from setwright.files.zipped import ZippedFile
from setwright.notation import NotationError

Read = TypeVar("Read")


@dataclass(frozen=True)
class Casebook:
    """A casebook that was verified. Pictures and scans stay in the file until `content_of` reads them.

    families, sets, circuits, literature : by their ids. survivors : the text of each register, by its family's id.
    charts : the text of each printed chart, by its circuit's id.
    photos, attachments : the name in the casebook of each picture or scan, by the sum of its content.
    history : by kind and id. missing : names of files that records name and that were not to be had when it was made.
    """

    name: str
    made_at: datetime
    families: Mapping[str, FamilyFile]
    survivors: Mapping[str, str]
    sets: Mapping[str, SetFile]
    circuits: Mapping[str, CircuitFile]
    charts: Mapping[str, str]
    literature: Mapping[str, LiteratureFile]
    photos: Mapping[str, str]
    attachments: Mapping[str, str]
    history: Mapping[tuple[str, str], tuple[HistoryEntry, ...]]
    missing: tuple[str, ...]
    _zip: ZippedFile = field(repr=False, compare=False)
    _sums: Mapping[str, str] = field(repr=False, compare=False)

    def content_of(self, member: str) -> bytes:
        """A file's content, verified once more; FileProblems where the casebook was changed meanwhile."""
        content = self._zip.read(member)
        if hashlib.sha256(content).hexdigest() != self._sums[member]:
            raise refuse(self.name, "was changed while it was read; begin again", where=member)
        return content

    def close(self) -> None:
        """Close the file."""
        self._zip.close()

    def __enter__(self) -> Casebook:
        return self

    def __exit__(self, *unused: object) -> None:
        self.close()


def open_casebook(path_or_bytes: str | Path | bytes, name: str | None = None) -> Casebook:
    """Open and verify a casebook; close it when its pictures have been read.

    Nothing of it is written anywhere. Raises FileProblems with everything that is wrong.
    """
    if isinstance(path_or_bytes, bytes):
        name = name or "casebook"
        stream: io.BufferedIOBase = io.BytesIO(path_or_bytes)
    else:
        name = name or str(path_or_bytes)
        try:
            stream = Path(path_or_bytes).open("rb")  # noqa: SIM115 (the casebook keeps it open, for its pictures)
        except OSError as error:
            raise refuse(name, cannot_open(error)) from error
    try:
        packed = ZippedFile(stream, name, LIMITS)  # type: ignore[arg-type]
        return _Reader(packed, name).read()
    except BaseException:
        stream.close()
        raise


class _Reader:
    def __init__(self, packed: ZippedFile, name: str) -> None:
        self.zip = packed
        self.name = name
        self.problems = ProblemList(name)
        self.kinds: dict[str, dict[str, str]] = {}
        self.sums: dict[str, str] = {}

    def read(self) -> Casebook:
        shape, made_at = self._list()
        contents = self._verified(shape)
        # What does not hold what its sum says is not looked into: its mistakes would only be the damage.
        self.problems.raise_if_any()
        families = {key: self._parsed(member, read_family, contents) for key, member in self._of("family")}
        known = {key: file for key, file in families.items() if file is not None}
        sets = {
            key: self._parsed(member, lambda d, n: self._set(d, n, known), contents) for key, member in self._of("set")
        }
        shelf = {key: self._parsed(member, read_literature, contents) for key, member in self._of("literature")}
        circuits = {
            key: self._parsed(member, lambda d, n: self._circuit(d, n, known), contents)
            for key, member in self._of("circuit")
        }
        drawn = {key: file for key, file in circuits.items() if file is not None}
        self._check_ids(known, sets, shelf, drawn)
        charts = {
            key: self._parsed(member, lambda d, n, key=key: self._chart(d, n, key, drawn), contents)  # type: ignore[misc]
            for key, member in self._of("chart")
        }
        survivors = {
            key: self._parsed(member, lambda d, n, key=key: self._survivors(d, n, key, known), contents)  # type: ignore[misc]
            for key, member in self._of("survivors")
        }
        texts = {
            **{("family", key): file.text for key, file in known.items()},
            **{("set", key): file.text for key, file in sets.items() if file},
            **{("literature", key): file.text for key, file in shelf.items() if file},
            **{("survivors", key): text for key, text in survivors.items() if text is not None},
            **{("circuit", key): file.text for key, file in drawn.items()},
            **{("chart", key): text for key, text in charts.items() if text is not None},
        }
        history = self._history(contents, texts)
        self.problems.raise_if_any()
        return Casebook(
            name=self.name,
            made_at=made_at,
            families=known,
            survivors={key: text for key, text in survivors.items() if text is not None},
            sets={key: file for key, file in sets.items() if file is not None},
            circuits=drawn,
            charts={key: text for key, text in charts.items() if text is not None},
            literature={key: file for key, file in shelf.items() if file is not None},
            photos=dict(self._of("photo")),
            attachments=dict(self._of("attachment")),
            history=history,
            missing=tuple(shape.missing),
            _zip=self.zip,
            _sums=self.sums,
        )

    def _of(self, kind: str) -> list[tuple[str, str]]:
        """Id and name of every file of a kind."""
        return list(self.kinds.get(kind, {}).items())

    def _list(self) -> tuple[CasebookShape, datetime]:
        if LIST not in self.zip.names:
            raise refuse(self.name, f"this is a zip file, but no casebook: it holds no {LIST}")
        if self.zip.size(LIST) > 50_000_000:
            raise refuse(self.name, "is far longer than any list of files", where=LIST)
        toml = read_toml(SourceBytes(f"{self.name}: {LIST}", self.zip.read(LIST)))
        problems = ProblemList(toml.name)
        check_format(toml, CASEBOOK_FORMAT, problems)
        shape = check_shape(CasebookShape, toml, problems).shape
        problems.raise_if_any()
        try:
            return shape, read_moment(shape.made_at)
        except NotationError as error:
            raise refuse(toml.name, error.message, where="key made_at", line=toml.line(("made_at",))) from error

    def _verified(self, shape: CasebookShape) -> dict[str, bytes]:
        """The contents of all texts; every file's length and sum is held against the list."""
        names, contents = set(self.zip.names) - {LIST}, {}
        for entry in shape.file:
            if entry.name in self.sums:
                self.problems.add(quoted(entry.name), "stands twice in the list of files")
                continue
            self.sums[entry.name] = entry.sha256
            if entry.name not in names:
                self.problems.add(quoted(entry.name), "is in the list of files, but not in the casebook")
                continue
            place = place_of(entry.name)
            if place is None and entry.name != INDEX:
                self.problems.add(quoted(entry.name), "is no place where a casebook holds a file")
                continue
            content = self._checked(entry.name, entry.sha256, entry.bytes)
            if place is None or content is None:
                continue
            kind, key = place
            self.kinds.setdefault(kind, {})[key] = entry.name
            if kind in ("photo", "attachment"):
                if key != entry.sha256:
                    self.problems.add(quoted(entry.name), "is not named by the sum of its content")
            else:
                contents[entry.name] = content
        for name in sorted(names - set(self.sums)):
            self.problems.add(quoted(name), "is not in the list of files")
        return contents

    def _checked(self, name: str, sha256: str, size: int) -> bytes | None:
        try:
            content = self.zip.read(name)
        except FileProblems as failure:
            self._take_over(failure)
            return None
        if len(content) != size:
            self.problems.add(quoted(name), f"is {len(content):,} bytes long; the list of files says {size:,}")
        elif hashlib.sha256(content).hexdigest() != sha256:
            self.problems.add(quoted(name), "is damaged: its sum is not the one in the list of files")
        else:
            return content
        return None

    def _take_over(self, failure: FileProblems) -> None:
        for problem in failure.problems:
            self.problems.take(problem)
        self.problems.count(failure.left_out)

    def _parsed(self, member: str, read: Callable[[bytes, str], Read], contents: Mapping[str, bytes]) -> Read | None:
        try:
            return read(contents[member], f"{self.name}: {member}")
        except FileProblems as failure:
            self._take_over(failure)
            return None

    def _set(self, data: bytes, name: str, families: Mapping[str, FamilyFile]) -> SetFile:
        family = family_id_of(data, name)
        if family is None or family not in families:
            message = f"the set belongs to family {quoted(family)}, which the casebook does not hold (or not sound)"
            raise refuse(name, message, where="key family")
        return read_set(data, families[family].family, name)

    def _survivors(self, data: bytes, name: str, key: str, families: Mapping[str, FamilyFile]) -> str:
        if key not in families:
            raise refuse(name, f"the casebook does not hold the family {quoted(key)}, or not sound")
        read_survivors(data, families[key].family, name)
        return _utf8(data, name)

    def _circuit(self, data: bytes, name: str, families: Mapping[str, FamilyFile]) -> CircuitFile:
        family = family_named_by(data, name)
        if family is None or family not in families:
            message = f"the circuit belongs to family {quoted(family)}, which the casebook does not hold (or not sound)"
            raise refuse(name, message, where="key family")
        return read_circuit(data, families[family].family, name)

    def _chart(self, data: bytes, name: str, key: str, circuits: Mapping[str, CircuitFile]) -> str:
        if key not in circuits:
            raise refuse(name, f"the casebook does not hold the circuit {quoted(key)}, or not sound")
        read_readings(data, circuits[key].circuit, name)
        return _utf8(data, name)

    def _check_ids(
        self,
        families: Mapping[str, FamilyFile],
        sets: Mapping[str, SetFile | None],
        shelf: Mapping[str, LiteratureFile | None],
        circuits: Mapping[str, CircuitFile],
    ) -> None:
        ids = [(self.kinds["family"][key], key, file.family.id) for key, file in families.items()]
        ids += [(self.kinds["set"][key], key, file.set.id) for key, file in sets.items() if file is not None]
        ids += [(self.kinds["literature"][key], key, file.entry.id) for key, file in shelf.items() if file is not None]
        ids += [(self.kinds["circuit"][key], key, file.circuit.id) for key, file in circuits.items()]
        for member, key, own in ids:
            if own != key:
                self.problems.add(quoted(member), f"the id in it is {quoted(own)}; it is named by its id")

    def _history(
        self, contents: Mapping[str, bytes], texts: Mapping[tuple[str, str], str]
    ) -> dict[tuple[str, str], tuple[HistoryEntry, ...]]:
        found = {}
        for named, member in self._of("history"):
            kind, _, key = named.partition("-")
            if (kind, key) not in texts:
                self.problems.add(
                    quoted(member), f"is the history of a {kind} that the casebook does not hold (or not sound)"
                )
                continue
            entries = self._parsed(member, lambda d, n: read_history(_utf8(d, n), n), contents)
            if entries is None:
                continue
            if not entries or entries[-1].removed or entries[-1].text != texts[kind, key]:
                self.problems.add(quoted(member), f"does not end with the {kind} as it stands in the casebook")
                continue
            found[kind, key] = entries
        return found


def _utf8(data: bytes, name: str) -> str:
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise refuse(name, "is not UTF-8 text, as everything in a casebook is") from error
