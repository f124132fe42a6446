"""Changing the shelf: every change through the records, so that each is in the history and can be taken back."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db import transaction

from setwright.files.literature import (
    Attachment,
    LiteratureEntry,
    LiteratureFile,
    add_attachment,
    change_attachment,
    change_literature,
    made_id,
    new_literature,
    read_literature,
    remove_attachment,
)
from setwright.files.problems import listing, quoted, refuse
from setwright.workbench.literature.files import store
from setwright.workbench.literature.models import LiteratureRecord
from setwright.workbench.literature.scans import Scan
from setwright.workbench.records import keeping
from setwright.workbench.records.keeping import By

KEY_WORDS = {
    "title": "title", "kind": "what it is", "maker": "maker", "model": "model", "chassis": "chassis",
    "volume": "volume", "page": "page", "pages": "how many pages", "year": "year", "owned": "whether it is owned",
    "where": "where a copy is", "note": "note",
}  # fmt: skip
"""The keys of a document's file as a history names them."""


def entry_of(record: LiteratureRecord) -> LiteratureEntry:
    """What the shelf knows of a document."""
    return read_literature(record.text.encode("utf-8"), record.file_name).entry


def add(keys: Mapping[str, object], *, by: By, what: str = "Put on the shelf") -> LiteratureRecord:
    """A new document, under an id made of what names it unless the keys have one. Raises FileProblems."""
    with transaction.atomic():
        named = {"id": keys.get("id") or _free_id(keys), **{key: value for key, value in keys.items() if key != "id"}}
        file = new_literature(named)
        made = keeping.create("literature", file.text, by=by, what=what, name=f"{named['id']}.toml")
    assert isinstance(made, LiteratureRecord)
    return made


def _free_id(keys: Mapping[str, object]) -> str:
    """An id that no document has or had."""
    wanted = made_id(keys)
    taken = set(LiteratureRecord.everything.filter(key__startswith=wanted).values_list("key", flat=True))
    number, free = 1, wanted
    while free in taken:
        number += 1
        free = f"{wanted}-{number}"
    return free


def change(
    record: LiteratureRecord,
    keys: Mapping[str, object],
    *,
    by: By,
    seen_revision: int | None = None,
    why: str = "Changed",
) -> LiteratureRecord:
    """A document with keys changed; None and "" take a key out. Raises FileProblems, ChangedMeanwhile."""
    before = entry_of(record)
    words = [KEY_WORDS[key] for key, value in keys.items() if differs(getattr(before, key), value)]
    what = f"{why}: {listing(words, 'and')}" if words else why
    return keeping.edit(
        record, lambda file: change_literature(file, keys), by=by, what=what, seen_revision=seen_revision
    )


def differs(present: object, given: object) -> bool:
    """Whether a value says something else than the present one; how a table breaks lines makes no difference."""
    if isinstance(present, str) and isinstance(given, str):
        return present.split() != given.split()
    return (present or None) != (given or None)


def attach(record: LiteratureRecord, scan: Scan, *, by: By, opens_at: int = 1) -> LiteratureRecord:
    """A document with one more scan. The file is on the disk before the document names it.

    Raises FileProblems where it is attached already or has no such page, OSError where the disk is full.
    """
    sha256 = store().put(scan.content, scan.suffix)
    table = {"sha256": sha256, "name": scan.name, "media_type": scan.media_type, "pages": scan.pages}
    if opens_at != 1:
        table["opens_at"] = opens_at

    def with_scan(file: LiteratureFile) -> LiteratureFile:
        if any(one.sha256 == sha256 for one in file.entry.attachments):
            raise refuse(scan.name, "this very file is attached already")
        return add_attachment(file, table)

    return keeping.edit(record, with_scan, by=by, what=f"Scan attached: {scan.name}")


def change_scan(
    record: LiteratureRecord,
    sha256: str,
    keys: Mapping[str, Any],
    *,
    by: By,
    seen_revision: int | None,
) -> LiteratureRecord:
    """A document with what it says of a scan changed."""
    return keeping.edit(
        record,
        lambda file: change_attachment(file, _number(file, sha256), keys),
        by=by,
        what=f"Scan {quoted(keys['name'])}: name, and where it opens",
        seen_revision=seen_revision,
    )


def detach(record: LiteratureRecord, scan: Attachment, *, by: By) -> LiteratureRecord:
    """A document without one scan; its file stays, so that the history can bring it back."""
    return keeping.edit(
        record,
        lambda file: remove_attachment(file, _number(file, scan.sha256)),
        by=by,
        what=f"Scan taken off: {scan.name}",
    )


def _number(file: LiteratureFile, sha256: str) -> int:
    for number, scan in enumerate(file.entry.attachments):
        if scan.sha256 == sha256:
            return number
    raise refuse(file.name, "the scan is no longer attached; somebody took it off meanwhile")
