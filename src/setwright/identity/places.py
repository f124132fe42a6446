"""Where a serial stands: lines, serial blocks and the production axis of each line.

A line's axis is a row of whole positions. Without serial blocks a position is the serial itself; with
blocks the axis is what the blocks cover, each standing where `starts_at` says.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from setwright.identity.model import Family, SerialBlock
from setwright.notation import parse_serial

SERIAL_UNIT = "serial"
FRACTION_UNIT = "fraction of the run"
FRACTION_POSITIONS = 512
"""Equal positions that stand for the run where no serial at all is known."""

OPEN_END = 10**12
"""Stands for "no upper end" in lines whose last serial is not documented."""


@dataclass(frozen=True, slots=True)
class Place:
    """A stretch of one line's axis, both ends included."""

    line: str
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class Axis:
    """The production axis of one line: positions `first` … `last`.

    `stretches` are the parts of it that hold sets (all of it, unless serial blocks leave gaps).
    `inferred` says that the last position was estimated from the serials known.
    """

    line: str
    first: int
    last: int
    unit: str
    stretches: tuple[tuple[int, int], ...]
    inferred: bool = False

    @property
    def count(self) -> int:
        """How many positions the axis has."""
        return self.last - self.first + 1

    @property
    def set_count(self) -> int:
        """How many of its positions hold sets."""
        return sum(last - first + 1 for first, last in self.stretches)


def blocks_of(family: Family, line: str) -> tuple[SerialBlock, ...]:
    """The serial blocks of one line; a line without any has one block of plain numbers."""
    blocks = tuple(block for block in family.serial_blocks if block.line == line)
    if blocks:
        return blocks
    first = 1 if family.first_serial is None else family.first_serial
    last = OPEN_END if family.last_serial is None else family.last_serial
    return (SerialBlock(prefix="", first=first, last=last, starts_at=first, line=line),)


def locate(family: Family, serial: str | None, line: str | None = None) -> tuple[Place, ...]:
    """Every place that a serial, or what is legible of it, fits; nothing where it fits nowhere.

    Without a serial these are whole lines. `line` limits the search to one line.
    """
    pattern = None if serial is None else parse_serial(serial)
    places = []
    for line_id in family.line_ids if line is None else (line,):
        stretches = []
        for block in blocks_of(family, line_id):
            ranges = (
                ((block.first, block.last),)
                if pattern is None
                else pattern.matching_numbers(block.prefix, block.first, block.last)
            )
            shift = block.starts_at - block.first
            stretches += [(first + shift, last + shift) for first, last in ranges]
        places += [Place(line_id, first, last) for first, last in _merged(stretches)]
    return tuple(places)


def positions_of(family: Family, line: str, prefix: str, numbers: np.ndarray) -> np.ndarray:
    """Positions of many serials `prefix` + number on one line's axis; -1 where no block holds the number."""
    positions = np.full(len(numbers), -1, dtype=np.int64)
    for block in blocks_of(family, line):
        if block.prefix == prefix:
            inside = (numbers >= block.first) & (numbers <= block.last)
            positions[inside] = numbers[inside] + (block.starts_at - block.first)
    return positions


def describe(family: Family, line: str, position: int) -> str:
    """The serial that stands at a position, as it would be written; the plain number between blocks."""
    for block in blocks_of(family, line):
        number = position - block.starts_at + block.first
        if block.first <= number <= block.last:
            return f"{block.prefix}{number}"
    return str(position)


