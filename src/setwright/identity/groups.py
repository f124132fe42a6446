"""Groups of features that would move together if cabinet and chassis were married."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from setwright.identity.model import MAIN_GROUP, BenchSet, Family, Feature


@dataclass(frozen=True, slots=True)
class Group:
    """A group of features that may have come from another set: its name and its features by number."""

    name: str
    features: tuple[int, ...]


def qualifying_groups(features: Sequence[Feature]) -> tuple[Group, ...]:
    """The groups that may have come from elsewhere: all of two or more features but the main one.

    The main group is `chassis`, or without one the largest, the first of the family file where several are.
    """
    members: dict[str, list[int]] = {}
    for number, feature in enumerate(features):
        members.setdefault(feature.group, []).append(number)
    main = MAIN_GROUP if MAIN_GROUP in members else max(members, key=lambda name: len(members[name]), default="")
    return tuple(Group(name, tuple(of)) for name, of in members.items() if name != main and len(of) > 1)


def groups_in_question(family: Family, bench_set: BenchSet) -> tuple[Group, ...]:
    """The groups that may have come from elsewhere, if anything was seen of one on the bench."""
    groups = qualifying_groups(family.features)
    telling = {f for f, o in bench_set.latest.items() if o.state is not None and not o.serviced}
    seen = any(family.features[number].id in telling for group in groups for number in group.features)
    return groups if seen else ()
