"""The cells of one column, sorted into states: values with a unit by their size, text by its words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import log1p

from setwright.files.problems import listing, quoted
from setwright.files.shapes import UNITS
from setwright.files.states import ROUNDING, apart
from setwright.files.suggest import near_miss, squeezed
from setwright.identity.model import ABSENT
from setwright.notation import NotationError, parse_part_value

TOLERANCES = (0.2, 0.1, 0.05, 0.02, 0.01)
"""Tried from the usual one down until the states lie far enough apart."""

MOST_STATES = 12
"""A column with more different states describes each set rather than a version of it (common practice, no source)."""

SHARE_OF_VALUES = 0.8
"""So large a part of the cells must be values for the column to be one of values."""


class NoStates(ValueError):
    """The cells make no feature; the message says why."""


@dataclass(frozen=True, slots=True)
class States:
    """The states of one column.

    states : in the order of first sight. counts : how many sets show each. by_cell : the state of each text, for
    those texts that have one. tolerance : relative, None where the usual one will do or there is no unit.
    notes : what the reader should know, without the full stop.
    """

    states: tuple[str, ...]
    counts: tuple[int, ...]
    by_cell: Mapping[str, str]
    unit: str | None = None
    tolerance: float | None = None
    notes: tuple[str, ...] = ()


def states_of(cells: Sequence[str]) -> States:
    """The states of the cells of one column; blank ones and those that say "unknown" are left out before.

    Raises NoStates where they are all alike, or too many, or values that run into each other.
    """
    texts = Counter(cells)
    values = _values(texts)
    found = _text_states(texts) if values is None else _value_states(texts, *values)
    if len(found.states) < 2:
        raise NoStates(
            f"every set shows {quoted(found.states[0])}" if found.states else "no set shows anything in this column"
        )
    if len(found.states) > MOST_STATES:
        raise NoStates(f"{len(found.states)} different entries; a feature has a few states that many sets share")
    return found


def _values(texts: Mapping[str, int]) -> tuple[str, dict[str, float]] | None:
    """The unit and the SI value of each text, where nearly all of them are values of one unit; else None."""
    known = {text: count for text, count in texts.items() if text != ABSENT}
    for unit in UNITS:
        read = {text: value for text in known if (value := _value(text, unit)) is not None}
        if read and sum(known[text] for text in read) >= SHARE_OF_VALUES * sum(known.values()):
            return unit, read
    return None


def _value(text: str, unit: str) -> float | None:
    """The value of a text that itself names its unit; a bare number could be anything."""
    try:
        part = parse_part_value(text)
    except NotationError:
        return None
    return part.value if part.unit == unit and part.value > 0 else None


def _value_states(texts: Mapping[str, int], unit: str, values: Mapping[str, float]) -> States:
    written = _by_value(values)
    common = [group for group in written if sum(texts[text] for text in group) > 1]
    anchors = common if len(common) > 1 else written
    tolerance = next((one for one in TOLERANCES if _clear([values[group[0]] for group in anchors], one)), None)
    if tolerance is None:
        raise NoStates("the values run into each other, so no states can be told apart")
    groups = _with_the_rest(anchors, written, values, tolerance)
    by_cell = {text: _usual(state, texts) for state, joined in groups for text in (*state, *joined)}
    by_cell |= {ABSENT: ABSENT} if ABSENT in texts else {}
    odd = [text for text in texts if text not in by_cell]
    notes = [f"{listing(map(quoted, odd), 'and')} will count as something not listed"] if odd else []
    if tolerance != TOLERANCES[0]:
        notes.append(f"some values lie close together, so the tolerance is {tolerance:g}")
    narrow = None if tolerance == TOLERANCES[0] else tolerance
    return _counted(texts, by_cell, unit=unit, tolerance=narrow, notes=tuple(notes))


def _by_value(values: Mapping[str, float]) -> list[list[str]]:
    """The texts that write one value in different ways, the smallest value first."""
    groups: list[list[str]] = []
    for text in sorted(values, key=lambda one: values[one]):
        if groups and apart(values[text], values[groups[-1][0]]) <= ROUNDING:
            groups[-1].append(text)
        else:
            groups.append([text])
    return groups


def _clear(values: Sequence[float], tolerance: float) -> bool:
    """Whether values in ascending order lie more than twice the tolerance apart, as states must."""
    return all(apart(low, high) > 2 * log1p(tolerance) + ROUNDING for low, high in pairwise(values))


def _with_the_rest(
    anchors: Sequence[list[str]], written: Sequence[list[str]], values: Mapping[str, float], tolerance: float
) -> list[tuple[list[str], list[str]]]:
    """Each state's own texts, and the rare ones that lie within the tolerance of it.

    A rare value that is far enough from all is a state itself; one that lies between two is left out.
    """
    groups: list[tuple[list[str], list[str]]] = [(anchor, []) for anchor in anchors]
    for group in written:
        if group in anchors:
            continue
        value = values[group[0]]
        state, joined = min(groups, key=lambda one: apart(values[one[0][0]], value))
        distance = apart(values[state[0]], value)
        if distance <= log1p(tolerance):
            joined.extend(group)
        elif distance > 2 * log1p(tolerance) + ROUNDING:
            groups.append((group, []))
    return groups


def _usual(group: Sequence[str], texts: Mapping[str, int]) -> str:
    """The way of writing that most sets have; of equally frequent ones the shortest."""
    return min(group, key=lambda text: (-texts[text], len(text), text))


def _text_states(texts: Mapping[str, int]) -> States:
    """Texts that differ only in case, spaces and punctuation are one state, the usual one.

    A text that one set alone shows, near a state that several show, is taken for a slip of the pen.
    """
    by_squeezed: dict[str, list[str]] = {}
    for text in texts:
        by_squeezed.setdefault(squeezed(text) or text, []).append(text)
    groups = sorted(by_squeezed.values(), key=lambda group: (-sum(texts[text] for text in group), group[0]))
    common: list[str] = []
    by_cell: dict[str, str] = {}
    slips: list[str] = []
    for group in groups:
        usual = _usual(group, texts)
        once = sum(texts[text] for text in group) == 1
        meant = near_miss(usual, common) if once else None
        state = meant or usual
        if not once:
            common.append(usual)
        by_cell |= dict.fromkeys(group, state)
        slips += [f"{quoted(text)} is taken for {quoted(state)}" for text in group if text != state]
    return _counted(texts, by_cell, notes=tuple(slips))


def _counted(
    texts: Mapping[str, int],
    by_cell: Mapping[str, str],
    *,
    unit: str | None = None,
    tolerance: float | None = None,
    notes: tuple[str, ...] = (),
) -> States:
    counts: Counter[str] = Counter()
    for text, count in texts.items():
        if text in by_cell:
            counts[by_cell[text]] += count
    return States(tuple(counts), tuple(counts.values()), by_cell, unit, tolerance, notes)
