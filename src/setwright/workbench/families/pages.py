"""The pages of a family and of one version, put into reading order and words."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from setwright.identity.cautions import cautions_for
from setwright.identity.model import CutInBound, Family, Source, Version
from setwright.identity.places import describe
from setwright.workbench.families.grid import Grid, grid_of
from setwright.workbench.pictures.axis import AxisPicture, axis_pictures
from setwright.workbench.services.survivors import FamilyCase
from setwright.workbench.site.words import ACCESS_WORDS, PERMANENCE_WORDS, count, line_words
from setwright.workbench.survivors.reading import agreement_counts, positions_on

MOST_ALIKE = 12
"""So many survivors that agree with a version are named on its page."""


@dataclass(frozen=True, slots=True)
class LineSection:
    """One production line: its versions in order, its grid and its axis."""

    line: str
    heading: str
    versions: tuple[Version, ...]
    grid: Grid | None
    pictures: tuple[AxisPicture, ...]
    shares_with: str


@dataclass(frozen=True, slots=True)
class FeatureRow:
    """One feature as the family file describes it."""

    label: str
    states: str
    access: str
    permanence: str
    role: str


@dataclass(frozen=True, slots=True)
class FamilyPage:
    """Everything the family's page shows. unsourced : versions that name no source yet."""

    facts: tuple[tuple[str, str], ...]
    lines: tuple[LineSection, ...]
    features: tuple[FeatureRow, ...]
    bounds: tuple[tuple[str, str, str], ...]
    unsourced: tuple[Version, ...]
    cautions: tuple[str, ...]


def family_page(case: FamilyCase) -> FamilyPage:
    """Lays a family out."""
    family = case.family
    return FamilyPage(
        facts=_facts(case),
        lines=tuple(_line_section(case, line.id, line.shares_cutins_with) for line in family.lines),
        features=tuple(
            FeatureRow(
                label=feature.label,
                states=" → ".join(feature.states) if feature.role == "change" else " or ".join(feature.states),
                access=ACCESS_WORDS[feature.access],
                permanence=PERMANENCE_WORDS[feature.permanence],
                role="" if feature.role == "change" else "made side by side",
            )
            for feature in family.features
        ),
        bounds=tuple(_bound(family, bound) for bound in family.cut_in_bounds),
        unsourced=tuple(version for version in family.versions if not version.sources),
        cautions=cautions_for("back off", family.kind),
    )


def _facts(case: FamilyCase) -> tuple[tuple[str, str], ...]:
    family = case.family
    facts = [("Kind", family.kind)]
    if family.introduced or family.discontinued:
        facts.append(("Made", f"{family.introduced or 'date not known'} to {family.discontinued or 'date not known'}"))
    facts.append(("Documented", count(len(family.versions), "version")))
    facts.append(("Features", f"{len(family.features)}"))
    facts.append(("Known to survive", count(len(case.survivors), "set")))
    return tuple(facts)


def _line_section(case: FamilyCase, line: str, shares_with: str | None) -> LineSection:
    family = case.family
    several = len(family.lines) > 1
    versions = family.versions_of(line)
    return LineSection(
        line=line,
        heading=line_words(line).capitalize() if several else "Versions",
        versions=versions,
        grid=grid_of(family, line) if versions else None,
        pictures=axis_pictures(family, line, positions_on(family, case.survivors, line)),
        shares_with=line_words(shares_with) if shares_with else "",
    )


def _bound(family: Family, bound: CutInBound) -> tuple[str, str, str]:
    """A documented cut-in bound in words, with its source."""
    change = f"{family.feature(bound.feature).label}: {bound.from_state} → {bound.to_state}"
    parts = []
    if bound.after is not None:
        parts.append(f"in no set up to {describe(family, bound.line, bound.after)}")
    if bound.before is not None:
        parts.append(f"in every set from {describe(family, bound.line, bound.before)} on")
    titles = {source.id: source_words(source) for source in family.sources}
    return change, ", ".join(parts), titles.get(bound.source or "", "no source given")


def source_words(source: Source) -> str:
    """A source with its page."""
    return f"{source.title}, page {source.page}" if source.page else source.title


@dataclass(frozen=True, slots=True)
class StateRow:
    """One feature of a version, and the state of the version before it where that differs."""

    label: str
    state: str
    before: str
    changed: bool


@dataclass(frozen=True, slots=True)
class VersionPage:
    """Everything a version's page shows."""

    version: Version
    line: str
    previous: Version | None
    following: Version | None
    based_on: str
    changed: tuple[StateRow, ...]
    states: tuple[StateRow, ...]
    silent: tuple[str, ...]
    agreeing: tuple[tuple[str, int], ...]


def version_page(case: FamilyCase, version: Version) -> VersionPage:
    """Lays one documented version out."""
    family = case.family
    line = family.versions_of(version.line)
    place = line.index(version)
    previous = line[place - 1] if place > 0 else None
    labels = {other.id: other.label for other in family.versions}
    features = [feature for feature in family.features if feature.in_line(version.line)]
    before = {} if previous is None else previous.states
    states = tuple(
        _state_row(feature.label, version.states[feature.id], before.get(feature.id))
        for feature in features
        if feature.id in version.states
    )
    return VersionPage(
        version=version,
        line=line_words(version.line) if len(family.lines) > 1 else "",
        previous=previous,
        following=line[place + 1] if place + 1 < len(line) else None,
        based_on=labels.get(version.based_on or "", ""),
        changed=tuple(row for row in states if row.changed),
        states=states,
        silent=tuple(feature.label for feature in features if feature.id not in version.states),
        agreeing=_agreeing(case, version),
    )


def _state_row(label: str, state: str, before: str | None) -> StateRow:
    return StateRow(label, state, before or "", before is not None and before != state)


def _agreeing(case: FamilyCase, version: Version) -> tuple[tuple[str, int], ...]:
    """Survivors that show nothing against this version, those with most features seen first: name, features."""
    agreeing, comparable = agreement_counts(case.family, case.survivors, version)
    alike = np.flatnonzero((comparable > 0) & (agreeing == comparable))
    shown = alike[np.argsort(-comparable[alike], kind="stable")][:MOST_ALIKE]
    return tuple((case.survivors.ids[index], int(comparable[index])) for index in shown)
