"""What a survivors file gives: identity's columns, the cells as text, warnings; and how rows become that."""

from __future__ import annotations

from array import array
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from setwright.files.problems import listing, quoted
from setwright.files.serials import places_of, plain_serial
from setwright.files.survivors.cells import CellReader
from setwright.files.survivors.columns import Columns
from setwright.identity.model import (
    LOOKS_SERVICED,
    NOT_SEEN,
    SURENESSES,
    BenchSet,
    Family,
    Feature,
    Survivors,
    seen_code,
)

MOST_ROWS_KEPT = 20_000
"""A register with fewer sets keeps its cells as text, for pages and for putting them right."""

_MOST_NAMED = 5


@dataclass(frozen=True)
class Register:
    """A survivors file that was read without a problem.

    survivors : what identity works on.
    rows : for small registers the cells of each survivor as text, by column, in the order of `survivors`.
    dates : the columns `stamp_date` and `part_date.…`, in the same order, "" where nothing is known.
    warnings : what was read differently from how it stands, or left out.
    """

    name: str
    survivors: Survivors
    rows: tuple[Mapping[str, str], ...] = ()
    dates: Mapping[str, Sequence[str]] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True)
class BenchPlace:
    """The bench set as a register may hold it: its id, its serial in plain form and its line (-1 unknown)."""

    id: str | None = None
    serial: str | None = None
    line: int = -1

    def holds(self, set_id: str, serial: str | None, line: int) -> bool:
        """Whether a row is the bench set itself: its id, or its serial and line."""
        return set_id == self.id or (self.serial is not None and serial == self.serial and line == self.line)


def bench_place(family: Family, bench: BenchSet | None) -> BenchPlace:
    """The bench set's id, serial and line; the line follows from the serial where only one has it."""
    if bench is None:
        return BenchPlace()
    line = -1 if bench.line is None else family.line_ids.index(bench.line)
    if not bench.serial:
        return BenchPlace(bench.id)
    serial = plain_serial(bench.serial)
    if line < 0:
        lines = {place.line for place in places_of(family, serial)}
        line = family.line_ids.index(lines.pop()) if len(lines) == 1 else -1
    # A serial of which nothing is legible is no sign that two sets are one.
    return BenchPlace(bench.id, serial if any(c.isdigit() for c in serial) else None, line)


def may_hold(survivors: Survivors, family: Family, bench: BenchSet) -> bool:
    """Whether a register that was read as a whole may have a row that is the bench set. No is certain, yes is not."""
    place = bench_place(family, bench)
    if place.id in survivors.ids:
        return True
    if place.serial is None:
        return False
    if place.serial in survivors.serial.values():
        return True
    fitting = {found.first for found in places_of(family, place.serial) if found.first == found.last}
    return bool(np.isin(survivors.position, list(fitting)).any())


def code_type(feature: Feature) -> str:
    """The array type code that holds every `seen_code` of a feature: "b" (8 bits) or "h" (16 bits)."""
    return "b" if seen_code(len(feature.all_states), len(SURENESSES) - 1) <= 127 else "h"


class SurvivorRows:
    """Collects survivors row by row into identity's columns."""

    def __init__(self, family: Family, columns: Columns) -> None:
        self.ids: list[str] = []
        self.line = array("h")
        self.position = array("q")
        self.serial: dict[int, str] = {}
        self.seen = {name: array(code_type(place.feature)) for name, place in columns.features.items()}
        self.dates: dict[str, list[str]] = {name: [] for name in columns.dates}
        self.family = family

    def survivors(self) -> Survivors:
        """The columns; a feature that nobody has seen has none."""
        seen = {name: np.array(codes, dtype=codes.typecode) for name, codes in self.seen.items()}
        return Survivors(
            ids=tuple(self.ids),
            line=np.array(self.line, dtype=np.int16),
            position=np.array(self.position, dtype=np.int64),
            seen={name: codes for name, codes in seen.items() if bool((codes != NOT_SEEN).any())},
            serial=self.serial,
        )


def row_code(state: int, sure: int, serviced: int) -> int:
    """One cell of identity's columns from the three cells of a register."""
    if serviced:
        return LOOKS_SERVICED
    return NOT_SEEN if state < 0 else seen_code(state, sure)


def doubt_warnings(readers: Mapping[str, CellReader]) -> list[str]:
    """Warnings for texts that count as something not listed although they may mean "unknown"."""
    return [
        f"Column {quoted(name)}: {listing(map(quoted, sorted(reader.doubtful)), 'and')} counts as something that is "
        "not listed. Leave a cell empty where nothing was seen."
        for name, reader in readers.items()
        if reader.doubtful
    ]


def same_place_warnings(survivors: Survivors) -> list[str]:
    """A warning for sets that share a serial: perhaps one set noted twice."""
    known = np.flatnonzero((survivors.position >= 0) & (survivors.line >= 0))
    keys = np.stack([survivors.line[known].astype(np.int64), survivors.position[known]])
    order = np.lexsort(keys[::-1])
    sorted_keys = keys[:, order]
    doubled = np.flatnonzero((sorted_keys[:, 1:] == sorted_keys[:, :-1]).all(axis=0))
    if len(doubled) == 0:
        return []
    pairs = [
        f"{quoted(survivors.ids[int(known[order[i]])])} and {quoted(survivors.ids[int(known[order[i + 1]])])}"
        for i in doubled[:_MOST_NAMED]
    ]
    more = f" and {len(doubled) - _MOST_NAMED} more" if len(doubled) > _MOST_NAMED else ""
    return [f"Two rows with the same serial and line: {'; '.join(pairs)}{more}. If they are one set, keep one row."]


def bench_warnings(left_out: Sequence[str]) -> list[str]:
    """A warning for rows that are the bench set itself."""
    if not left_out:
        return []
    named = listing(map(quoted, left_out[:_MOST_NAMED]), "and")
    return [f"Left out: {named}, which by id, or by serial and line, is the set on the bench itself."]
