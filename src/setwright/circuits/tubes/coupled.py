"""The resistance-coupled stages of printed charts, all rows of a type at once, as evidence for its model."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

from setwright.circuits.tubes.equations import PentodeCurrents, Values, soft_power
from setwright.reference import CoupledStage, tube_assumption

Law = Callable[[Values, Values, Values], PentodeCurrents]
"""Currents and slopes at plate, screen and grid volts against the cathode; a triode's screen takes nothing."""

GRID_LEAK_OHMS = 1e6
"""The stage's own grid resistor where a chart does not say: its rows have a cathode resistor, so it does not count."""
_STEPS, _CLOSE_VOLTS = 80, 1e-7
_FURTHEST = np.array([50.0, 50.0, 2.0, 5.0])
"""Volts by which plate, screen, grid and cathode move at most in one step."""
_HARDLY_OHMS = 1e-3
"""A resistor that is not there; small enough beside any other."""


class StageWork(NamedTuple):
    """How the stages of some rows work, arrays (rows,): currents in A, and amplification as a positive number."""

    plate_amps: Values
    screen_amps: Values
    gain: Values


def stage_work(rows: Sequence[CoupledStage], law: Law) -> StageWork:
    """Operating points of chart rows with one tube, and their amplification at middle frequencies.

    The plate is fed through its resistor RL, the screen through its own, the grid returns through a resistor in which
    grid current flows, so that a row without cathode resistor stands at its contact bias. Cathode and screen are
    by-passed and the source has no resistance, as the charts have it; with the following grid resistor RN the
    amplification is gm / (1/rp + 1/RL + 1/RN), that of small signals: at the 2 V to 5 V of output for which the charts
    print it, these models lose 4 % of it at most.

    Newton's method on the four electrodes. A row that does not settle, as with parameters far off during a fit, is
    given as it stands then.
    """
    supply = np.array([row.supply_volts for row in rows])
    siemens = [
        np.array([1.0 / (ohms or _HARDLY_OHMS) for ohms in column])
        for column in (
            [row.plate_ohms for row in rows],
            [row.screen_ohms for row in rows],
            [row.own_grid_ohms or GRID_LEAK_OHMS for row in rows],
            [row.cathode_ohms for row in rows],
        )
    ]
    load, feed, leak, below = siemens
    grid_law = [tube_assumption(f"grid-{name}") for name in ("perveance", "contact-volts", "softness-volts")]
    volts = np.stack([0.4 * supply, 0.25 * supply, np.zeros_like(supply), np.ones_like(supply)])
    for _ in range(_STEPS):
        plate, screen, grid, cathode = volts
        c = law(plate - cathode, screen - cathode, grid - cathode)
        drawn, drawn_g = soft_power(grid - cathode, *grid_law)
        left = np.stack(
            [
                c.plate - (supply - plate) * load,
                c.screen - (supply - screen) * feed,
                drawn + grid * leak,
                cathode * below - c.plate - c.screen - drawn,
            ]
        )
        slopes = np.zeros((4, 4, len(rows)))
        slopes[0, :3] = c.plate_p, c.plate_s, c.plate_g
        slopes[1, :3] = c.screen_p, c.screen_s, c.screen_g
        slopes[2, 2] = drawn_g
        slopes[3] = -slopes[:3].sum(axis=0)
        slopes[:, 3] = -slopes[:, :3].sum(axis=1)
        slopes[range(4), range(4)] += siemens
        change = np.linalg.solve(slopes.transpose(2, 0, 1), left.T[:, :, None])[:, :, 0]
        volts = volts - np.clip(change, -_FURTHEST, _FURTHEST).T
        if np.abs(change).max() < _CLOSE_VOLTS:
            break
    plate, screen, grid, cathode = volts
    c = law(plate - cathode, screen - cathode, grid - cathode)
    next_grid = np.array([1.0 / row.next_grid_ohms if row.next_grid_ohms else 0.0 for row in rows])
    return StageWork(c.plate, c.screen, c.plate_g / (c.plate_p + load + next_grid))
