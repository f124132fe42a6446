"""The page of a document, put into reading order and words."""

from __future__ import annotations

from dataclasses import dataclass

from django.urls import reverse

from setwright.files.literature import Attachment, LiteratureEntry
from setwright.workbench.accounts.roles import Roles
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.literature.changes import entry_of
from setwright.workbench.literature.files import store
from setwright.workbench.literature.models import LiteratureRecord
from setwright.workbench.literature.scans import PDF
from setwright.workbench.search.finding import Allowed, citing
from setwright.workbench.search.kinds import heading_of
from setwright.workbench.search.models import SearchEntry
from setwright.workbench.site.words import count


@dataclass(frozen=True, slots=True)
class ScanView:
    """A scan as the page shows it. opens : its address, at the page where the document begins."""

    scan: Attachment
    address: str
    opens: str
    is_picture: bool
    is_there: bool

    @property
    def facts(self) -> str:
        """What it is, in words."""
        if self.is_picture:
            return "a picture"
        begins = f", opens at page {self.scan.opens_at}" if self.scan.opens_at > 1 else ""
        return f"PDF, {count(self.scan.pages, 'page')}{begins}"


@dataclass(frozen=True, slots=True)
class EntryPage:
    """Everything the page shows. citing : for each kind of thing that cites it, those things, each with its family."""

    entry: LiteratureEntry
    facts: tuple[tuple[str, str], ...]
    scans: tuple[ScanView, ...]
    citing: tuple[tuple[str, tuple[tuple[SearchEntry, str], ...]], ...]


def entry_page(record: LiteratureRecord, roles: Roles) -> EntryPage:
    """Lays a document out, for whoever has these roles."""
    entry = entry_of(record)
    cites = citing(record.key, Allowed.by(roles))
    kinds = list(dict.fromkeys(one.kind for one in cites))
    families = FamilyRecord.objects.filter(key__in={one.family for one in cites})
    names = dict(families.values_list("key", "name"))
    return EntryPage(
        entry=entry,
        facts=_facts(entry),
        scans=tuple(_scan(record, scan) for scan in entry.attachments),
        citing=tuple(
            (heading_of(kind), tuple((one, names.get(one.family, "")) for one in cites if one.kind == kind))
            for kind in kinds
        ),
    )


def _facts(entry: LiteratureEntry) -> tuple[tuple[str, str], ...]:
    facts = [
        ("What it is", entry.kind.capitalize()),
        ("Maker", entry.maker),
        ("Model", entry.model),
        ("Chassis", entry.chassis),
        ("Volume", entry.volume),
        ("Page", entry.page),
        ("Length", count(entry.pages, "page") if entry.pages else ""),
        ("Year", str(entry.year or "")),
    ]
    return tuple((label, value) for label, value in facts if value)


def _scan(record: LiteratureRecord, scan: Attachment) -> ScanView:
    address = reverse("literature:scan", args=[record.key, scan.sha256])
    is_pdf = scan.media_type == PDF
    opens = f"{address}#page={scan.opens_at}" if is_pdf else address
    return ScanView(scan, address, opens, not is_pdf, store().has(scan.sha256, scan.suffix))