def axis_of(family: Family, line: str, known_positions: np.ndarray) -> Axis:
    """The axis of one line, its end taken from the documents or else from the serials known.

    known_positions : positions of every set of the line whose serial is known in full.

    Without a last serial the end is m + m/n - 1, rounded up, with m the largest of the n known serials
    counted from the first (the classical unbiased estimate for serials drawn without replacement from
    1 … N; from memory), or a documented cut-in bound beyond it. Without any serial the run has
    `FRACTION_POSITIONS` equal positions, on which documented bounds have no place.
    """
    blocks = blocks_of(family, line)
    first = min(block.starts_at for block in blocks)
    last = max(block.starts_at + block.last - block.first for block in blocks)
    if last < OPEN_END:
        return _clipped(family, line, first, last, blocks)
    if len(known_positions) == 0:
        return Axis(line, 1, FRACTION_POSITIONS, FRACTION_UNIT, ((1, FRACTION_POSITIONS),), inferred=True)
    largest, count = int(known_positions.max()) - first + 1, len(known_positions)
    last = first - 1 + largest + -(-largest // count) - 1
    for bound in family.cut_in_bounds:
        if bound.line == line:
            last = max(last, (bound.after or first - 1) + 1, bound.before or first)
    return Axis(line, first, last, SERIAL_UNIT, ((first, last),), inferred=True)


def axis_with_set(
    family: Family, line: str, known_positions: np.ndarray, serial: str | None, fits: Sequence[Place]
) -> Axis:
    """The axis of one line with the bench set among its sets; see `axis_of`.

    known_positions : positions of the other sets. fits : the places of the line that `serial` fits, ascending.

    A serial read in full is one known serial more. A fragment is none, but the axis must hold it: where the
    serials known put the end before all that it fits, the largest of these counts as known, or the smallest
    where * leaves the number of digits open. Such an open fragment alone gives the axis no end.
    """
    axis = axis_of(family, line, known_positions)
    if serial is None or not fits or not axis.inferred:
        return axis
    if parse_serial(serial).is_full:
        return axis_of(family, line, np.append(known_positions, fits[0].first))
    digits_open = "*" in serial
    if digits_open if axis.unit == FRACTION_UNIT else fits[0].first <= axis.last:
        return axis
    return axis_of(family, line, np.append(known_positions, fits[0].first if digits_open else fits[-1].last))


def on_axis(axis: Axis, fits: Sequence[Place]) -> tuple[Place, ...]:
    """The parts of places that lie on their line's axis; all of it where the axis has no serials."""
    if axis.unit == FRACTION_UNIT:
        return (Place(axis.line, axis.first, axis.last),) if fits else ()
    return tuple(
        Place(axis.line, max(place.first, axis.first), min(place.last, axis.last))
        for place in fits
        if place.first <= axis.last and place.last >= axis.first
    )


def places_on_axes(family: Family, serial: str | None, line: str | None, axes: Mapping[str, Axis]) -> tuple[Place, ...]:
    """Every place on the axes that a serial fits; `line` limits them to one line."""
    fits = {name: locate(family, serial, name) for name in family.line_ids if line in (None, name)}
    return tuple(place for name, places in fits.items() for place in on_axis(axes[name], places))


@dataclass(frozen=True, slots=True)
class StandablePlaces:
    """The positions a set may have, as weights of the boundaries between cells.

    The r-th of the w positions of a cell comes after the share r / w of it, so it counts r / w at the
    boundary behind its cell (`behind`, by cell) and the rest at the one ahead of it (`ahead`).
    `ranges` are the positions themselves, ascending, both ends included.
    """

    behind: np.ndarray
    ahead: np.ndarray
    ranges: tuple[tuple[int, int], ...]

    @property
    def weights(self) -> np.ndarray:
        """(C + 1,) positions that count at each boundary; boundary k comes after the first k cells."""
        return np.append(0.0, self.behind) + np.append(self.ahead, 0.0)

    def by_cell(self, by_boundary: np.ndarray) -> np.ndarray:
        """(C,) probability of each cell from weights of the boundaries; it sums to 1."""
        weights = self.weights
        shares = np.divide(by_boundary, weights, out=np.zeros_like(weights), where=weights > 0.0)
        cells = shares[1:] * self.behind + shares[:-1] * self.ahead
        total: np.ndarray = cells / cells.sum()
        return total

    def position(self, before: int, last: int, share: float) -> int:
        """The position that the share of those in the cell after `before` up to `last` has come to."""
        here = [(max(low, before + 1), min(high, last)) for low, high in self.ranges if low <= last and high > before]
        nth = max(math.ceil(share * sum(high - low + 1 for low, high in here) - 1e-9), 1)
        for low, high in here:
            if nth <= high - low + 1:
                return low + nth - 1
            nth -= high - low + 1
        return last


def standable_places(axis: Axis, places: list[Place], edges: np.ndarray) -> StandablePlaces:
    """Where on the cells between `edges` a set with the given places on this axis can stand."""
    behind, ahead = np.zeros(len(edges) - 1), np.zeros(len(edges) - 1)
    ranges = []
    for place in places:
        for low, high in axis.stretches:
            first, last = max(place.first, low), min(place.last, high)
            if first > last:
                continue
            ranges.append((first, last))
            start = np.clip(first, edges[:-1] + 1, edges[1:] + 1) - edges[:-1]
            stop = np.clip(last, edges[:-1], edges[1:]) - edges[:-1]
            count = np.maximum(stop - start + 1, 0)
            made = count * (start + stop) / 2.0 / np.diff(edges)
            behind += made
            # For cells of one position nothing stands ahead; rounding must not put it there.
            ahead += np.where(start == np.diff(edges), 0.0, count - made)
    return StandablePlaces(behind, ahead, tuple(sorted(ranges)))


def _clipped(family: Family, line: str, first: int, last: int, blocks: tuple[SerialBlock, ...]) -> Axis:
    """The axis of documented length: what the blocks cover, within the family's first and last serial."""
    if family.first_serial is not None:
        first = max(first, family.first_serial)
    if family.last_serial is not None:
        last = min(last, family.last_serial)
    covered = _merged([(block.starts_at, block.starts_at + block.last - block.first) for block in blocks])
    stretches = tuple((max(low, first), min(high, last)) for low, high in covered if high >= first and low <= last)
    return Axis(line, first, last, SERIAL_UNIT, stretches)


def _merged(stretches: list[tuple[int, int]]) -> tuple[tuple[int, int], ...]:
    """Stretches in ascending order, touching or overlapping ones joined."""
    merged: list[tuple[int, int]] = []
    for first, last in sorted(stretches):
        if merged and first <= merged[-1][1] + 1:
            merged[-1] = (merged[-1][0], max(last, merged[-1][1]))
        else:
            merged.append((first, last))
    return tuple(merged)
