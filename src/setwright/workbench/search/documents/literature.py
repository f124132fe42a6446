"""What can be found of a document on the literature shelf."""

from __future__ import annotations

from collections.abc import Iterator

from setwright.files.literature import read_literature
from setwright.workbench.literature.models import LiteratureRecord
from setwright.workbench.search.documents.item import Item, lines, listed, said


def literature_items(record: LiteratureRecord) -> Iterator[Item]:
    """The document, with everything the shelf knows of it; what its scans show is not read."""
    entry = read_literature(record.text.encode("utf-8"), record.file_name).entry
    body = lines(
        entry.kind.capitalize(),
        said("Maker", entry.maker),
        said("Model", entry.model),
        said("Chassis", entry.chassis),
        entry.place.capitalize(),
        said("Year", entry.year),
        said("A copy is", entry.where),
        entry.note,
        listed("Scans", [one.name for one in entry.attachments]),
    )
    yield Item("literature", "", entry.title, body, record.get_absolute_url(), aliases=entry.id)
