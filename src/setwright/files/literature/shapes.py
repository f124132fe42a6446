"""The shape of a literature file."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from setwright.files.shapes import Id, Named, Shape, Text

LITERATURE_FORMAT = "setwright-literature/1"

EARLIEST_YEAR, LATEST_YEAR = 1800, 2200
MOST_PAGES = 100_000

Pages = Annotated[int, Field(ge=1, le=MOST_PAGES)]
Words = Annotated[Text, Field(max_length=500)]


class AttachmentShape(Shape):
    """A scan of the document, found by the SHA-256 of its content."""

    sha256: Named
    name: Named
    media_type: Literal["application/pdf", "image/jpeg", "image/png"]
    pages: Pages = 1
    opens_at: Pages = 1


class LiteratureShape(Shape):
    """A document of the literature shelf."""

    format: Literal["setwright-literature/1"]
    id: Id
    title: Named
    kind: Literal["service data", "schematic", "parts list", "bulletin", "advertisement", "book", "other"] = "other"
    maker: Words = ""
    model: Words = ""
    chassis: Words = ""
    volume: Words = ""
    page: Words = ""
    pages: Pages | None = None
    year: Annotated[int, Field(ge=EARLIEST_YEAR, le=LATEST_YEAR)] | None = None
    owned: bool = False
    where: Text = ""
    note: Text = ""
    attachment: Annotated[list[AttachmentShape], Field(max_length=200)] = []
