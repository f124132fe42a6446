"""Findings of all lines, put into the answer's words: verdict, changes, places."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from setwright.identity.answer import AxisAnswer, ChangeAnswer, Interval, VerdictEntry
from setwright.identity.factors import SeenFeature
from setwright.identity.findings import LineFindings
from setwright.identity.places import FRACTION_UNIT, Axis, StandablePlaces


def verdict_of(
    lines: Sequence[LineFindings], seen: Sequence[SeenFeature]
) -> tuple[tuple[VerdictEntry, ...], tuple[int, int]]:
    """Entries most probable first, and (line, entry) of the leading one."""
    entries = []
    for number, line in enumerate(lines):
        masses = line.entry_masses().sum(axis=1)
        by_feature = {s.feature.id: (s, line.state_masses(s).sum(axis=1)) for s in seen}
        for entry, mass in enumerate(masses):
            states = {
                feature: s.feature.all_states[int(split[entry].argmax())] for feature, (s, split) in by_feature.items()
            }
            answer = _entry(line, entry, float(mass), states)
            if answer is not None:
                entries.append((answer, (number, entry)))
    entries.sort(key=lambda pair: -pair[0].probability)
    return tuple(answer for answer, _ in entries), entries[0][1]


def _entry(line: LineFindings, entry: int, mass: float, states: dict[str, str]) -> VerdictEntry | None:
    """One verdict entry; None for the gap of a block with a single change, inside which no set can stand."""
    if not line.can_stand(entry):
        return None
    history, stages = line.history, len(line.history.stages)
    applied = line.applied_given(entry)
    if entry < stages:
        stage = history.stages[entry]
        return VerdictEntry(stage.label, history.line, stage.version or None, None, mass, applied, states)
    before, after = history.stages[entry - stages], history.stages[entry - stages + 1]
    label = f"between {before.label} and {after.label}"
    return VerdictEntry(label, history.line, None, (before.version, after.version), mass, applied, states)


def changes_of(lines: Sequence[LineFindings], level: float) -> tuple[ChangeAnswer, ...]:
    """Every change of every line with its cut-in range."""
    return tuple(
        ChangeAnswer(
            id=found.change.id,
            feature=found.change.feature,
            from_state=found.change.from_state,
            to_state=found.change.to_state,
            line=found.change.line,
            block=found.gap,
            cut_in=interval(line.axis, line.edges, found.cut_in if found.ranged is None else found.ranged, level),
            applied_probability=found.applied,
            mass=found.cut_in,
            probability=found.probability,
        )
        for line in lines
        for found in line.change_posteriors()
    )


def interval(
    axis: Axis, edges: np.ndarray, mass: np.ndarray, level: float, standable: StandablePlaces | None = None
) -> Interval:
    """Central range and median of a position whose probability per cell is `mass`.

    The smallest positions whose cumulative probability reaches (1 - level) / 2, 1 / 2 and the rest, the
    positions of one cell (of `standable`, if given) being equally likely; parts of the run where the axis
    has no serials.
    """
    cumulative = np.cumsum(mass)
    tail = (1.0 - level) / 2.0
    standable = standable or StandablePlaces(mass, mass, ((axis.first, axis.last),))

    def quantile(p: float) -> float:
        cell = min(int(np.searchsorted(cumulative, p * cumulative[-1] - 1e-12)), len(mass) - 1)
        before = cumulative[cell] - mass[cell]
        share = (p * cumulative[-1] - before) / mass[cell] if mass[cell] > 0.0 else 1.0
        position = standable.position(int(edges[cell]), int(edges[cell + 1]), float(np.clip(share, 0.0, 1.0)))
        return position / axis.last if axis.unit == FRACTION_UNIT else float(position)

    return Interval(quantile(tail), quantile(0.5), quantile(1.0 - tail), level)


def serial_of(line: LineFindings, level: float) -> Interval:
    """The set's place in its most probable line."""
    return interval(line.axis, line.edges, line.in_cell, level, line.standable)


def axis_answer(line: LineFindings) -> AxisAnswer:
    """The line's axis with the set's place on it."""
    return AxisAnswer(line.axis.line, line.axis.unit, line.edges, line.probability, line.in_cell)
