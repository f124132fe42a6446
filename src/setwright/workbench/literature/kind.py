"""How a document's record is read."""

from __future__ import annotations

from django.urls import reverse

from setwright.files.literature import LiteratureFile, read_literature
from setwright.workbench.literature.models import LiteratureRecord
from setwright.workbench.records.kinds import Kind
from setwright.workbench.records.models import Document


class LiteratureKind(Kind[LiteratureRecord, LiteratureFile]):
    """Literature files."""

    name = "literature"
    noun = "document"
    model = LiteratureRecord

    def read(self, record: LiteratureRecord, text: str) -> LiteratureFile:
        """The literature file."""
        return read_literature(text.encode("utf-8"), record.file_name)

    def key_of(self, record: LiteratureRecord, file: LiteratureFile) -> str:
        """The document's id."""
        return file.entry.id

    def columns(self, record: LiteratureRecord, file: LiteratureFile) -> dict[str, object]:
        """What the shelf shows."""
        entry = file.entry
        return {
            "title": entry.title,
            "kind": entry.kind,
            "maker": entry.maker,
            "model": entry.model,
            "chassis": entry.chassis,
            "place": entry.place,
            "year": entry.year,
            "owned": entry.owned,
            "where_kept": entry.where,
            "scan_count": len(entry.attachments),
        }

    def made(self, text: str, name: str, parent: Document | None) -> LiteratureRecord:
        """A document, under its id."""
        return LiteratureRecord(key=read_literature(text.encode("utf-8"), name).entry.id)

    def history_address(self, record: LiteratureRecord) -> str:
        """The page of the document's history."""
        return reverse("literature:history", args=[record.key])
