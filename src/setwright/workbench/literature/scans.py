"""What comes in as a scan: a PDF or a picture, known by what it holds, whole, and of bounded size."""

from __future__ import annotations

from dataclasses import dataclass
from io import BytesIO

from pypdf import PdfReader
from pypdf.errors import PyPdfError

from setwright.files.literature import MEDIA_TYPES
from setwright.workbench.photos.cleaning import PhotoRefused, cleaned

LARGEST_BYTES = 80_000_000
MOST_PAGES = 100_000

PDF = "application/pdf"
_HEAD, _TAIL = 1024, 2048
# What the library raises on files that are broken in one way or other; its own errors do not cover them all.
_BROKEN = (
    PyPdfError, ValueError, KeyError, TypeError, IndexError, AttributeError, RecursionError, OverflowError,
    NotImplementedError, AssertionError, EOFError, OSError,
)  # fmt: skip


class ScanRefused(ValueError):
    """A file that is not taken in. `message` is one plain sentence that names the file."""

    def __init__(self, message: str) -> None:
        self.message = message
        super().__init__(message)


@dataclass(frozen=True, slots=True)
class Scan:
    """A scan, ready to be kept: its content, what it is, how many pages it has."""

    name: str
    content: bytes
    media_type: str
    pages: int

    @property
    def suffix(self) -> str:
        """The suffix under which it is kept."""
        return MEDIA_TYPES[self.media_type]


def checked(content: bytes, name: str) -> Scan:
    """A file as a scan. A picture loses everything but the picture, as photos do; a PDF stays byte for byte.

    Raises ScanRefused for what is neither, damaged, locked or too large.
    """
    name = " ".join("".join(c if c.isprintable() else " " for c in name).split())[-200:] or "scan"
    if len(content) > LARGEST_BYTES:
        raise ScanRefused(
            f"{name} has {len(content) / 1e6:,.0f} MB; a scan may have {LARGEST_BYTES / 1e6:.0f} MB. Split it, or scan "
            "it with fewer dots to the inch."
        )
    if b"%PDF-" in content[:_HEAD]:
        return Scan(name, content, PDF, _pages_of(content, name))
    try:
        picture = cleaned(content, name)
    except PhotoRefused as refused:
        raise ScanRefused(f"{refused.message}. A scan is a PDF or a picture (JPEG, PNG).") from refused
    return Scan(name, picture.content, picture.media_type, 1)


def _pages_of(content: bytes, name: str) -> int:
    """How many pages a PDF has. The library must get through its whole tree of pages, so it is readable so far."""
    if b"%%EOF" not in content[-_TAIL:]:
        raise ScanRefused(f"{name} is a PDF whose end is missing; send or save it again.")
    try:
        reader = PdfReader(BytesIO(content), strict=False)
        if reader.is_encrypted and not reader.decrypt(""):
            raise ScanRefused(f"{name} is locked with a password; save it without one.")
        pages = len(reader.pages)
    except _BROKEN as error:
        if isinstance(error, ScanRefused):
            raise
        raise ScanRefused(f"{name} is a damaged PDF and cannot be read; save or scan it again.") from error
    if not 1 <= pages <= MOST_PAGES:
        raise ScanRefused(f"{name} has {pages:,} pages; a scan has at least one and at most {MOST_PAGES:,}.")
    return pages
