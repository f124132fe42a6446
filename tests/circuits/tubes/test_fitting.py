"""The stored fits are those that the stored points give."""

from __future__ import annotations

import numpy as np
import pytest

from setwright.circuits.tubes.equations import TriodeParameters, triode
from setwright.circuits.tubes.fitting import fit_triode, fit_type, predicted_plate_amps
from setwright.reference import (
    OperatingPoint,
    coupled_stages,
    curve_points,
    operating_points,
    stored_fit,
    types_with_points,
)

FITTED = [name for name in types_with_points() if stored_fit(name) is not None]


@pytest.mark.parametrize("name", FITTED)
def test_stored_fits_are_those_of_the_points(name: str) -> None:
    """If this fails after a change of the points: scripts/fit-tubes."""
    stored = stored_fit(name)
    again = fit_type(name, operating_points(name), curve_points(name), coupled_stages(name))
    assert again.form == stored.form
    assert (again.points, again.remembered, again.charts) == (stored.points, stored.remembered, stored.charts)
    for row in operating_points(name):
        if row.plate_amps and row.plate_volts and (row.grid_volts is not None or row.cathode_ohms):
            got = predicted_plate_amps(again.form, again.parameters, row)
            assert got == pytest.approx(predicted_plate_amps(stored.form, stored.parameters, row), rel=2e-3)
    assert again.misfit == pytest.approx(stored.misfit, abs=2e-3)
    assert again.chart_misfit == pytest.approx(stored.chart_misfit, abs=2e-3)


def test_most_types_of_the_bench_are_fitted() -> None:
    assert len(FITTED) >= 55
    assert not {"6BE6", "6E5"} & set(FITTED)  # converters go by their published oscillating currents


def row(plate: float, grid: float, p: TriodeParameters) -> OperatingPoint:
    current, by_plate, by_grid = (float(x) for x in triode(p, np.asarray(plate), np.asarray(grid)))
    return OperatingPoint(
        "made", "", plate, None, False, grid, None, current, None, by_grid, 1.0 / by_plate, by_grid / by_plate,
        None, None, "read", "made here",
    )  # fmt: skip


def test_a_known_triode_is_found_again() -> None:
    true = TriodeParameters(21.0, 1.36, 1500.0, 120.0, 300.0, 0.3, 20.0)
    found = fit_triode([row(v, g, true) for v in (60, 100, 180, 250, 300) for g in (0.0, -2.0, -5.0, -8.0, -11.0)])
    for plate, grid in ((140.0, -4.0), (220.0, -9.0), (90.0, -1.0)):
        wanted = float(triode(true, np.asarray(plate), np.asarray(grid))[0])
        got = float(triode(TriodeParameters(**found), np.asarray(plate), np.asarray(grid))[0])
        assert got == pytest.approx(wanted, rel=0.01)


def test_charts_from_memory_do_not_count() -> None:
    rows = coupled_stages("12AX7")
    recalled = [row for row in rows if row.from_memory]
    assert recalled
    assert stored_fit("12AX7").charts == len(rows) - len(recalled)
    points = operating_points("12AX7")
    assert fit_triode(points, (), recalled) == fit_triode(points)


def test_a_pentode_keeps_some_of_its_current_for_the_screen() -> None:
    """Whatever the rows say, the plate's share lies between nought and one, so that no screen current is negative."""
    shares = [fit.parameters["share"] for name in FITTED if (fit := stored_fit(name)).form == "pentode"]
    assert len(shares) >= 30
    assert 0.5 < min(shares) <= max(shares) < 1.0


def test_without_a_plate_current_there_is_nothing_to_fit() -> None:
    with pytest.raises(ValueError, match="at least one"):
        fit_triode(operating_points("6E5"))
