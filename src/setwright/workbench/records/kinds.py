"""How each kind of record is read. An app registers its kind when it is ready (see sets/kind.py)."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Sequence
from typing import Any, ClassVar, Generic, TypeVar

from setwright.workbench.records.models import Document

Record = TypeVar("Record", bound=Document)
File = TypeVar("File")


class Kind(ABC, Generic[Record, File]):
    """What one kind of record is made of.

    name : as in `Document.record_kind`. noun : as a sentence has it. model : the record's class.
    parent_field : the field that names the record it is read against; a change locks that record first, so that
        both never change at once. "" where there is none.
    """

    name: ClassVar[str]
    noun: ClassVar[str]
    model: ClassVar[type[Document]]
    parent_field: ClassVar[str] = ""

    @abstractmethod
    def read(self, record: Record, text: str) -> File:
        """The text as `edit` hands it to a change."""

    @abstractmethod
    def key_of(self, record: Record, file: File) -> str:
        """The id that the file gives itself; an id stays what it is."""

    @abstractmethod
    def columns(self, record: Record, file: File) -> dict[str, object]:
        """The record's columns that are read from the file. `read` or this raises FileProblems for a bad text."""

    @abstractmethod
    def made(self, text: str, name: str, parent: Document | None) -> Record:
        """A new record, not yet stored, with its key, its parent and `file_name`; FileProblems where it cannot be.

        parent : the one the caller named, where the text does not say it.
        """

    def text_of(self, file: File) -> str:
        """The text of what a change gave back."""
        return file if isinstance(file, str) else str(file.text)  # type: ignore[attr-defined]

    def check_dependants(self, record: Record) -> None:
        """FileProblems where other records cannot be read any more since this one changed."""

    def why_kept(self, record: Record) -> str:
        """Why it cannot be removed now, as a sentence; "" where it can."""
        return ""

    def in_the_way(self, record: Record) -> Sequence[tuple[str, str]]:
        """What has to be removed before it: names and addresses, the first of them where they are many."""
        return ()

    def what_goes(self, record: Record) -> str:
        """What leaves with it, as a sentence; "" where that is plain."""
        return ""

    def why_gone(self, record: Record) -> str:
        """Why it cannot be brought back now, as a sentence; "" where it can."""
        return ""

    def family_key(self, record: Record) -> str | None:
        """The key of the family whose roles decide who may see and change it; None where it belongs to none."""
        parent = getattr(record, self.parent_field) if self.parent_field else None
        return None if parent is None else str(parent.key)

    def history_address(self, record: Record) -> str:
        """The address of its history page; "" where it has none."""
        return ""


_kinds: dict[str, Kind[Any, Any]] = {}


def register(kind: Kind[Any, Any]) -> None:
    """Make a kind known; called once by its app's `ready`."""
    _kinds[kind.name] = kind


def kind_named(name: str) -> Kind[Any, Any]:
    """The kind of that name; KeyError where no app has registered it."""
    return _kinds[name]


def kind_of(record: Document) -> Kind[Any, Any]:
    """The kind of a record."""
    return _kinds[record.record_kind]


def all_kinds() -> tuple[Kind[Any, Any], ...]:
    """Every kind there is, in the order in which their apps were made ready."""
    return tuple(_kinds.values())
