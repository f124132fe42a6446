"""Takes away pictures and scans that nothing names: a process was killed, or refused, between file and record.

A file goes when it is older than a day and no record names it, no removed record and no entry of any history, for all
of these can be brought back. Nothing goes where the histories here may not be all there are: after a backup was put
back (what was there is still aside), or where more files are unnamed than named, which looks like other records.
"""

from __future__ import annotations

import logging
import os
import re
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

from django.db import connection

from setwright.workbench.backup.making import STORES
from setwright.workbench.backup.manifest import SQLITE
from setwright.workbench.blobs import BlobStore
from setwright.workbench.photos.models import Blob
from setwright.workbench.records.kinds import all_kinds
from setwright.workbench.records.models import Revision

ONE_DAY_SECONDS = 24 * 3600.0

_SUM = re.compile(r"[0-9a-f]{64}")
_log = logging.getLogger(__name__)


def tidy(data: Path) -> list[str]:
    """Take away what nothing names; the names of those files. Raises DatabaseError, OSError."""
    if any(data.glob("before-restore-*")) or (connection.vendor != "sqlite" and (data / SQLITE).exists()):
        return []
    gone: list[str] = []
    for name in STORES:
        store = BlobStore(data / name)
        for left in store.folder.glob("[0-9a-f][0-9a-f]/.unfinished-*"):
            if _is_old(left):
                left.unlink(missing_ok=True)
        paths = list(store.paths())
        unnamed = _unnamed({path.stem for path in paths if _is_old(path)})
        if len(unnamed) > len(paths) / 2:
            _log.warning(
                "No record names %d of the %d files in %s; they were left", len(unnamed), len(paths), store.folder
            )
            continue
        gone += [path.name for path in paths if path.stem in unnamed and _take_away(path)]
    if gone:
        _log.warning("Took away %d pictures and scans that no record named", len(gone))
    return gone


def _is_old(path: Path) -> bool:
    try:
        return time.time() - path.stat().st_mtime > ONE_DAY_SECONDS
    except FileNotFoundError:
        return False


def _unnamed(sums: set[str]) -> set[str]:
    """Those of the sums that no text has. Histories are long, so they are gone through only for what is left."""
    left = set(sums)
    for text in _texts():
        if not left:
            return left
        left.difference_update(_SUM.findall(text))
    return left


def _texts() -> Iterator[str]:
    for kind in all_kinds():
        yield from kind.model.everything.values_list("text", flat=True).iterator(chunk_size=20)
    for entry in Revision.objects.order_by("-pk").iterator(chunk_size=20):
        yield entry.text


def _take_away(path: Path) -> bool:
    """Take one file away, unless somebody keeps the same content again meanwhile, which makes it young.

    The row goes before the file, so that whoever keeps it again finds both or makes both.
    """
    row = Blob.objects.filter(sha256=path.stem).first()
    Blob.objects.filter(sha256=path.stem).delete()
    aside = path.with_name(f".unfinished-{path.name}")
    with suppress(FileNotFoundError):
        os.replace(path, aside)
        if _is_old(aside):
            aside.unlink()
            return True
        os.replace(aside, path)
    if row is not None:
        Blob.objects.get_or_create(
            sha256=row.sha256,
            defaults={
                "media_type": row.media_type,
                "width": row.width,
                "height": row.height,
                "size": row.size,
            },
        )
    return False
