"""Tube models against published operation: fitted on some rows, tried on others that the fit has not seen."""

from __future__ import annotations

import numpy as np
import pytest

from setwright.circuits.tubes.fitting import fit_pentode, fit_triode, form_of, predicted_plate_amps, usable_points
from setwright.reference import OperatingPoint, operating_points, stored_fit, types_with_points

CUTOFF = 5e-5
"""Rows of a plate current up to this are cutoff points, whose printed current is a round number."""


def proven(name: str) -> tuple[OperatingPoint, ...]:
    """The rows that are not from memory and give a plate current with its bias."""
    rows = [row for row in operating_points(name) if not row.from_memory]
    given = any(row.plate_amps and (row.grid_volts is not None or row.cathode_ohms) for row in rows)
    return usable_points(rows) if given else ()


def conditions(row: OperatingPoint) -> tuple[object, ...]:
    return row.plate_volts, row.screen_volts, row.grid_volts, row.cathode_ohms


def held_out_errors(rows: tuple[OperatingPoint, ...]) -> list[float]:
    """Relative error of plate current of each row, fitted without it and without rows of the same voltages.

    Several sheets print one row; leaving out only one of them would be no test.
    """
    fit = fit_triode if form_of(rows) == "triode" else fit_pentode
    errors = []
    for row in rows:
        rest = [other for other in rows if conditions(other) != conditions(row)]
        if row.plate_amps > CUTOFF:
            errors.append(abs(predicted_plate_amps(form_of(rows), fit(rest), row) / row.plate_amps - 1.0))
    return errors


TRIED = tuple(name for name in types_with_points() if len(proven(name)) >= 3)


def test_there_are_twelve_types_to_hold_out() -> None:
    assert len(TRIED) == 12


def test_held_out_plate_currents_are_met() -> None:
    medians = {name: float(np.median(held_out_errors(proven(name)))) for name in TRIED}
    within = [name for name, error in medians.items() if error <= 0.10]
    # Met: 10 of 12. 6SN7GT has two different rows (zero bias at 90 V, -8 V at 250 V), so each is foretold from the
    # other alone: 18 %. 12BH7A has two beside a cutoff point; without the one that prints mu it is foretold with mu
    # unknown: 19 %, and 8 % the other way round.
    assert len(within) >= 10, medians
    assert set(TRIED) - set(within) <= {"6SN7GT", "12BH7A"}, medians


@pytest.mark.parametrize("name", [n for n in types_with_points() if stored_fit(n) is not None])
def test_every_fit_meets_its_own_rows(name: str) -> None:
    """The worst rows are a mixer row of the 19J6 and the 6V6GT's at 315 V, which sheets of three makers print."""
    fit = stored_fit(name)
    assert fit.misfit <= 0.06
    assert fit.worst <= 0.09
