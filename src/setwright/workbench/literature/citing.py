"""Sources as pages name them: in words, leading to the document on the literature shelf where there is one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from setwright.identity.model import Family
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.literature.models import LiteratureRecord
from setwright.workbench.services.records import family_file_of


@dataclass(frozen=True, slots=True)
class Cited:
    """A source that something names. address : of its document on the shelf, "" where it has none there."""

    words: str
    address: str = ""


def offered(family: Family) -> list[tuple[str, str]]:
    """What an observation may cite, as it is written and in words: the family's sources, the shelf's documents."""
    sources = [(one.id, f"{one.title}, page {one.page}" if one.page else one.title) for one in family.sources]
    known = {name for name, _ in sources}
    shelf = LiteratureRecord.objects.order_by("title", "key").values_list("key", "title")
    return [*sources, *((key, title) for key, title in shelf if key not in known)]


def cited_in(record: FamilyRecord, names: Iterable[str]) -> dict[str, Cited]:
    """What the names stand for: each the id of a source of the family, of a document on the shelf, or other words.

    At most one query.
    """
    names = tuple(dict.fromkeys(filter(None, names)))
    if not names:
        return {}
    file = family_file_of(record)
    sources = {source.id: source for source in file.family.sources}
    shelved = {name: file.literature.get(name, name) for name in names}
    documents = {one.key: one for one in LiteratureRecord.objects.filter(key__in=set(shelved.values())).defer("text")}
    found = {}
    for name, key in shelved.items():
        document, source = documents.get(key), sources.get(name)
        if source is not None:
            words = f"{source.title}, page {source.page}" if source.page else source.title
        else:
            words = name if document is None else document.title
        found[name] = Cited(words, "" if document is None else document.get_absolute_url())
    return found
