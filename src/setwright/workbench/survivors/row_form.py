"""The form of one survivor, feature by feature: what a person enters, as cells of the register."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from setwright.files import FileProblems, Problem
from setwright.files.problems import sentence
from setwright.files.survivors.columns import PART_DATE
from setwright.identity.model import ACCESSES, Family, Feature
from setwright.workbench.site.words import ACCESS_WORDS, line_words

Cells = dict[str, str]
"""Column to cell; empty cells are left out."""

LONGEST = 2000
SURE = ("certain", "likely", "guess")

ABOUT = (
    ("id", "Name", "A name of its own, as K-07 or the owner's."),
    ("serial", "Serial", "? for a character that cannot be read, * for any number of them."),
    ("source", "Where it was seen", "Sale list, owner, museum."),
    ("note", "Note", ""),
    ("stamp_date", "Date stamp", "1948, 1948-03, 1948-W31 or 1948-03-09."),
    ("condition", "Condition", ""),
    ("seen_on", "Seen on", ""),
    ("x-link", "Link", ""),
)
"""The columns that are about the set as a whole: column, its words, help."""

FIRST = 4
"""So many of them are asked for before the features."""


@dataclass(frozen=True, slots=True)
class TextField:
    """One cell to be written in. `problems` say what is wrong with it."""

    name: str
    label: str
    value: str
    help: str = ""
    problems: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FeatureField:
    """One feature: its state, how sure, and whether it looks serviced."""

    feature: Feature
    state: str
    sure: str
    serviced: bool
    problems: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class AccessGroup:
    """The features of one access. `open` where something of it was entered."""

    heading: str
    fields: tuple[FeatureField, ...]
    open: bool


@dataclass(frozen=True, slots=True)
class RowForm:
    """The whole form. `problems` are those that belong to no field."""

    about: tuple[TextField, ...]
    line: str
    lines: tuple[tuple[str, str], ...]
    line_problems: tuple[str, ...]
    groups: tuple[AccessGroup, ...]
    problems: tuple[str, ...] = ()

    @property
    def first(self) -> tuple[TextField, ...]:
        """The fields that are asked for before the features."""
        return self.about[:FIRST]

    @property
    def more(self) -> tuple[TextField, ...]:
        """The fields that stand behind the features."""
        return self.about[FIRST:]


def read_cells(posted: Mapping[str, str], family: Family, columns: Sequence[str]) -> Cells:
    """What was entered, as cells. columns : those of the register, of which free ones and dates can be entered too."""
    cells: Cells = {}
    for name in [*(name for name, _, _ in ABOUT), "line", *_further(columns)]:
        cells[name] = _plain(posted.get(f"col:{name}", ""))
    for feature in family.features:
        state = _plain(posted.get(f"state:{feature.id}", ""))
        sure = posted.get(f"sure:{feature.id}", "")
        cells[feature.id] = state
        cells[f"{feature.id}.sure"] = sure if sure in SURE[1:] and state else ""
        cells[f"{feature.id}.serviced"] = "true" if f"serviced:{feature.id}" in posted else ""
    return {name: cell for name, cell in cells.items() if cell}


def _plain(text: str) -> str:
    return " ".join(text[:LONGEST].split())


def _further(columns: Sequence[str]) -> list[str]:
    """Columns of the register that are shown because somebody keeps them: part dates and free ones."""
    known = {name for name, _, _ in ABOUT} | {"x-photos"}
    return [name for name in columns if name not in known and name.startswith((PART_DATE, "x-"))]


def row_form(
    family: Family, cells: Mapping[str, str], columns: Sequence[str], problems: Sequence[Problem] = ()
) -> RowForm:
    """The form filled with the cells of a row, each problem at its field."""
    at: dict[str, list[str]] = {}
    for problem in problems:
        at.setdefault(_column_of(problem), []).append(_words(problem))
    further = [(name, _further_label(name), "") for name in _further(columns)]
    about = tuple(
        TextField(name, label, cells.get(name, ""), help_, tuple(at.pop(name, ())))
        for name, label, help_ in [*ABOUT, *further]
    )
    line_problems = tuple(at.pop("line", ()))
    groups = _groups(family, cells, at)
    return RowForm(
        about=about,
        line=cells.get("line", ""),
        lines=tuple((line, line_words(line)) for line in family.line_ids),
        line_problems=line_problems,
        groups=groups,
        problems=tuple(words for found in at.values() for words in found),
    )


def _groups(family: Family, cells: Mapping[str, str], at: dict[str, list[str]]) -> tuple[AccessGroup, ...]:
    groups = []
    in_order = sorted(family.features, key=lambda feature: ACCESSES.index(feature.access))
    for access, features in groupby(in_order, key=lambda feature: feature.access):
        fields = tuple(_feature_field(feature, cells, at) for feature in features)
        used = any(field.state or field.serviced or field.problems for field in fields)
        words = ACCESS_WORDS[access]
        groups.append(AccessGroup(words[:1].upper() + words[1:], fields, used or access == "outside"))
    return tuple(groups)


def _feature_field(feature: Feature, cells: Mapping[str, str], at: dict[str, list[str]]) -> FeatureField:
    own = [name for name in (feature.id, f"{feature.id}.sure", f"{feature.id}.serviced") if name in at]
    return FeatureField(
        feature,
        cells.get(feature.id, ""),
        cells.get(f"{feature.id}.sure", SURE[0]),
        cells.get(f"{feature.id}.serviced", "").casefold() in ("true", "yes", "1"),
        tuple(words for name in own for words in at.pop(name)),
    )


def _further_label(name: str) -> str:
    if name.startswith(PART_DATE):
        return f"Date of the {name.removeprefix(PART_DATE)}"
    words = name.removeprefix("x-").replace("-", " ").replace("_", " ")
    return words[:1].upper() + words[1:]


def _column_of(problem: Problem) -> str:
    """The column that a problem names, "" for none."""
    _, found, rest = problem.where.partition('column "')
    return rest.rstrip('"') if found else ""


def _words(problem: Problem) -> str:
    hint = f' Did you mean "{problem.suggestion}"?' if problem.suggestion else ""
    text = sentence(problem.message) + hint
    return text[:1].upper() + text[1:]


def changed_cells(before: Mapping[str, str], entered: Mapping[str, str], shown: Sequence[str]) -> dict[str, str | None]:
    """The cells that a person changed, None for one they emptied. shown : the columns that the form has."""
    return {
        name: entered.get(name) or None
        for name in shown
        if not _same(name, before.get(name, ""), entered.get(name, ""))
    }


def _same(name: str, one: str, other: str) -> bool:
    if name.endswith(".sure"):
        return (one or SURE[0]) == (other or SURE[0])
    if name.endswith(".serviced"):
        return (one.casefold() in ("true", "yes", "1")) == bool(other)
    return " ".join(one.split()) == other


def shown_columns(family: Family, columns: Sequence[str]) -> list[str]:
    """Every column that the form shows."""
    features = [name for one in family.features for name in (one.id, f"{one.id}.sure", f"{one.id}.serviced")]
    return [*(name for name, _, _ in ABOUT), "line", *_further(columns), *features]


class CellsChanged(Exception):
    """Somebody changed the same cells of a row since the person saw it: column to what stands there now."""

    def __init__(self, now: Mapping[str, str]) -> None:
        self.now = dict(now)
        super().__init__("the same cells were changed meanwhile")


def refuse_overlap(
    seen: Mapping[str, str], now: Mapping[str, str] | None, mine: Mapping[str, str | None], name: str
) -> None:
    """CellsChanged where cells that a person changed are not what they saw; FileProblems where the row is gone."""
    if now is None:
        raise FileProblems((Problem("", "", None, f"{name} was removed meanwhile, or has another name now"),))
    other = {column: now.get(column, "") for column in mine if now.get(column, "") != seen.get(column, "")}
    other = {column: cell for column, cell in other.items() if cell != (mine[column] or "")}
    if other:
        raise CellsChanged(other)
