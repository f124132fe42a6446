"""What changed between two texts, laid out for reading."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from setwright.workbench.records.merging import Stretch, differences, lines_of

AROUND = 2
"""So many unchanged lines are shown around each change."""

MOST_LINES = 400
"""So many lines are shown; the rest is counted."""


@dataclass(frozen=True, slots=True)
class DiffLine:
    """One line. sign : "+" came in, "-" went out, " " stayed. number : its line in the text it stands in, from 1."""

    sign: str
    number: int
    text: str


@dataclass(frozen=True, slots=True)
class Diff:
    """Stretches of lines, each from one change to the next that lies near; `left_out` lines are not shown."""

    stretches: tuple[tuple[DiffLine, ...], ...]
    left_out: int = 0

    @property
    def is_empty(self) -> bool:
        """Whether the texts are the same."""
        return not self.stretches


def diff_of(old: str, new: str) -> Diff:
    """How the new text differs from the old one."""
    before = lines_of(old)
    lines: list[tuple[DiffLine, ...]] = []
    left_out = shift = 0
    for group in _near(differences(before, lines_of(new))):
        laid_out, shift = _laid_out(before, group, shift)
        room = max(MOST_LINES - sum(len(stretch) for stretch in lines), 0)
        left_out += len(laid_out[room:])
        if laid_out[:room]:
            lines.append(tuple(laid_out[:room]))
    return Diff(tuple(lines), left_out)


def _near(changes: list[Stretch]) -> list[list[Stretch]]:
    """Changes whose surroundings meet, together."""
    groups: list[list[Stretch]] = []
    for change in changes:
        if groups and change.start - groups[-1][-1].end <= 2 * AROUND:
            groups[-1].append(change)
        else:
            groups.append([change])
    return groups


def _laid_out(before: list[str], group: list[Stretch], shift: int) -> tuple[list[DiffLine], int]:
    """The lines of one stretch. shift : how much further down in the new text what stays stands; also given back."""
    lines: list[DiffLine] = []
    place = max(group[0].start - AROUND, 0)
    for change in group:
        lines += _signed(" ", before[place : change.start], place + shift)
        lines += _signed("-", before[change.start : change.end], change.start)
        lines += _signed("+", change.lines, change.start + shift)
        shift += len(change.lines) - (change.end - change.start)
        place = change.end
    lines += _signed(" ", before[place : place + AROUND], place + shift)
    return lines, shift


def _signed(sign: str, texts: Sequence[str], first: int) -> list[DiffLine]:
    return [DiffLine(sign, first + index + 1, text.rstrip("\r\n")) for index, text in enumerate(texts)]
