"""Slopes of the tube equations against differences of their currents."""

from __future__ import annotations

import numpy as np
import pytest

from setwright.circuits.tubes.equations import PentodeParameters, TriodeParameters, Values, pentode, triode
from setwright.reference import stored_fit, types_with_points

FITS = [fit for name in types_with_points() if (fit := stored_fit(name)) is not None]
STEP = 1e-4
NEARLY_NOUGHT = 3e-9
"""Below ten plate volts or so a cut-off triode's some ten nanoamperes fall by a few as the plate rises."""


def points(seed: int) -> tuple[Values, Values, Values]:
    """Plate, screen and grid volts from just above nought to beyond ratings."""
    rng = np.random.default_rng(seed)
    return rng.uniform(0.5, 400.0, 200), rng.uniform(5.0, 300.0, 200), rng.uniform(-30.0, 1.0, 200)


def assert_slope(up: Values, down: Values, slope: Values, current: Values) -> None:
    """Within a millionth of the steepest, where differences still tell something."""
    assert np.abs((up - down) / (2.0 * STEP) - slope).max() <= 1e-6 * np.abs(slope).max() + 1e-9 * current.max() / STEP


@pytest.mark.parametrize("fit", [f for f in FITS if f.form == "triode"], ids=lambda f: f.type)
def test_slopes_of_triodes(fit) -> None:
    p = TriodeParameters(**fit.parameters)
    vp, _, vg = points(1)
    current, by_plate, by_grid = triode(p, vp, vg)
    assert_slope(triode(p, vp + STEP, vg)[0], triode(p, vp - STEP, vg)[0], by_plate, current)
    assert_slope(triode(p, vp, vg + STEP)[0], triode(p, vp, vg - STEP)[0], by_grid, current)
    assert by_plate.min() >= -NEARLY_NOUGHT
    assert by_grid.min() >= 0.0


@pytest.mark.parametrize("fit", [f for f in FITS if f.form == "pentode"], ids=lambda f: f.type)
def test_slopes_of_pentodes(fit) -> None:
    p = PentodeParameters(**fit.parameters)
    at = points(2)
    c = pentode(p, *at)
    for electrode, letter in enumerate("psg"):
        up, down = (pentode(p, *(v + way * STEP * (n == electrode) for n, v in enumerate(at))) for way in (1.0, -1.0))
        assert_slope(up.plate, down.plate, getattr(c, f"plate_{letter}"), c.plate)
        assert_slope(up.screen, down.screen, getattr(c, f"screen_{letter}"), c.screen)


def test_nothing_flows_at_no_plate_voltage() -> None:
    p = TriodeParameters(**stored_fit("12AX7").parameters)
    current, by_plate, by_grid = triode(p, np.array([-10.0, 0.0]), np.array([0.0, 0.5]))
    assert not np.any(np.concatenate([current, by_plate, by_grid]) > 1e-30)
