"""Survivors as pages show them, read back from the columns that computations use."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from setwright.identity.model import LOOKS_SERVICED, NOT_SEEN, SURENESSES, Family, Survivors, Version
from setwright.identity.places import describe
from setwright.workbench.families.grid import SetCell
from setwright.workbench.site.words import SURE_WORDS, line_words

SOMETHING_ELSE = "something not listed"


@dataclass(frozen=True, slots=True)
class SeenState:
    """What a survivor shows of one feature; `state` is None where it says nothing about the factory state."""

    text: str
    state: str | None
    sure: str
    serviced: bool


@dataclass(frozen=True, slots=True)
class Agreement:
    """How many of the features seen agree with one documented version."""

    line: str
    version: str
    label: str
    agreeing: int
    comparable: int

    @property
    def bar(self) -> float:
        """The share that agrees, in per cent."""
        return round(100 * self.agreeing / self.comparable, 1) if self.comparable else 0.0


@dataclass(frozen=True, slots=True)
class SurvivorView:
    """One survivor."""

    index: int
    name: str
    line: str | None
    position: int | None
    serial: str
    seen: Mapping[str, SeenState]


def view_of(family: Family, survivors: Survivors, index: int) -> SurvivorView:
    """The survivor in one row of the register."""
    line_index, position = int(survivors.line[index]), int(survivors.position[index])
    line = family.line_ids[line_index] if line_index >= 0 else None
    if position >= 0 and line is not None:
        serial = describe(family, line, position)
    else:
        serial = survivors.serial.get(index, "")
    seen = {}
    for feature in family.features:
        column = survivors.seen.get(feature.id)
        if column is not None and int(column[index]) != NOT_SEEN:
            seen[feature.id] = _seen_state(feature.all_states, int(column[index]))
    return SurvivorView(
        index=index,
        name=survivors.ids[index],
        line=line,
        position=position if position >= 0 else None,
        serial=serial,
        seen=seen,
    )


def _seen_state(states: Sequence[str], code: int) -> SeenState:
    if code == LOOKS_SERVICED:
        return SeenState("looks serviced", None, "", True)
    state, sure = divmod(code, len(SURENESSES))
    if state >= len(states):
        return SeenState(SOMETHING_ELSE, None, SURE_WORDS[SURENESSES[sure]], False)
    return SeenState(states[state], states[state], SURE_WORDS[SURENESSES[sure]], False)


def agreements(family: Family, view: SurvivorView) -> tuple[Agreement, ...]:
    """How the survivor agrees with each documented version of its line (of every line where that is unknown)."""
    found = []
    for version in family.versions:
        if view.line is not None and version.line != view.line:
            continue
        pairs = [
            (seen.state, version.states[feature])
            for feature, seen in view.seen.items()
            if seen.state is not None and feature in version.states
        ]
        found.append(
            Agreement(
                line=version.line,
                version=version.id,
                label=version.label,
                agreeing=sum(seen == documented for seen, documented in pairs),
                comparable=len(pairs),
            )
        )
    return tuple(found)


def agreement_counts(family: Family, survivors: Survivors, version: Version) -> tuple[np.ndarray, np.ndarray]:
    """The same for one version and all survivors at once.

    Returns two (n,) arrays of integers: features that agree with the version, and features that can be compared;
    both 0 for survivors known to belong to another line.
    """
    agreeing, comparable = np.zeros(len(survivors), dtype=np.int64), np.zeros(len(survivors), dtype=np.int64)
    for feature in family.features:
        column, documented = survivors.seen.get(feature.id), version.states.get(feature.id)
        if column is None or documented is None:
            continue
        states = feature.all_states
        state = column // len(SURENESSES)
        listed = (column >= 0) & (state < len(states))
        comparable += listed
        agreeing += listed & (state == states.index(documented))
    elsewhere = (survivors.line >= 0) & (survivors.line != family.line_ids.index(version.line))
    agreeing[elsewhere] = comparable[elsewhere] = 0
    return agreeing, comparable


def best_versions(family: Family, view: SurvivorView) -> tuple[Agreement, ...]:
    """The versions that agree in most features; none where nothing can be compared."""
    found = agreements(family, view)
    most = max((item.agreeing for item in found if item.comparable), default=0)
    return tuple(item for item in found if item.comparable and item.agreeing == most)


def survivor_cells(view: SurvivorView) -> dict[str, SetCell]:
    """The survivor's column of a grid."""
    cells = {}
    for feature, seen in view.seen.items():
        note = "says nothing about the factory state" if seen.serviced else seen.sure
        cells[feature] = SetCell(seen.text, "nothing" if seen.serviced else "seen", note, seen.state)
    return cells


def positions_on(family: Family, survivors: Survivors, line: str) -> np.ndarray:
    """(n,) known positions of the survivors of one line."""
    wanted = (survivors.line == family.line_ids.index(line)) & (survivors.position >= 0)
    return np.asarray(survivors.position[wanted])


MOST_UNPLACED_NAMED = 40


@dataclass(frozen=True, slots=True)
class UnplacedRow:
    """A survivor without a place on any axis: its name, and what is known of serial and line."""

    name: str
    known: str


def _unplaced(survivors: Survivors) -> np.ndarray:
    """(n,) whether each survivor is without a place: its serial is not known in full, or its line is not."""
    return (survivors.position < 0) | (survivors.line < 0)


def unplaced_count(family: Family, survivors: Survivors, line: str) -> int:
    """How many survivors of this line, as far as their line is known, have no place on its axis."""
    only = len(family.line_ids) == 1
    here = (survivors.line == family.line_ids.index(line)) | (only & (survivors.line < 0))
    return int((_unplaced(survivors) & here).sum())


def unplaced_rows(family: Family, survivors: Survivors) -> tuple[tuple[UnplacedRow, ...], int]:
    """The survivors without a place, in the order of the register, and how many of very many are not named."""
    rows = []
    without = np.flatnonzero(_unplaced(survivors))
    for index in without[:MOST_UNPLACED_NAMED]:
        view = view_of(family, survivors, int(index))
        known = f"serial {view.serial}" if view.serial else "no serial"
        if len(family.line_ids) > 1:
            known += f", {line_words(view.line)}" if view.line else ", line not known"
        rows.append(UnplacedRow(view.name, known))
    return tuple(rows), len(without) - len(rows)


def index_of(survivors: Survivors, name: str) -> int | None:
    """The row of the survivor of that id; None if there is none."""
    return next((i for i, other in enumerate(survivors.ids) if other == name), None)
