"""The documented versions of a family, with what `based_on` brings in."""

from __future__ import annotations

from collections.abc import Mapping

from setwright.files.problems import ProblemList, listing, quoted
from setwright.files.shape_check import Checked
from setwright.files.shapes import FamilyShape, VersionShape
from setwright.files.states import StateProblem, listed_state
from setwright.files.suggest import nearest
from setwright.files.toml.lines import Path
from setwright.files.toml.text import TomlFile
from setwright.identity.model import Feature, Version


def build_versions(
    toml: TomlFile, checked: Checked[FamilyShape], features: Mapping[str, Feature], problems: ProblemList
) -> list[Version]:
    """The versions in the order of the file, each with its complete states; what cannot stay is noted."""
    own: dict[str, dict[str, str]] = {}
    tables: dict[str, tuple[Path, VersionShape]] = {}
    for path, table in checked.tables("version"):
        _check_sources(toml, checked, path, table, problems)
        states = _own_states(toml, checked, path, table, features, problems)
        if table.id not in tables:
            own[table.id], tables[table.id] = states, (path, table)
    parents = _parents(toml, checked, tables, problems)
    return [
        Version(
            id=name,
            label=table.label or name,
            line=table.line,
            states=_complete(name, own, parents, table.line, features),
            sources=tuple(table.sources),
            based_on=table.based_on,
        )
        for name, (_, table) in tables.items()
    ]


def _check_sources(
    toml: TomlFile, checked: Checked[FamilyShape], path: Path, table: VersionShape, problems: ProblemList
) -> None:
    for index, name in enumerate(table.sources):
        check_source(toml, checked, (*path, "sources", index), name, problems)


def check_source(toml: TomlFile, checked: Checked[FamilyShape], place: Path, name: str, problems: ProblemList) -> None:
    """Note a source that the file does not define."""
    known = [source.id for source in checked.shape.source]
    if name not in known and name not in checked.broken["source"]:
        have = f"the sources are {listing(known, 'and')}" if known else "the file has no [[source]] yet"
        problems.add(
            toml.where(place),
            f"there is no source {quoted(name)}; {have}",
            line=toml.line(place),
            suggestion=nearest(name, known),
        )


def _own_states(
    toml: TomlFile,
    checked: Checked[FamilyShape],
    path: Path,
    table: VersionShape,
    features: Mapping[str, Feature],
    problems: ProblemList,
) -> dict[str, str]:
    """The states that the version itself names, those that can be used."""
    states = {}
    for name, text in table.states.items():
        place = (*path, "states", name)
        feature = features.get(name)
        if feature is None:
            if name not in checked.broken["feature"]:
                note_unknown_feature(toml, place, name, features, problems)
            continue
        if feature.role == "variant":
            message = (
                f"{quoted(name)} is a variant, made in parallel, so it belongs to no version; leave it out here, "
                'or make it role = "change"'
            )
            problems.add(toml.where(place), message, line=toml.line(place))
            continue
        if not feature.in_line(table.line):
            message = f"the sets of line {quoted(table.line)} have no {quoted(name)}; see its key lines"
            problems.add(toml.where(place), message, line=toml.line(place))
            continue
        try:
            states[name] = listed_state(feature, text, m_means_thousand=checked.shape.m_means_thousand)
        except StateProblem as error:
            problems.add(toml.where(place), error.message, line=toml.line(place), suggestion=error.suggestion)
    return states


def note_unknown_feature(
    toml: TomlFile, place: Path, name: str, features: Mapping[str, Feature], problems: ProblemList
) -> None:
    """Note the name of a feature that the family does not define."""
    problems.add(
        toml.where(place),
        f"there is no feature {quoted(name)} in the family",
        line=toml.line(place),
        suggestion=nearest(name, features),
    )


def _parents(
    toml: TomlFile,
    checked: Checked[FamilyShape],
    tables: Mapping[str, tuple[Path, VersionShape]],
    problems: ProblemList,
) -> dict[str, str]:
    """The version each is based on; unknown ones and circles are noted and left out."""
    parents: dict[str, str] = {}
    for name, (path, table) in tables.items():
        if table.based_on is None or table.based_on in checked.broken["version"]:
            continue
        place = (*path, "based_on")
        if table.based_on not in tables:
            message = f"there is no version {quoted(table.based_on)}"
            close = nearest(table.based_on, tables)
            problems.add(toml.where(place), message, line=toml.line(place), suggestion=close)
            continue
        parents[name] = table.based_on
        circle = _circle(name, parents)
        if circle:
            del parents[name]
            message = f"the versions are based on each other in a circle: {' → '.join(circle)}; one must stand alone"
            problems.add(toml.where(place), message, line=toml.line(place))
    return parents


def _circle(name: str, parents: Mapping[str, str]) -> list[str]:
    """The way from a version through what it is based on back to itself, empty if it does not come back."""
    way = [name]
    while way[-1] in parents:
        way.append(parents[way[-1]])
        if way[-1] == name:
            return way
    return []


def _complete(
    name: str,
    own: Mapping[str, Mapping[str, str]],
    parents: Mapping[str, str],
    line: str,
    features: Mapping[str, Feature],
) -> dict[str, str]:
    """A version's states with what it inherits, in the order of the features; what its line lacks is not inherited."""
    chain = [name]
    while chain[-1] in parents:
        chain.append(parents[chain[-1]])
    states: dict[str, str] = {}
    for ancestor in reversed(chain):
        states.update(own[ancestor])
    return {feature: states[feature] for feature in features if feature in states and features[feature].in_line(line)}
