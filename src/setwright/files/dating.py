"""From what the files hold to what dating works on, and between identity and dating."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from setwright.chronology import (
    Block,
    DatedSet,
    Evidence,
    Fitted,
    Place,
    PlaceBelief,
    Production,
    Run,
    positions_by,
    usual_epochs,
)
from setwright.chronology.model import FIRST_EPOCH
from setwright.files.dates import read_part_date
from setwright.files.sets import SetFile
from setwright.files.survivors.columns import PART_DATE
from setwright.files.survivors.register import Register
from setwright.identity.answer import Answer
from setwright.identity.model import BenchSet, Family
from setwright.identity.places import SERIAL_UNIT, Axis, axis_with_set, locate
from setwright.notation import parse_date

STAMP = "stamp_date"


@dataclass(frozen=True)
class DatingCase:
    """What dating works on: the family's production, the dated survivors, the set on the bench.

    serials : by line, the positions of the survivors whose serial is known in full, dated or not.
    """

    production: Production
    survivors: tuple[DatedSet, ...]
    bench: DatedSet
    serials: Mapping[str, Sequence[int]]


def dating_case(family: Family, set_file: SetFile, register: Register | None = None) -> DatingCase:
    """What dating works on, from a family, a set's file and a register of survivors."""
    bench = set_file.set
    serials = known_positions(family, register)
    axes = {line: _axis(family, bench, line, serials[line]) for line in family.line_ids}
    production = Production(
        tuple(_run(family, axis) for axis in axes.values()),
        None if family.introduced is None else parse_date(family.introduced),
        None if family.discontinued is None else parse_date(family.discontinued),
    )
    survivors = () if register is None else dated_survivors(family, register, axes)
    own = DatedSet(bench.id, places_on(family, bench.serial, bench.line, axes), set_file.date_evidence)
    return DatingCase(production, survivors, own, {line: known.tolist() for line, known in serials.items()})


def known_positions(family: Family, register: Register | None) -> dict[str, np.ndarray]:
    """By line, the positions of the survivors whose serial is known in full."""
    if register is None:
        return {line: np.empty(0, dtype=np.int64) for line in family.line_ids}
    survivors = register.survivors
    return {
        line: np.asarray(survivors.position[(survivors.line == number) & (survivors.position >= 0)])
        for number, line in enumerate(family.line_ids)
    }


def dated_survivors(family: Family, register: Register, axes: Mapping[str, Axis]) -> tuple[DatedSet, ...]:
    """The survivors of a register that have a stamp or a dated part."""
    survivors = register.survivors
    found = []
    for row in _dated_rows(register):
        evidence = tuple(_evidence(name, cells[row]) for name, cells in register.dates.items() if cells[row])
        number, position = int(survivors.line[row]), int(survivors.position[row])
        line = None if number < 0 else family.line_ids[number]
        if position >= 0 and line is not None:
            places: tuple[Place, ...] = (Place(line, position, position),)
        else:
            places = places_on(family, survivors.serial.get(row), line, axes)
        found.append(DatedSet(survivors.ids[row], places, evidence))
    return tuple(found)


def _dated_rows(register: Register) -> list[int]:
    rows: set[int] = set()
    for cells in register.dates.values():
        rows |= {row for row, cell in enumerate(cells) if cell}
    return sorted(rows)


@lru_cache(maxsize=65_536)
def _evidence(column: str, text: str) -> Evidence:
    """What a cell of a register says; it was checked when the register was read."""
    if column == STAMP:
        return Evidence("stamp", parse_date(text))
    return read_part_date(column.removeprefix(PART_DATE), text)


def places_on(family: Family, serial: str | None, line: str | None, axes: Mapping[str, Axis]) -> tuple[Place, ...]:
    """Every place on the axes that a serial fits; whole axes where it is not known or the axis has no serials."""
    found = []
    for name, axis in axes.items():
        if line not in (None, name):
            continue
        fits = locate(family, serial, name)
        if axis.unit != SERIAL_UNIT:
            found += [Place(name, axis.first, axis.last)] if fits else []
            continue
        found += [
            Place(name, max(place.first, axis.first), min(place.last, axis.last))
            for place in fits
            if place.first <= axis.last and place.last >= axis.first
        ]
    return tuple(found)


def _axis(family: Family, bench: BenchSet, line: str, known: np.ndarray) -> Axis:
    fits = locate(family, bench.serial, line) if bench.line in (None, line) else ()
    return axis_with_set(family, line, known, bench.serial if fits else None, fits)


def _run(family: Family, axis: Axis) -> Run:
    blocks = [block for block in family.serial_blocks if block.line == axis.line]
    on_serials = axis.unit == SERIAL_UNIT
    made = tuple(Block(block.prefix, block.first, block.last, block.starts_at) for block in blocks)
    start = 1 if family.first_serial is None else family.first_serial
    starts = [block.starts_at for block in blocks]
    # Of a run whose end is only estimated from survivors the epochs must not depend on its length.
    least = FIRST_EPOCH if axis.inferred else max(FIRST_EPOCH, axis.count // 64)
    return Run(
        line=axis.line,
        first=axis.first,
        last=axis.last,
        stretches=axis.stretches,
        unit=axis.unit,
        first_documented=not on_serials or bool(blocks) or family.first_serial is not None,
        last_documented=not on_serials or not axis.inferred,
        blocks=made or (Block("", family.first_serial, family.last_serial, start),),
        epochs=usual_epochs(axis.first, axis.last, *starts, least=least) if on_serials else (),
    )


def beliefs_of(answer: Answer) -> tuple[PlaceBelief, ...]:
    """Where identity thinks that the set stands, for dating a set whose serial is not known in full."""
    return tuple(
        PlaceBelief(axis.line, float(axis.probability), np.asarray(axis.edges), np.asarray(axis.position_mass))
        for axis in answer.axes
    )


def cut_in_beliefs(answer: Answer) -> dict[str, PlaceBelief]:
    """By change id, where identity thinks that each documented change came in."""
    edges = {axis.line: np.asarray(axis.edges) for axis in answer.axes}
    return {
        change.id: PlaceBelief(change.line, 1.0, edges[change.line], np.asarray(change.mass))
        for change in answer.changes
        if change.block is not None and change.line in edges
    }


def with_dated_cut_ins(family: Family, fitted: Fitted) -> Family:
    """The family with cut-ins that are documented by a date bounded in serials as well, as its survivors date them.

    Bounds that name serials stay as they are; on a line without known serials a date bounds nothing.
    """
    bounds = []
    for bound in family.cut_in_bounds:
        if bound.about is not None and fitted.production.run(bound.line).unit == SERIAL_UNIT:
            after, before = positions_by(fitted, bound.line, parse_date(bound.about))
            bound = replace(
                bound,
                after=after if bound.after is None else bound.after,
                before=before if bound.before is None else bound.before,
            )
        bounds.append(bound)
    return replace(family, cut_in_bounds=tuple(bounds))
