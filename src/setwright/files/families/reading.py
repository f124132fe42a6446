"""Reading a family file: one chassis family with its documented history."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path

import tomlkit

from setwright.files.families.cutins import build_bounds
from setwright.files.families.features import build_features
from setwright.files.families.lines import build_blocks, build_lines, check_range
from setwright.files.families.versions import build_versions
from setwright.files.problems import ProblemList, quoted
from setwright.files.shape_check import Checked, check_shape
from setwright.files.shapes import FAMILY_FORMAT, FamilyShape
from setwright.files.source_text import FAMILY_LIMIT, load
from setwright.files.toml.text import TomlFile, check_format, read_toml
from setwright.identity.model import Family, Source
from setwright.notation import DateInterval, NotationError, parse_date


@dataclass(frozen=True)
class FamilyFile:
    """A family file that was read without a problem.

    `family` is its content, `text` the file as it stands, `m_means_thousand` its note on old drawings,
    `literature` the entry of the literature shelf that each source stands for, by the source's id.
    """

    name: str
    text: str
    family: Family
    m_means_thousand: bool = False
    literature: Mapping[str, str] = field(default_factory=dict)

    @cached_property
    def document(self) -> tomlkit.TOMLDocument:
        """The text with comments and order, for editing."""
        return tomlkit.parse(self.text)


def read_family(path_or_bytes: str | Path | bytes, name: str | None = None) -> FamilyFile:
    """Read a family file of format setwright-family/1.

    path_or_bytes : the file, or its content. name : what messages call it, default the path.

    Raises FileProblems with everything that is wrong; nothing is taken in then.
    """
    toml = read_toml(load(path_or_bytes, name, FAMILY_LIMIT, "family"))
    problems = ProblemList(toml.name)
    check_format(toml, FAMILY_FORMAT, problems)
    checked = check_shape(FamilyShape, toml, problems)
    family = _build(toml, checked, problems)
    problems.raise_if_any()
    literature = {source.id: source.literature for source in checked.shape.source if source.literature is not None}
    return FamilyFile(toml.name, toml.text, family, checked.shape.m_means_thousand, literature)


def _build(toml: TomlFile, checked: Checked[FamilyShape], problems: ProblemList) -> Family:
    """The family, as far as it can be built; what cannot is noted."""
    shape = checked.shape
    for kind in ("source", "line", "feature", "version"):
        _refuse_duplicates(toml, kind, problems)
    _check_dates(toml, shape, problems)
    lines = build_lines(toml, checked, problems)
    line_ids = [line.id for line in lines]
    blocks = build_blocks(toml, checked, problems)
    check_range(toml, shape, blocks, problems)
    features = build_features(toml, checked, line_ids, problems)
    before = len(problems)
    versions = build_versions(toml, checked, features, problems)
    tables = toml.data.get("version", [])
    complete = len(problems) == before and isinstance(tables, list) and len(versions) == len(tables)
    family = Family(
        id=shape.id,
        name=shape.name,
        kind=shape.kind,
        features=tuple(features.values()),
        versions=tuple(versions),
        lines=lines,
        serial_blocks=tuple(block for _, block in blocks),
        sources=tuple(Source(table.id, table.title, table.page) for table in shape.source),
        access_minutes=shape.access_minutes.model_dump(by_alias=True, exclude_none=True),
        first_serial=shape.first_serial,
        last_serial=shape.last_serial,
        introduced=shape.introduced,
        discontinued=shape.discontinued,
    )
    bounds = build_bounds(toml, checked, family, complete, problems)
    return replace(family, cut_in_bounds=bounds)


def _refuse_duplicates(toml: TomlFile, kind: str, problems: ProblemList) -> None:
    """Ids are counted in the file itself, so that a table refused for another reason counts too."""
    tables = toml.data.get(kind)
    if not isinstance(tables, list):
        return
    ids = [table.get("id") if isinstance(table, dict) else None for table in tables]
    seen: Counter[str] = Counter()
    for number, name in enumerate(ids):
        if not isinstance(name, str):
            continue
        seen[name] += 1
        if seen[name] > 1:
            first = toml.line((kind, ids.index(name), "id"))
            problems.add(
                f"{kind} {quoted(name)}, key id",
                f"the id {quoted(name)} is taken by the {kind} on line {first}; give each its own",
                line=toml.line((kind, number, "id")),
            )


def _check_dates(toml: TomlFile, shape: FamilyShape, problems: ProblemList) -> None:
    dates: dict[str, DateInterval] = {}
    for key in ("introduced", "discontinued"):
        text = getattr(shape, key)
        if text is None:
            continue
        try:
            dates[key] = parse_date(text)
        except NotationError as error:
            problems.add(f"key {key}", error.message, line=toml.line((key,)), suggestion=error.suggestion)
    if len(dates) == 2 and dates["discontinued"].last < dates["introduced"].first:
        problems.add(
            "key discontinued",
            f'"{shape.discontinued}" lies before introduced = "{shape.introduced}"; exchange or correct them',
            line=toml.line(("discontinued",)),
        )
