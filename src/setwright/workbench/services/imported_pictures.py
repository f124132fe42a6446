"""Pictures and scans that come in beside the sets and documents that name them."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Iterable
from pathlib import PurePath
from typing import Literal

from setwright.files.problems import refuse
from setwright.workbench.literature import files as scans
from setwright.workbench.literature.scans import ScanRefused
from setwright.workbench.literature.scans import checked as checked_scan
from setwright.workbench.photos import store as photos
from setwright.workbench.photos.cleaning import PhotoRefused
from setwright.workbench.photos.cleaning import checked as checked_photo

ENDINGS = (".jpg", ".png", ".pdf")
"""How a picture's or a scan's file is called: as it is kept, and as it stands in a casebook."""

Use = Literal["photo", "scan"]
_TABLES: tuple[tuple[str, Use], ...] = (("photo", "photo"), ("attachment", "scan"))


def named_in(texts: Iterable[bytes]) -> dict[str, set[Use]]:
    """What sets' and documents' files name, by the SHA-256 of its content: photos, scans, or one and the same as both.

    texts : TOML that can be parsed; whether the files are right otherwise, their readers say.
    """
    named: dict[str, set[Use]] = {}
    for text in texts:
        keys = tomllib.loads(text.decode("utf-8-sig"))
        for table, use in _TABLES:
            rows = keys.get(table, [])
            for row in rows if isinstance(rows, list) else []:
                if isinstance(row, dict) and isinstance(row.get("sha256"), str):
                    named.setdefault(row["sha256"], set()).add(use)
    return named


def keep(name: str, content: bytes, named: dict[str, set[Use]]) -> tuple[str, str]:
    """Keep one picture or scan; gives what it is kept as and its SHA-256.

    Without a record that names it it harms nothing, so it needs no transaction. Raises FileProblems for what nothing
    names, and for what is no picture or PDF.
    """
    sha256 = hashlib.sha256(content).hexdigest()
    uses = named.get(sha256)
    if not uses:
        raise refuse(
            name,
            f"no set and no document that is taken in with it names this picture (SHA-256 {sha256[:12]}…); "
            "name its set's or its document's file as well, or add the picture on the set's page",
        )
    try:
        if "photo" in uses:
            photos.take_over(content, sha256, name)
        if "scan" in uses:
            _keep_scan(name, content)
    except (PhotoRefused, ScanRefused) as refused:
        raise refuse(name, refused.message) from refused
    return " and ".join(sorted(uses)), sha256


def _keep_scan(name: str, content: bytes) -> None:
    # A picture has to be the cleaned one, or its name would be that of other content.
    checked = checked_scan(content, name) if content.startswith(b"%PDF-") else checked_photo(content, name)
    scans.store().put(content, checked.suffix)


def is_picture(name: str) -> bool:
    """Whether a file is a picture or a scan, by its name."""
    return PurePath(name).suffix.lower() in ENDINGS
