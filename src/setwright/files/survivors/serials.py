"""Where the survivors of a register stand on their lines' axes."""

from __future__ import annotations

import re
from dataclasses import dataclass

from setwright.files.problems import quoted
from setwright.files.serials import NoPlace, places_of
from setwright.files.survivors.cells import CellProblem, refuse_formula
from setwright.files.survivors.spreadsheet import clean, is_formula, spoiled, without_text_mark
from setwright.identity.model import Family
from setwright.identity.places import OPEN_END, blocks_of
from setwright.notation import NotationError, parse_serial

_NEVER_A_SERIAL = re.compile(r"\d+[-/.]\d+[-/.]\d+.*|\d+[.,]0+|\d(?:[.,]\d+)?[eE]\+\d+")
"""Dates, added decimals, numbers cut short: without their separators some would pass as serials."""


@dataclass(frozen=True, slots=True)
class PlacedSerial:
    """Line (place in the family's lines, -1 unknown) and position (-1 unknown) of one set.

    `kept` is the serial in its plain form where it does not settle the position.
    """

    line: int
    position: int
    kept: str | None = None
    plain: str | None = None


@dataclass(frozen=True, slots=True)
class Stretch:
    """The numbers `first` … `last` behind a prefix stand at number + shift on a line's axis."""

    line: int
    prefix: str
    first: int
    last: int
    shift: int


def stretches_of(family: Family) -> list[Stretch]:
    """Every serial block, cut to the family's first and last serial."""
    first = -1 if family.first_serial is None else family.first_serial
    last = OPEN_END if family.last_serial is None else family.last_serial
    stretches = []
    for line, line_id in enumerate(family.line_ids):
        for block in blocks_of(family, line_id):
            shift = block.starts_at - block.first
            low, high = max(block.first, first - shift), min(block.last, last - shift)
            if low <= high:
                stretches.append(Stretch(line, block.prefix, low, high, shift))
    return stretches


class SerialPlacer:
    """Places serials of one family, one at a time."""

    def __init__(self, family: Family) -> None:
        self.family = family
        self.stretches = stretches_of(family)
        self.only_line = 0 if len(family.lines) == 1 else -1

    def place(self, raw: str, line: int) -> PlacedSerial:
        """Line and position of a set with this serial; `line` is -1 where the register does not say.

        Raises CellProblem for what is no serial and for one that no set of the family (or the line) has.
        """
        text = without_text_mark(clean(raw))
        if not text:
            return PlacedSerial(self.only_line if line < 0 else line, -1)
        try:
            if _NEVER_A_SERIAL.fullmatch(text):
                raise NotationError(f"{quoted(text)} is no serial")
            pattern = parse_serial(text)
            plain = str(pattern)
            found = self._full(plain, line) if pattern.is_full else self._partial(plain, line)
            if not found:
                raise NoPlace(self.family, plain, None if line < 0 else self.family.line_ids[line])
        except NotationError as error:
            raise self._problem(text, line, error) from error
        lines = {place[0] for place in found}
        its_line = lines.pop() if len(lines) == 1 else -1
        if len(found) == 1 and found[0][1] == found[0][2]:
            return PlacedSerial(its_line, found[0][1], plain=plain)
        return PlacedSerial(its_line, -1, plain, plain)

    def _full(self, plain: str, line: int) -> list[tuple[int, int, int]]:
        """Every place of a serial that was read in full: line, first and last position (the same)."""
        found = []
        for stretch in self.stretches:
            number = plain[len(stretch.prefix) :]
            if (line < 0 or line == stretch.line) and plain.startswith(stretch.prefix) and number.isdigit():
                value = int(number)
                if stretch.first <= value <= stretch.last:
                    found.append((stretch.line, value + stretch.shift, value + stretch.shift))
        return found

    def _partial(self, plain: str, line: int) -> list[tuple[int, int, int]]:
        """Every stretch of positions that a partly legible serial fits."""
        line_id = None if line < 0 else self.family.line_ids[line]
        places = places_of(self.family, plain, line_id)
        return [(self.family.line_ids.index(place.line), place.first, place.last) for place in places]

    def _problem(self, text: str, line: int, error: NotationError) -> CellProblem:
        """The plainest reason: a formula, a spreadsheet's doing, another line's serial, or what notation says."""
        if is_formula(text):
            try:
                refuse_formula(text)
            except CellProblem as problem:
                return problem
        spoilt = spoiled(text)
        if spoilt is not None:
            return CellProblem(f"{quoted(text)}: {spoilt}; write the serial anew, with the column's format set to text")
        if isinstance(error, NoPlace) and line >= 0:
            elsewhere = sorted({place[0] for place in self._anywhere(text)})
            if elsewhere:
                others = ", ".join(self.family.line_ids[other] for other in elsewhere)
                return CellProblem(f"{error.message}; the serial belongs to line {others}")
        return CellProblem(error.message, error.suggestion)

    def _anywhere(self, text: str) -> list[tuple[int, int, int]]:
        pattern = parse_serial(text)
        return self._full(str(pattern), -1) if pattern.is_full else self._partial(str(pattern), -1)
