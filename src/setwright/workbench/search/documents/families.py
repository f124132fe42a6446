"""What can be found of a family: itself, its features, versions, documented cut-ins and sources."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from django.urls import reverse

from setwright.identity.model import Family, Feature, Version
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.search.documents.item import Item, lines, listed, said
from setwright.workbench.services.records import family_file_of
from setwright.workbench.site.words import line_words


def family_items(record: FamilyRecord) -> Iterator[Item]:
    """Everything of a family."""
    file = family_file_of(record)
    family, shelved = file.family, file.literature
    page = reverse("families:family", args=[record.key])
    yield Item("family", "", family.name, _facts(family), page, aliases=family.id)
    for feature in family.features:
        bounds = [bound.source for bound in family.cut_in_bounds if bound.feature == feature.id and bound.source]
        yield _feature(feature, page, cited(bounds, shelved))
    for version in family.versions:
        yield _version(family, version, cited(version.sources, shelved))
    for source in family.sources:
        body = lines(said("Page", source.page), said("Cited in", family.name))
        cites = cited([source.id], shelved)
        place = f"{page}#sources-h"
        yield Item("source", f"source:{source.id}", source.title, body, place, aliases=source.id, cites=cites)


def cited(sources: Iterable[str], shelved: Mapping[str, str]) -> tuple[str, ...]:
    """The documents that a family's sources stand for; a source without one stands for itself."""
    return tuple(dict.fromkeys(shelved.get(source, source) for source in sources))


def _facts(family: Family) -> str:
    blocks = {block.prefix for block in family.serial_blocks if block.prefix}
    return lines(
        family.kind.capitalize(),
        said("Made from", family.introduced),
        said("Made until", family.discontinued),
        listed("Lines", [line_words(line) for line in family.line_ids if line != "main"]),
        listed("Serial prefixes", sorted(blocks)),
    )


def _feature(feature: Feature, page: str, cites: tuple[str, ...]) -> Item:
    body = lines(
        listed("States", feature.states),
        said("Part", feature.part),
        said("Seen", feature.access),
        said("Moves with", feature.group),
    )
    place = f"{page}#looks-h"
    return Item("feature", f"feature:{feature.id}", feature.label, body, place, aliases=feature.id, cites=cites)


def _version(family: Family, version: Version, cites: tuple[str, ...]) -> Item:
    states = [f"{family.feature(feature).label}: {state}" for feature, state in version.states.items()]
    line = "" if version.line == "main" else line_words(version.line).capitalize()
    address = reverse("families:version", args=[family.id, version.id])
    body = lines(line, *states)
    return Item("version", f"version:{version.id}", version.label, body, address, aliases=version.id, cites=cites)
