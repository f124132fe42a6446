"""What would explain a set that no documented history explains."""

from __future__ import annotations

from collections.abc import Sequence

from setwright.identity.answer import MisfitDriver, Sister, VerdictEntry
from setwright.identity.model import Family

FITS = 0.05
"""A set whose replicates are at least as odd this often is no misfit."""

NEAREST = 6
SEVERAL = 2


def causes(
    family: Family,
    leading: VerdictEntry,
    drivers: Sequence[MisfitDriver],
    sisters: Sequence[Sister],
    p_value_without_serial: float | None,
) -> tuple[str, ...]:
    """Sentences, the one to look into first first.

    leading : the leading verdict. sisters : other sets, the nearest first. p_value_without_serial : the misfit of the
    same set if its serial were not known; None where none is.
    """
    sentences = []
    if p_value_without_serial is not None and p_value_without_serial >= FITS:
        sentences.append(
            "A wrong serial would explain it: as a set of unknown serial it fits. Look at the serial again, and "
            "whether the label belongs to this chassis."
        )
    kinds = _kinds(family, leading, drivers)
    shared = _shared(drivers, sisters)
    if shared:
        named = "; ".join(f"{family.feature(f).label} ({state}) on {count} of {of}" for f, state, count, of in shared)
        sentences.append(
            f"An undocumented version would explain it: of the sets nearest to this one, some show the same: {named}."
        )
    elif len(kinds["unlisted"]) >= SEVERAL:
        named = _labels(family, kinds["unlisted"])
        sentences.append(f"An undocumented version would explain it: {named} show what no version lists.")
    if kinds["later"] and not shared:
        sentences.append(
            f"{_labels(family, kinds['later'])} look as on later sets: either these changes came earlier than "
            "documented (an undocumented version between two), or later parts were fitted in service."
        )
    if kinds["earlier"] and not shared:
        sentences.append(
            f"{_labels(family, kinds['earlier'])} look as on earlier sets: a change back, a remainder of old stock, or "
            "older parts fitted in service would explain it."
        )
    return tuple(sentences)


def _kinds(family: Family, leading: VerdictEntry, drivers: Sequence[MisfitDriver]) -> dict[str, list[str]]:
    """Drivers that show what no version lists, or what only later or only earlier versions have."""
    versions = family.versions_of(leading.line)
    numbers = {version.id: number for number, version in enumerate(versions)}
    ends = leading.between or (leading.version, leading.version)
    place = [numbers[end] for end in ends if end in numbers]
    kinds: dict[str, list[str]] = {"unlisted": [], "later": [], "earlier": []}
    for driver in drivers:
        if driver.state not in family.feature(driver.feature).all_states:
            kinds["unlisted"].append(driver.feature)
            continue
        having = [n for n, version in enumerate(versions) if version.states.get(driver.feature) == driver.state]
        if not place or not having:
            continue
        if min(having) > max(place):
            kinds["later"].append(driver.feature)
        elif max(having) < min(place):
            kinds["earlier"].append(driver.feature)
    return kinds


def _shared(drivers: Sequence[MisfitDriver], sisters: Sequence[Sister]) -> list[tuple[str, str, int, int]]:
    """Drivers of which several of the nearest sets show the same: feature, state, how many, of how many looked at."""
    shared = []
    for driver in drivers:
        looked = [
            difference.other_state == driver.state
            for sister in sisters[:NEAREST]
            for difference in sister.differences
            if difference.feature == driver.feature
        ]
        if sum(looked) >= SEVERAL and 2 * sum(looked) >= len(looked):
            shared.append((driver.feature, driver.state, sum(looked), len(looked)))
    return shared


def _labels(family: Family, features: Sequence[str]) -> str:
    return ", ".join(family.feature(feature).label for feature in features)
