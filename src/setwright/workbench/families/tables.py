"""A family's features against its versions, as rows of a CSV file."""

from __future__ import annotations

from collections.abc import Iterator

from setwright.identity.model import Family


def feature_table(family: Family) -> Iterator[tuple[object, ...]]:
    """Header, then one row a feature; a version that says nothing of it leaves the cell empty."""
    yield ("feature", "label", "access", "permanence", *(f"{version.line}:{version.id}" for version in family.versions))
    for feature in family.features:
        states = (version.states.get(feature.id, "") for version in family.versions)
        yield (feature.id, feature.label, feature.access, feature.permanence, *states)
