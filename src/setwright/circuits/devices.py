"""The nonlinear parts of a network, in groups of one kind: currents of their branches and the slopes of these.

A group sees the voltages across pairs of nodes, arrays of shape (pairs, variants), and gives currents that flow along
branches, each from one node to another, with their slopes along pairs.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass

import numpy as np

from setwright.circuits.tubes.equations import (
    PentodeParameters,
    TriodeParameters,
    Values,
    pentode,
    soft_power,
    triode,
)
from setwright.reference import tube_assumption

Pair = tuple[int, int]
"""Two node numbers; -1 is ground."""

LOAD_KNEE_VOLTS = 30.0
"""A load takes its current from here up; below it goes with the voltage (the format has it so)."""


@dataclass(frozen=True)
class TubeState:
    """What can be wrong or spread of each tube, arrays (tubes, variants) or (tubes, 1).

    strength : factor on its currents (1 as published, 0 dead). mu : factor on its amplification factor. gas : grid
    current of ions as a part of the plate current. contact : volts by which its grid, or a signal diode's plate,
    is more positive than it looks, for what the contact potential does to every current of that tube.
    """

    strength: Values
    mu: Values
    gas: Values
    contact: Values

    @classmethod
    def as_new(cls, tubes: int) -> TubeState:
        """So many tubes as published."""
        return cls(np.ones((tubes, 1)), np.ones((tubes, 1)), np.zeros((tubes, 1)), np.zeros((tubes, 1)))

    @property
    def arrays(self) -> tuple[Values, Values, Values, Values]:
        """All four."""
        return self.strength, self.mu, self.gas, self.contact

    def of(self, numbers: list[int]) -> TubeState:
        """The states of some tubes."""
        return TubeState(*(a[numbers] for a in self.arrays))

    def columns(self, chosen: object) -> TubeState:
        """The states of some variants; what is common to all stays so."""
        return TubeState(*(_columns(a, chosen) for a in self.arrays))


def _columns(values: Values, chosen: object) -> Values:
    return values if values.shape[1] == 1 else values[:, chosen]  # type: ignore[index]


class Group(ABC):
    """Devices of one kind. tubes : their numbers among the circuit's tubes (empty for parts)."""

    tubes: list[int]
    pairs: list[Pair]
    branches: list[Pair]
    slopes: list[tuple[int, int]]
    """(branch, pair) of each slope, in the order in which `evaluate` gives them."""
    roles: tuple[str, ...] = ("plate",)
    """What each block of branches is: plate, screen, grid, ions."""

    @abstractmethod
    def evaluate(self, volts: Values, state: TubeState) -> tuple[list[Values], list[Values]]:
        """Currents of the branches and slopes, as blocks of rows in the order of `branches` and `slopes`."""


def _blocks(count: int, *numbers: tuple[int, int]) -> list[tuple[int, int]]:
    """Slopes of blocks: block b of branches along block p of pairs, for every device."""
    return [(b * count + i, p * count + i) for b, p in numbers for i in range(count)]


class Diodes(Group):
    """Rounded three-halves-power laws from plate to cathode."""

    def __init__(
        self, tubes: list[int], ends: list[Pair], perveance: list[float], contact: list[float], softness: list[float]
    ) -> None:
        self.tubes, self.pairs, self.branches = tubes, list(ends), list(ends)
        self.slopes = _blocks(len(ends), (0, 0))
        self._law = tuple(np.array(values)[:, None] for values in (perveance, contact, softness))

    def evaluate(self, volts: Values, state: TubeState) -> tuple[list[Values], list[Values]]:
        """Plate currents."""
        perveance, contact, softness = self._law
        # a rectifier's foot does not count; only where a type has a contact potential does a tube's own shift it
        shifted = contact + np.where(contact > 0.0, state.contact, 0.0)
        current, slope = soft_power(volts, perveance, shifted, softness)
        return [current * state.strength], [slope * state.strength]


class Regulators(Group):
    """Cold-cathode regulators: nothing below their voltage, a gentle slope above."""

    def __init__(self, tubes: list[int], ends: list[Pair], regulated: list[float]) -> None:
        self.tubes, self.pairs, self.branches = tubes, list(ends), list(ends)
        self.slopes = _blocks(len(ends), (0, 0))
        self._volts = np.array(regulated)[:, None]
        self._ohms = tube_assumption("regulator-slope-ohms")

    def evaluate(self, volts: Values, state: TubeState) -> tuple[list[Values], list[Values]]:
        """Currents of the glow."""
        soft = 0.05
        x = (volts - self._volts) / soft
        factor = state.strength / self._ohms
        return [factor * soft * np.logaddexp(0.0, x)], [factor * 0.5 * (1.0 + np.tanh(0.5 * x))]


class Loads(Group):
    """Stages not drawn in detail: constant current above the knee, in proportion below."""

    def __init__(self, names: list[str], ends: list[Pair], amps: list[float], tolerances: list[float]) -> None:
        self.names, self.tolerances = names, tolerances
        self.tubes, self.pairs, self.branches = [], list(ends), list(ends)
        self.slopes = _blocks(len(ends), (0, 0))
        self._amps = np.array(amps)[:, None]

    def evaluate(self, volts: Values, state: TubeState) -> tuple[list[Values], list[Values]]:
        """Currents of the loads."""
        below = volts < LOAD_KNEE_VOLTS
        return (
            [self._amps * np.where(below, volts / LOAD_KNEE_VOLTS, 1.0)],
            [np.where(below, self._amps / LOAD_KNEE_VOLTS, 0.0)],
        )


