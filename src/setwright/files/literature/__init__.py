"""The literature shelf's files: one document each, what it is, where a copy is, and the scans of it.

An entry is a TOML file of format setwright-literature/1; a whole shelf can be had as a table (CSV) and filled from one.
"""

from setwright.files.literature.editing import (
    add_attachment,
    change_attachment,
    change_literature,
    new_literature,
    remove_attachment,
)
from setwright.files.literature.entry import KINDS, MEDIA_TYPES, Attachment, LiteratureEntry
from setwright.files.literature.index import IndexRow, ShelfIndex, made_id, read_index, write_index
from setwright.files.literature.reading import LiteratureFile, read_literature
from setwright.files.literature.shapes import LITERATURE_FORMAT

__all__ = [
    "KINDS",
    "LITERATURE_FORMAT",
    "MEDIA_TYPES",
    "Attachment",
    "IndexRow",
    "LiteratureEntry",
    "LiteratureFile",
    "ShelfIndex",
    "add_attachment",
    "change_attachment",
    "change_literature",
    "made_id",
    "new_literature",
    "read_index",
    "read_literature",
    "remove_attachment",
    "write_index",
]
