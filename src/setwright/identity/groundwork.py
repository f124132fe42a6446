"""What an answer rests on before anything is said of the set but its serial: axes, places, and the survivors' evidence.

All answers to one set have it in common, however much is seen of the set meanwhile.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from setwright.identity.assumptions import Assumptions
from setwright.identity.evidence import MOST_CELLS
from setwright.identity.history import History, read_history
from setwright.identity.model import Family, ImpossibleHistory, Survivors, no_survivors
from setwright.identity.places import Axis, Place, axis_with_set, locate, places_on_axes
from setwright.identity.posterior import Cells, LineGroundwork, line_groundwork

CELLS_PLACE_KNOWN = 256
CELLS_PLACE_UNKNOWN = 96
"""Cells of an axis. Work grows with their square times the places a set may have, so with their cube where its
place is unknown; twice as many cells are meant to move no probability by more than 0.005 (see tests)."""

CELLS_ROUGH = 64
"""Cells of the first, rougher answer that says where the cells belong."""

FEW_PLACES = 4
"""A set with at most this many possible places in each line counts as one whose place is known."""


@dataclass(frozen=True, slots=True)
class Groundwork:
    """What an answer rests on before anything is said of the set but its serial and line.

    lines : the sums' groundwork, in as many cells as `with_sums` was asked for; None where it was not made beforehand.
    """

    family: Family
    history: History
    survivors: Survivors
    serial: str | None
    line: str | None
    axes: dict[str, Axis]
    places: tuple[Place, ...]
    assumptions: Assumptions
    lines: tuple[LineGroundwork, ...] | None = None

    def sums(self, cells: int | None) -> tuple[LineGroundwork, ...]:
        """The sums' groundwork, with at most so many cells an axis unless it was made beforehand."""
        if self.lines is not None:
            return self.lines
        cut = _cells(self.axes, self.places, cells)
        return line_groundwork(self.family, self.history, self.axes, self.places, self.survivors, self.assumptions, cut)

    def with_serial(self, serial: str | None) -> Groundwork:
        """The same for a set with another serial."""
        axes, places = _axes_and_places(self.family, serial, self.line, self.survivors)
        return replace(self, serial=serial, axes=axes, places=places, lines=None)

    def with_assumptions(self, assumptions: Assumptions) -> Groundwork:
        """The same under other assumptions."""
        return replace(self, assumptions=assumptions, lines=None)

    def with_sums(self, cells: int | None) -> Groundwork:
        """The same with the sums' groundwork made, where sums can be used at all."""
        return self if self.history.needs_drawing else replace(self, lines=self.sums(cells))

    @property
    def is_settled(self) -> bool:
        """Whether the sums' groundwork is there, and none of it waits for what is seen of the set: it is small then."""
        return self.lines is not None and all(line.cut is not None for line in self.lines)


def groundwork_of(
    family: Family,
    survivors: Survivors | None,
    serial: str | None,
    line: str | None,
    *,
    assumptions: Assumptions | None = None,
) -> Groundwork:
    """The groundwork of all answers to sets of this serial and line. Raises as `identify`."""
    survivors = no_survivors() if survivors is None else survivors
    history = read_history(family)
    axes, places = _axes_and_places(family, serial, line, survivors)
    return Groundwork(family, history, survivors, serial, line, axes, places, assumptions or Assumptions())


def _axes_and_places(
    family: Family, serial: str | None, line: str | None, survivors: Survivors
) -> tuple[dict[str, Axis], tuple[Place, ...]]:
    """Each line's axis, and every place on it that the bench set's serial fits."""
    axes: dict[str, Axis] = {}
    for number, name in enumerate(family.line_ids):
        fits = locate(family, serial, name) if line in (None, name) else ()
        known = survivors.position[(survivors.line == number) & (survivors.position >= 0)]
        axes[name] = axis_with_set(family, name, known, serial, fits)
    inside = places_on_axes(family, serial, line, axes)
    if not inside:
        where = "" if line is None else f" of line {line}"
        raise ImpossibleHistory(f"The set's serial {serial} fits no serial number{where} of {family.name}.")
    return axes, inside


def _cells(axes: dict[str, Axis], places: tuple[Place, ...], most: int | None) -> Cells:
    """The most cells an axis may have: all positions where they are few, else as many as the work allows."""
    if most is None:
        each = sum(place.last - place.first + 1 for place in places) / len(axes)
        if each <= FEW_PLACES and all(axis.count <= MOST_CELLS for axis in axes.values()):
            most = MOST_CELLS
        else:
            affordable = int((CELLS_PLACE_UNKNOWN**3 / max(each, 1.0)) ** 0.5)
            most = min(max(affordable, CELLS_PLACE_UNKNOWN), CELLS_PLACE_KNOWN)
    known = all(place.first == place.last for place in places)
    # Around a known place the survivors' evidence puts enough cells; a first answer would only cost time.
    return Cells(most, rough=None if known else min(CELLS_ROUGH, most))