class _WithGrid(Group):
    """What tubes with a control grid share: the grid's own current, and that of ions."""

    def _grid(self, volts: Values, state: TubeState) -> tuple[Values, Values]:
        perveance = tube_assumption("grid-perveance") * np.minimum(state.strength, 1.0)
        contact = tube_assumption("grid-contact-volts") + state.contact
        return soft_power(volts, perveance, contact, tube_assumption("grid-softness-volts"))


class Triodes(_WithGrid):
    """Triodes: plate and grid against the cathode. Branches: plate, grid, ions (plate to grid)."""

    roles = ("plate", "grid", "ions")

    def __init__(self, tubes: list[int], nodes: list[tuple[int, int, int]], models: list[TriodeParameters]) -> None:
        self.tubes = tubes
        n = len(tubes)
        self.pairs = [(p, k) for p, _, k in nodes] + [(g, k) for _, g, k in nodes]
        self.branches = [*self.pairs, *((p, g) for p, g, _ in nodes)]
        self.slopes = _blocks(n, (0, 0), (0, 1), (1, 1), (2, 0), (2, 1))
        self._model = TriodeParameters(*(np.array(v)[:, None] for v in zip(*models, strict=True)))

    def evaluate(self, volts: Values, state: TubeState) -> tuple[list[Values], list[Values]]:
        """Plate, grid and ion currents."""
        n = len(self.tubes)
        vp, vg = volts[:n], volts[n:]
        model = self._model._replace(mu=self._model.mu * state.mu, vct=self._model.vct + state.contact)
        current, by_plate, by_grid = triode(model, vp, vg)
        current, by_plate, by_grid = (x * state.strength for x in (current, by_plate, by_grid))
        grid, grid_slope = self._grid(vg, state)
        gas = state.gas
        return [current, grid, gas * current], [by_plate, by_grid, grid_slope, gas * by_plate, gas * by_grid]


class Pentodes(_WithGrid):
    """Pentodes and beam tubes. Branches: plate, screen, grid (each to the cathode), ions (plate to grid)."""

    roles = ("plate", "screen", "grid", "ions")

    def __init__(
        self, tubes: list[int], nodes: list[tuple[int, int, int, int]], models: list[PentodeParameters]
    ) -> None:
        self.tubes = tubes
        n = len(tubes)
        self.pairs = [(p, k) for p, _, _, k in nodes] + [(s, k) for _, s, _, k in nodes]
        self.pairs += [(g, k) for _, _, g, k in nodes]
        self.branches = [*self.pairs, *((p, g) for p, _, g, _ in nodes)]
        plate, screen = ((0, 0), (0, 1), (0, 2)), ((1, 0), (1, 1), (1, 2))
        self.slopes = _blocks(n, *plate, *screen, (2, 2), (3, 0), (3, 1), (3, 2))
        self._model = PentodeParameters(*(np.array(v)[:, None] for v in zip(*models, strict=True)))

    def evaluate(self, volts: Values, state: TubeState) -> tuple[list[Values], list[Values]]:
        """Plate, screen, grid and ion currents."""
        n = len(self.tubes)
        model = self._model._replace(mu=self._model.mu * state.mu, vct=self._model.vct + state.contact)
        c = pentode(model, volts[:n], volts[n : 2 * n], volts[2 * n :])
        strength, gas = state.strength, state.gas
        plate = [x * strength for x in (c.plate_p, c.plate_s, c.plate_g)]
        screen = [x * strength for x in (c.screen_p, c.screen_s, c.screen_g)]
        grid, grid_slope = self._grid(volts[2 * n :], state)
        currents = [c.plate * strength, c.screen * strength, grid, gas * c.plate * strength]
        return currents, [*plate, *screen, grid_slope, *(gas * x for x in plate)]


class Converters(Group):
    """Oscillating converters: published currents, which go with the screen's voltage to the power three halves.

    Their plate takes its part as a pentode's does, with the knee of an ordinary small pentode.
    """

    roles = ("plate", "screen")

    KNEE_VOLTS = 5.0

    def __init__(self, tubes: list[int], nodes: list[tuple[int, int, int]], models: list[tuple[float, ...]]) -> None:
        self.tubes = tubes
        self.pairs = [(p, k) for p, _, k in nodes] + [(s, k) for _, s, k in nodes]
        self.branches = list(self.pairs)
        self.slopes = _blocks(len(tubes), (0, 0), (0, 1), (1, 1))
        self._plate, self._screen, self._screen_volts, self._plate_volts = (
            np.array(v)[:, None] for v in zip(*models, strict=True)
        )

    def evaluate(self, volts: Values, state: TubeState) -> tuple[list[Values], list[Values]]:
        """Plate and screen currents."""
        n = len(self.tubes)
        vp, vs = np.maximum(volts[:n], 0.0), np.maximum(volts[n:], 0.0)
        ratio = vs / self._screen_volts
        drive = state.strength * ratio * np.sqrt(ratio)
        more = 1.5 * state.strength * np.sqrt(ratio) / self._screen_volts
        top = np.arctan(self._plate_volts / self.KNEE_VOLTS)
        share = np.arctan(vp / self.KNEE_VOLTS) / top
        share_slope = np.where(volts[:n] > 0.0, self.KNEE_VOLTS / (self.KNEE_VOLTS**2 + vp * vp) / top, 0.0)
        return (
            [self._plate * drive * share, self._screen * drive],
            [self._plate * drive * share_slope, self._plate * more * share, self._screen * more],
        )
