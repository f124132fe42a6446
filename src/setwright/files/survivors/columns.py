"""The header of a survivors file: which column is what."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from setwright.files.problems import ProblemList, quoted
from setwright.files.shapes import RESERVED
from setwright.files.suggest import nearest
from setwright.files.survivors.csv_text import SEPARATORS
from setwright.files.survivors.spreadsheet import clean
from setwright.identity.model import Family, Feature

FREE = ("note", "source", "seen_on", "condition")
PART_DATE = "part_date."
COMPANIONS = ("sure", "serviced")


@dataclass
class FeatureColumns:
    """Where a feature's cells stand; None for a column the file does not have."""

    feature: Feature
    state: int | None = None
    sure: int | None = None
    serviced: int | None = None


@dataclass
class Columns:
    """The places of all columns, counted from 0. `names` has an empty name for a column without one."""

    names: list[str]
    id: int | None = None
    serial: int | None = None
    line: int | None = None
    features: dict[str, FeatureColumns] = field(default_factory=dict)
    dates: dict[str, int] = field(default_factory=dict)
    free: list[int] = field(default_factory=list)

    def nameless(self) -> Iterator[int]:
        """Columns without a name; they must be empty."""
        return (index for index, name in enumerate(self.names) if not name)


def known_names(family: Family) -> list[str]:
    """Every column name that a survivors file of this family may have, but for the open-ended ones."""
    features = [feature.id for feature in family.features]
    companions = [f"{feature}.{companion}" for feature in features for companion in COMPANIONS]
    return [*RESERVED, *features, *companions]


def read_header(cells: list[str], family: Family, separator: str, line: int, problems: ProblemList) -> Columns:
    """Sort the columns; unknown, doubled and missing ones are noted. line : the header's, for the messages."""
    names = [clean(cell) for cell in cells]
    while names and not names[-1]:
        names.pop()
    columns = Columns(names)
    features = {feature.id: feature for feature in family.features}
    seen: set[str] = set()
    for index, name in enumerate(names):
        where = f"row 1, column {index + 1}"
        if name and name in seen:
            problems.add(where, f"the column {quoted(name)} stands twice; keep one", line=line)
        elif name and not _sort_in(columns, index, name, features):
            _note_unknown(name, where, family, line, problems)
        seen.add(name)
    if columns.id is None:
        parted = f" (read with {SEPARATORS.get(separator, separator)} between the columns)" if len(names) < 2 else ""
        problems.add("row 1", f'the column "id" is missing{parted}; every set needs a name of its own', line=line)
    return columns


def _sort_in(columns: Columns, index: int, name: str, features: dict[str, Feature]) -> bool:
    """Put one column in its place; False where there is none for it."""
    base, dot, companion = name.partition(".")
    if name in ("id", "serial", "line"):
        setattr(columns, name, index)
    elif name in FREE or name.startswith("x-"):
        columns.free.append(index)
    elif name == "stamp_date" or (name.startswith(PART_DATE) and name != PART_DATE and "." not in companion):
        columns.dates[name] = index
    elif name in features or (dot and base in features and companion in COMPANIONS):
        place = columns.features.setdefault(base, FeatureColumns(features[base]))
        setattr(place, companion or "state", index)
    else:
        return False
    return True


def _note_unknown(name: str, where: str, family: Family, line: int, problems: ProblemList) -> None:
    if problems.is_full:
        problems.count()
    elif name.startswith(PART_DATE):
        problems.add(where, f"{quoted(name)}: a part's name has no dot; write {PART_DATE}speaker", line=line)
    else:
        message = (
            f"the column {quoted(name)} is no feature of family {quoted(family.id)} and no column that survivors files "
            "have; a column of your own begins with x-"
        )
        problems.add(where, message, line=line, suggestion=nearest(name, known_names(family)))
