"""One thing that can be found, before it stands in the index."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Item:
    """One thing that can be found.

    kind : which heading it is listed under. anchor : what it is in its record. title, body : what is shown; the body
    is sentences or lines. address : the page, with the place on it. aliases : words that find it and are not shown.
    cites : the sources it names, each the id of a document on the literature shelf or as it was written.
    """

    kind: str
    anchor: str
    title: str
    body: str
    address: str
    aliases: str = ""
    cites: tuple[str, ...] = ()

    def digest(self, family: str) -> str:
        """A fingerprint of everything that the index holds of it."""
        whole = "\x1f".join((self.kind, self.title, self.body, self.address, self.aliases, family, *self.cites))
        return hashlib.sha256(whole.encode("utf-8")).hexdigest()


def lines(*parts: str) -> str:
    """The parts that say something, each on its line."""
    return "\n".join(part for part in parts if part.strip())


def said(label: str, value: object) -> str:
    """`label: value`, or nothing where there is no value."""
    text = "" if value is None else str(value).strip()
    return f"{label}: {text}" if text else ""


def listed(label: str, values: Iterable[str]) -> str:
    """`label: one, another`, or nothing where there are none."""
    return said(label, ", ".join(values))
