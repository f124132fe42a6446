"""Changing records: one way for every kind, with an entry in the history for each change.

Everything here is one transaction with the record locked, so two people never overwrite each other unawares, and
what was answered is stored. `by` is the account that does it, None for the command line. `what` is one plain
sentence for the history.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

from django.contrib.auth.base_user import AbstractBaseUser
from django.contrib.auth.models import AnonymousUser, User
from django.db import IntegrityError, transaction
from django.dispatch import Signal
from django.utils import timezone

from setwright.files.problems import quoted, refuse
from setwright.workbench.records.errors import ChangedMeanwhile, Refused
from setwright.workbench.records.kinds import kind_named, kind_of
from setwright.workbench.records.models import Document, Revision, digest_of, packed

AnyRecord = TypeVar("AnyRecord", bound=Document)

By = AbstractBaseUser | AnonymousUser | None
"""The account that does something, as `request.user` has it; None where no account does, as on the command line."""

COMMAND_LINE = "the command line"
"""Who did it where no account did."""

NUL = "\0"

changed = Signal()
"""Sent inside the transaction for each entry written: sender the record's class, record, revision (a Revision)."""


def keep(
    record: AnyRecord,
    text: str,
    *,
    by: By,
    what: str,
    seen_revision: int | None = None,
    name: str | None = None,
    alone: bool = True,
) -> AnyRecord:
    """Make `text` the record's text; the record as it then stands. A text that is there already makes no entry.

    seen_revision : the revision that the person's form showed; give it wherever the text replaces what they saw.
    name : a new file name. alone : False where the caller checks afterwards that all other records still read.

    Raises FileProblems where the text cannot be read, or other records could not be any more; ChangedMeanwhile where
    the record moved on or was removed.
    """
    with transaction.atomic():
        locked = lock(record)
        check_seen(locked, seen_revision)
        return write(locked, text, by=by, what=what, name=name, alone=alone)


def edit(
    record: AnyRecord,
    change: Callable[[Any], Any],
    *,
    by: By,
    what: str,
    seen_revision: int | None = None,
) -> AnyRecord:
    """Apply one edit to the text as it stands now, whoever changed it before; the record as it then stands.

    change : takes what the kind's reader gives (SetFile, FamilyFile; for survivors the CSV text), gives back the
        same with the edit made. seen_revision, errors : as in `keep`.
    """
    with transaction.atomic():
        locked = lock(record)
        check_seen(locked, seen_revision)
        kind = kind_of(locked)
        edited = change(kind.read(locked, locked.text))
        return write(locked, kind.text_of(edited), by=by, what=what)


def create(kind: str, text: str, *, by: By, what: str, name: str, parent: Document | None = None) -> Document:
    """A new record of a kind ("family", "set", "survivors", …). A removed one of the same id comes back with this text.

    name : its file name. parent : the family that survivors belong to; a set's text names its own.
    Raises FileProblems where the text cannot be read or the id is taken.
    """
    spec = kind_named(kind)
    with transaction.atomic():
        made = spec.made(text, name, parent)
        made.file_name = Path(name).name[-500:]
        held = _lock_parent(made)
        if held is not None and held.is_removed:
            raise refuse(name, f"{kind_of(held).noun} {quoted(held.key)} is removed; bring it back first")
        before: Document | None = spec.model.everything.select_for_update().filter(key=made.key).first()
        if before is None:
            made.revision = 0
            new: Document = write(made, text, by=by, what=what)
            return new
        if not before.is_removed:
            raise refuse(name, f"there is a {spec.noun} {quoted(made.key)} already; give this one another id")
        if spec.parent_field:
            setattr(before, spec.parent_field, getattr(made, spec.parent_field))
        before.removed_at = None
        return write(before, text, by=by, what=what, name=name, always=True)


def remove(record: AnyRecord, by: By, *, seen_revision: int | None = None) -> AnyRecord:
    """Remove a record; `bring_back` undoes it. Raises Refused with the reason where it has to stay."""
    with transaction.atomic():
        locked = lock(record)
        check_seen(locked, seen_revision)
        reason = kind_of(locked).why_kept(locked)
        if reason:
            raise Refused(reason)
        locked.removed_at = timezone.now()
        return _enter(locked, by, "Removed")


