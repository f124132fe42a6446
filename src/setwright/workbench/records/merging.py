"""Differences of two texts, line by line, and taking one change back while later ones stay."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import SequenceMatcher

MOST_COMPARED = 5_000
"""Texts up to so many lines are compared in full. Of longer ones what is the same at both ends is laid aside first,
which may pair lines that are the same everywhere, such as empty ones, with others than a person would."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """Lines `start` to `end` (not included) of one text, and the lines that stand there in the other."""

    start: int
    end: int
    lines: tuple[str, ...]


def lines_of(text: str) -> list[str]:
    """The lines with their ends, so that joined they are the text again."""
    return text.splitlines(keepends=True)


def differences(old: list[str], new: list[str]) -> list[Stretch]:
    """What to put into which places of `old` to have `new`, from the top down."""
    head = tail = 0
    if max(len(old), len(new)) > MOST_COMPARED:
        head = _same_count(old, new)
        tail = _same_count(old[head:][::-1], new[head:][::-1])
    before, after = old[head : len(old) - tail], new[head : len(new) - tail]
    # Still very long: lines that occur very often are passed over.
    matcher = SequenceMatcher(None, before, after, autojunk=max(len(before), len(after)) > MOST_COMPARED)
    return [
        Stretch(head + start, head + end, tuple(after[first:last]))
        for tag, start, end, first, last in matcher.get_opcodes()
        if tag != "equal"
    ]


def _same_count(one: list[str], other: list[str]) -> int:
    """How many lines from the top are the same."""
    count = 0
    for left, right in zip(one, other, strict=False):
        if left != right:
            break
        count += 1
    return count


def taken_back(base: str, before: str, present: str) -> str | None:
    """The present text without the change that made `before` into `base`; None where later changes touched its lines.

    Lines next to each other do not touch: of two observations added one after the other either can be taken back.
    """
    lines = lines_of(base)
    back, later = differences(lines, lines_of(before)), differences(lines, lines_of(present))
    if any(_touch(one, other) for one in back for other in later):
        return None
    # From the end, so that the places of what is still to come stay right.
    for stretch in sorted([*back, *later], key=lambda item: (item.start, item.end), reverse=True):
        lines[stretch.start : stretch.end] = stretch.lines
    return "".join(lines)


def _touch(one: Stretch, other: Stretch) -> bool:
    """Whether both change the same lines, or put lines into the same place."""
    if one.start == one.end and other.start == other.end:
        return one.start == other.start
    return max(one.start, other.start) < min(one.end, other.end) or _inside(one, other) or _inside(other, one)


def _inside(point: Stretch, stretch: Stretch) -> bool:
    """Whether lines are put in between the lines of a changed stretch."""
    return point.start == point.end and stretch.start < point.start < stretch.end
