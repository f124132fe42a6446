"""The features of a family: ids, states, the values of numeric states, the lines that have them."""

from __future__ import annotations

from itertools import combinations
from math import log1p

from setwright.files.problems import ProblemList, quoted
from setwright.files.shape_check import Checked
from setwright.files.shapes import RESERVED, FamilyShape, FeatureShape
from setwright.files.states import ROUNDING, apart, read_value
from setwright.files.suggest import OTHER, nearest
from setwright.files.toml.lines import Path
from setwright.files.toml.text import TomlFile
from setwright.identity.model import ABSENT, Feature
from setwright.notation import NotationError, format_modern

PART_DATE = "part_date"
"""Begins the columns of part dates in a survivors file."""

_DEFAULT_TOLERANCE = 0.2


def build_features(
    toml: TomlFile, checked: Checked[FamilyShape], line_ids: list[str], problems: ProblemList
) -> dict[str, Feature]:
    """The features by id, in the order of the file; one whose states cannot be used is noted and left out."""
    features: dict[str, Feature] = {}
    for path, table in checked.tables("feature"):
        _check_id(toml, path, table.id, problems)
        _check_lines(toml, path, table, line_ids, problems)
        _check_role(toml, path, table, problems)
        values = _values(toml, path, table, checked.shape.m_means_thousand, problems)
        usable = _check_states(toml, path, table, problems)
        if values is None or not usable:
            checked.broken["feature"].add(table.id)
        elif table.id not in features:
            features[table.id] = _feature(table, values)
    return features


def _feature(table: FeatureShape, values: tuple[float | None, ...]) -> Feature:
    return Feature(
        id=table.id,
        label=table.label or table.id,
        states=tuple(table.states),
        access=table.access,
        permanence=table.permanence,
        unit=table.unit,
        values=values,
        tolerance=_DEFAULT_TOLERANCE if table.tolerance is None else table.tolerance,
        minutes=table.minutes,
        altered=table.altered,
        group=table.group,
        role=table.role,
        lines=None if table.lines is None else tuple(table.lines),
        overlap=table.overlap,
        part=table.part,
    )


def _check_id(toml: TomlFile, path: Path, name: str, problems: ProblemList) -> None:
    place = (*path, "id")
    if name in RESERVED or name == PART_DATE:
        message = f"a feature may not be called {quoted(name)}; a survivors file has a column of that name"
        problems.add(toml.where(place), message, line=toml.line(place), suggestion=f"{name}-seen")
    elif name.startswith("x-"):
        message = "a feature may not begin with x-, which marks a survivors file's own free columns"
        problems.add(toml.where(place), message, line=toml.line(place), suggestion=name.removeprefix("x-") or None)


def _check_lines(toml: TomlFile, path: Path, table: FeatureShape, line_ids: list[str], problems: ProblemList) -> None:
    for index, line in enumerate(table.lines or ()):
        place = (*path, "lines", index)
        if line not in line_ids:
            message = (
                f"there is no line {quoted(line)}; the lines of this file are {', '.join(line_ids)}, "
                "each named by a version, a serial block or a [[line]] table"
            )
            problems.add(toml.where(place), message, line=toml.line(place), suggestion=nearest(line, line_ids))
        elif line in (table.lines or ())[:index]:
            problems.add(toml.where(place), f"line {quoted(line)} is named twice", line=toml.line(place))


def _check_role(toml: TomlFile, path: Path, table: FeatureShape, problems: ProblemList) -> None:
    if table.role == "variant" and table.overlap:
        place = (*path, "overlap")
        message = 'a variant has no cut-in to overlap around; leave overlap out, or make it role = "change"'
        problems.add(toml.where(place), message, line=toml.line(place))
    if table.tolerance is not None and table.unit is None:
        place = (*path, "tolerance")
        message = 'only a numeric feature has a tolerance; leave it out, or give a unit such as "F" or "ohm"'
        problems.add(toml.where(place), message, line=toml.line(place))


def _check_states(toml: TomlFile, path: Path, table: FeatureShape, problems: ProblemList) -> bool:
    """Note states that are given twice, blank or too few; False where they cannot be told apart."""
    before = len(problems)
    seen: dict[str, str] = {}
    for index, state in enumerate(table.states):
        place = (*path, "states", index)
        plain = " ".join(state.split()).casefold()
        message, suggestion = "", None
        if state != state.strip() or not plain:
            message, suggestion = "a state may not be blank or begin or end with a space", state.strip() or None
        elif plain.startswith(OTHER):
            message = f'a state may not begin with "{OTHER}", which in a set means anything not listed'
        elif plain in seen:
            message = f"the state {quoted(state)} is listed twice (see {quoted(seen[plain])}); keep one"
        elif plain == ABSENT and state != ABSENT:
            message, suggestion = f'the state of a missing part is written "{ABSENT}"', ABSENT
        seen.setdefault(plain, state)
        if message:
            problems.add(toml.where(place), message, line=toml.line(place), suggestion=suggestion)
    restricted_to_lines = table.lines is not None and ABSENT not in table.states
    if len(table.states) + restricted_to_lines < 2:
        place = (*path, "states")
        message = f'one state alone tells nothing; list every state that sets of this family have, "{ABSENT}" included'
        problems.add(toml.where(place), message, line=toml.line(place))
    return len(problems) == before


def _values(
    toml: TomlFile, path: Path, table: FeatureShape, m_means_thousand: bool, problems: ProblemList
) -> tuple[float | None, ...] | None:
    """The SI value of each state of a numeric feature, () for any other; None where one cannot be read."""
    if table.unit is None:
        return ()
    probe = Feature(table.id, table.id, tuple(table.states), unit=table.unit)
    values: list[float | None] = []
    readable = True
    for index, state in enumerate(table.states):
        if state == ABSENT:
            values.append(None)
            continue
        try:
            values.append(read_value(probe, state, m_means_thousand))
        except NotationError as error:
            values.append(None)
            readable = False
            place = (*path, "states", index)
            message = f'{error.message} (the states of a feature with a unit are values, or "{ABSENT}")'
            problems.add(toml.where(place), message, line=toml.line(place), suggestion=error.suggestion)
    _refuse_overlaps(toml, path, table, values, problems)
    return tuple(values) if readable else None


def _refuse_overlaps(
    toml: TomlFile, path: Path, table: FeatureShape, values: list[float | None], problems: ProblemList
) -> None:
    """Two states must be more than twice the tolerance apart, so that no value matches both."""
    assert table.unit is not None
    tolerance = _DEFAULT_TOLERANCE if table.tolerance is None else table.tolerance
    numbers = [(index, value) for index, value in enumerate(values) if value is not None]
    for (one, low), (other, high) in combinations(numbers, 2):
        if apart(low, high) <= 2 * log1p(tolerance) + ROUNDING:
            place = (*path, "states", other)
            between = format_modern(float(f"{(low * high) ** 0.5:.2g}"), table.unit)
            largest = (max(low, high) / min(low, high)) ** 0.5 - 1
            message = (
                f"{quoted(table.states[one])} and {quoted(table.states[other])} overlap: with tolerance {tolerance:g} "
                f"a value of about {between} would be both; give a tolerance under {largest:.3g}"
                if largest > 1e-6
                else f"{quoted(table.states[one])} and {quoted(table.states[other])} are the same value; keep one"
            )
            problems.add(toml.where(place), message, line=toml.line(place))