def bring_back(record: AnyRecord, by: By, *, undoes: int | None = None) -> AnyRecord:
    """Bring a removed record back as it was. Raises Refused with the reason, FileProblems where it reads no more."""
    with transaction.atomic():
        locked = lock(record)
        if not locked.is_removed:
            raise Refused("It is there already: somebody brought it back meanwhile.")
        reason = kind_of(locked).why_gone(locked)
        if reason:
            raise Refused(reason)
        locked.removed_at = None
        return write(locked, locked.text, by=by, what="Brought back", undoes=undoes, always=True)


def lock(record: AnyRecord) -> AnyRecord:
    """The record as it stands now, for this transaction alone; removed ones too. Its parent is locked with it."""
    parent = _lock_parent(record)
    locked = type(record).everything.select_for_update().get(pk=record.pk)
    if parent is not None:
        setattr(locked, kind_of(record).parent_field, parent)
    return locked


def lock_all(model: type[Document]) -> None:
    """Holds all records of a model until the transaction ends, for one that changes several of them or of their sets.

    Always in the same order, so that two such transactions never wait for each other.
    """
    list(model._base_manager.select_for_update().order_by("pk").values_list("pk"))


def _lock_parent(record: Document) -> Document | None:
    """Always the parent before the child, so that two changes never wait for each other."""
    field = kind_of(record).parent_field
    if not field:
        return None
    parent: Document = getattr(record, field)
    locked = type(parent).everything.select_for_update().get(pk=parent.pk)
    setattr(record, field, locked)
    return locked


def check_seen(locked: Document, seen_revision: int | None) -> None:
    """ChangedMeanwhile where the record is not what the person saw, or is there no more."""
    if not locked.is_removed and seen_revision in (None, locked.revision):
        return
    newest = Revision.objects.defer("text_zip").get(kind=locked.record_kind, key=locked.key, number=locked.revision)
    raise ChangedMeanwhile(locked, newest.by_name, newest.at, newest.what)


def write(
    locked: AnyRecord,
    text: str,
    *,
    by: By,
    what: str,
    name: str | None = None,
    undoes: int | None = None,
    alone: bool = True,
    always: bool = False,
) -> AnyRecord:
    """Store a text in a locked record and enter it in the history. always : even where the text is the same."""
    kind = kind_of(locked)
    if NUL in text:
        message = "the text holds a NUL character, which no text has; save the file anew as text"
        raise refuse(name or locked.file_name, message, line=text.count("\n", 0, text.index(NUL)) + 1)
    digest = digest_of(text)
    if name is not None:
        locked.file_name = Path(name).name[-500:]
    file = kind.read(locked, text)
    if kind.key_of(locked, file) != locked.key:
        raise refuse(
            locked.file_name, f"the id is {quoted(kind.key_of(locked, file))}; this {kind.noun} is {quoted(locked.key)}"
        )
    if digest == locked.digest and not always:
        return locked
    locked.text, locked.digest = text, digest
    for column, value in kind.columns(locked, file).items():
        setattr(locked, column, value)
    entered = _enter(locked, by, what, undoes)
    if alone:
        kind.check_dependants(entered)
    return entered


def name_of(by: By) -> str:
    """Who did it, for the history."""
    return COMMAND_LINE if by is None else by.get_username()


def _enter(locked: AnyRecord, by: By, what: str, undoes: int | None = None) -> AnyRecord:
    """Store the record with one more entry in its history."""
    locked.revision += 1
    locked.changed_at = timezone.now()
    locked.changed_by = by if isinstance(by, User) else None
    _save(locked)
    entry = Revision.objects.create(
        kind=locked.record_kind,
        key=locked.key,
        number=locked.revision,
        text_zip=packed(locked.text),
        digest=locked.digest,
        by=locked.changed_by,
        by_name=name_of(by),
        at=locked.changed_at,
        what=what.replace(NUL, ""),
        undoes=undoes,
        removed=locked.is_removed,
    )
    changed.send(sender=type(locked), record=locked, revision=entry)
    return locked


def _save(record: Document) -> None:
    """Stores it; another one that took the same id at the same moment is told like one that was there before."""
    try:
        with transaction.atomic():
            record.save()
    except IntegrityError as error:
        if record.pk is not None:
            raise
        noun = kind_of(record).noun
        message = f"there is a {noun} {quoted(record.key)} already; give this one another id"
        raise refuse(record.file_name, message) from error
