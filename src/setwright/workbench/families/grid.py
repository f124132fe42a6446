"""The grid of features and versions, with a set's column beside the documented states."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from setwright.identity.model import Family, Feature, Version

SetKind = Literal["fits", "before", "after", "conflict", "seen", "predicted", "nothing"]
"""How a set's cell stands to the leading verdict: it fits; it fits only the version before or after the gap; it
does not fit; there is no verdict to compare with; it was not seen but is foretold; nothing is known."""

CODES = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
MOST_NARROW_COLUMNS = 8
"""The style sheet has a narrow layout for so many versions; more of them scroll in a box of their own."""

UNSAID = "not said"


@dataclass(frozen=True, slots=True)
class SetCell:
    """What one set shows of one feature. `note` says in words how it stands to the verdict."""

    text: str
    kind: SetKind
    note: str = ""
    state: str | None = None


@dataclass(frozen=True, slots=True)
class Column:
    """One documented version; `code` is its letter where the columns are narrow."""

    code: str
    label: str
    version: str
    leading: bool


@dataclass(frozen=True, slots=True)
class Span:
    """Neighbouring versions that share a state. `shared` says that the set shows it too."""

    text: str
    width: int
    silent: bool
    shared: bool
    codes: str


@dataclass(frozen=True, slots=True)
class GridRow:
    """One feature."""

    feature: str
    label: str
    role: str
    access: str
    spans: tuple[Span, ...]
    cell: SetCell | None


@dataclass(frozen=True, slots=True)
class Grid:
    """One line's features against its versions, features in the order in which they change."""

    line: str
    columns: tuple[Column, ...]
    rows: tuple[GridRow, ...]
    set_label: str

    @property
    def is_long(self) -> bool:
        """Whether there are more versions than a narrow page can show side by side."""
        return len(self.columns) > MOST_NARROW_COLUMNS

    @property
    def has_set(self) -> bool:
        """Whether there is a set's column."""
        return bool(self.set_label)


def grid_of(
    family: Family,
    line: str,
    cells: Mapping[str, SetCell] | None = None,
    *,
    set_label: str = "",
    leading: Sequence[str] = (),
) -> Grid:
    """The grid of one line.

    cells : the set's column by feature id; None leaves it out. leading : the version or the two neighbours
    of the leading verdict, whose columns are marked.
    """
    versions = family.versions_of(line)
    columns = tuple(
        Column(CODES[i % len(CODES)], version.label, version.id, version.id in leading)
        for i, version in enumerate(versions)
    )
    features = sorted(
        (feature for feature in family.features if feature.in_line(line) or _was_seen(cells, feature.id)),
        key=lambda feature: _first_change(feature, versions),
    )
    rows = tuple(_row(feature, versions, cells) for feature in features)
    return Grid(line=line, columns=columns, rows=rows, set_label=set_label if cells is not None else "")


def _was_seen(cells: Mapping[str, SetCell] | None, feature: str) -> bool:
    """A set may show what its line should not have; that must not go unseen."""
    return cells is not None and feature in cells and cells[feature].kind not in {"predicted", "nothing"}


def _first_change(feature: Feature, versions: Sequence[Version]) -> tuple[int, int]:
    """Sorts features by the version that first differs; what never changes and variants stand last."""
    known = [(i, version.states[feature.id]) for i, version in enumerate(versions) if feature.id in version.states]
    for (_, before), (i, after) in pairwise(known):
        if before != after:
            return (0, i)
    return (2 if feature.role == "variant" else 1, 0)


def _row(feature: Feature, versions: Sequence[Version], cells: Mapping[str, SetCell] | None) -> GridRow:
    cell = None if cells is None else cells.get(feature.id, SetCell("not seen", "nothing"))
    spans: list[Span] = []
    for i, version in enumerate(versions):
        state = version.states.get(feature.id)
        text = state or (" or ".join(feature.states) if feature.role == "variant" else UNSAID)
        code = CODES[i % len(CODES)]
        shared = cell is not None and cell.state is not None and cell.state == state
        if spans and spans[-1].text == text and spans[-1].silent == (state is None):
            last = spans[-1]
            first_code = last.codes.split("–")[0]
            spans[-1] = Span(text, last.width + 1, last.silent, shared, f"{first_code}–{code}")
        else:
            spans.append(Span(text, 1, state is None, shared, code))
    return GridRow(
        feature=feature.id,
        label=feature.label,
        role=feature.role,
        access=feature.access,
        spans=tuple(spans),
        cell=cell,
    )
