"""What the shelf knows of one document."""

from __future__ import annotations

from dataclasses import dataclass

KINDS = ("service data", "schematic", "parts list", "bulletin", "advertisement", "book", "other")
"""What a document can be."""

MEDIA_TYPES = {"application/pdf": ".pdf", "image/jpeg": ".jpg", "image/png": ".png"}
"""What a scan can be, and the suffix under which it is kept."""


@dataclass(frozen=True, slots=True)
class Attachment:
    """A scan of the document, or of a part of it.

    sha256 : of its content, 64 hexadecimal digits; finds the file. name : what the file was called.
    pages : how many pages it has. opens_at : the page of the scan on which the document begins.
    """

    sha256: str
    name: str
    media_type: str
    pages: int = 1
    opens_at: int = 1

    @property
    def suffix(self) -> str:
        """The suffix under which the file is kept."""
        return MEDIA_TYPES[self.media_type]


@dataclass(frozen=True, slots=True)
class LiteratureEntry:
    """One document: what it is, what it is about, and where a copy of it is.

    volume, page : where it stands in a collection, as printed. pages : how many pages it has, None where not known.
    where : where a copy is, one's own or another's.
    """

    id: str
    title: str
    kind: str = "other"
    maker: str = ""
    model: str = ""
    chassis: str = ""
    volume: str = ""
    page: str = ""
    pages: int | None = None
    year: int | None = None
    owned: bool = False
    where: str = ""
    note: str = ""
    attachments: tuple[Attachment, ...] = ()

    @property
    def place(self) -> str:
        """Volume and page as one says them: `volume VII, page 7-12`."""
        said = (f"volume {self.volume}" if self.volume else "", f"page {self.page}" if self.page else "")
        return ", ".join(filter(None, said))
