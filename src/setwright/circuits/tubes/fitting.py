"""Fitting a tube model to published points.

Least squares over the logarithms of currents, transconductance, plate resistance and amplification factor, with weak
prior knowledge of how such parameters lie, so that a type with two rows gets a model too. What the rows leave open
shows in the hold-out tests.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import log

import numpy as np
from scipy.optimize import brentq, least_squares

from setwright.circuits.tubes.equations import PentodeParameters, TriodeParameters, Values, pentode, triode
from setwright.reference import CurvePoint, OperatingPoint, StoredFit

TRIODE_NAMES, PENTODE_NAMES = TriodeParameters._fields, PentodeParameters._fields

# Standard deviations of the logarithms: how closely each printed figure is to be met. Rows agree with themselves to
# a few per cent, curves to their reading; a cutoff point is a round number. Common practice, no source.
_CURRENT, _SCREEN, _SLOPE, _PLATE_OHMS, _MU, _CUTOFF, _CURVE = 0.02, 0.1, 0.06, 0.25, 0.04, 0.5, 0.15
_BARELY = 5e-5
"""A plate current up to this, in amperes, is a cutoff point."""


@dataclass(frozen=True, slots=True)
class _Prior:
    """Where a parameter is expected: centre and standard deviation, of its logarithm unless `plain`."""

    centre: float
    spread: float
    plain: bool = False

    def start(self) -> float:
        return self.centre if self.plain else log(self.centre)

    def value(self, x: float) -> float:
        return x if self.plain else float(np.exp(x))


@dataclass(frozen=True, slots=True)
class _Row:
    """One row with its bias known: voltages against the cathode."""

    point: OperatingPoint
    plate: float
    screen: float
    grid: float


def fit_triode(rows: Sequence[OperatingPoint], curves: Sequence[CurvePoint] = ()) -> dict[str, float]:
    """Triode parameters by name, fitted to rows (at least one with plate current) and curve points.

    Raises ValueError where no row gives a plate current with its bias.
    """
    usable = _usable(rows)
    mus = [r.point.mu or _product(r.point) for r in usable]
    known = [mu for mu in mus if mu]
    mu = float(np.median(known)) if known else 20.0
    priors = (
        _Prior(mu, 0.1 if known else 1.0),
        _Prior(1.4, 0.12, plain=True),
        _Prior(1000.0, 3.0),
        _Prior(5.0 * mu, 0.25),
        _Prior(300.0, 1.5),
        _Prior(0.3, 0.3, plain=True),
    )

    def misfits(values: Sequence[float]) -> list[float]:
        p = TriodeParameters(*values)
        errors: list[float] = []
        for row in usable:
            current, by_plate, by_grid = (float(x) for x in triode(p, _one(row.plate), _one(row.grid)))
            errors += _errors(row.point, current, by_plate, by_grid)
        return errors + _curve_errors(curves, lambda vp, vs, vg: triode(p, vp, vg)[0])

    return dict(zip(TRIODE_NAMES, _solve(priors, misfits), strict=True))


def fit_pentode(rows: Sequence[OperatingPoint], curves: Sequence[CurvePoint] = ()) -> dict[str, float]:
    """Pentode parameters by name; see `fit_triode`. A triode-connected row counts with the sum of both currents."""
    usable = _usable(rows)
    tied = [r.point.mu for r in usable if r.point.mu]  # where a pentode's sheet gives one, it is the triode's
    mu = float(np.median(tied)) if tied else 20.0
    shares = [
        r.point.plate_amps / (r.point.plate_amps + r.point.screen_amps)
        for r in usable
        if r.point.plate_amps and r.point.screen_amps
    ]
    share = min(float(np.median(shares)) if shares else 0.85, 0.985)
    priors = (
        _Prior(mu, 0.1 if tied else 0.8),
        _Prior(1.4, 0.12, plain=True),
        _Prior(1000.0, 3.0),
        _Prior(2.0 * mu, 0.3),
        _Prior(300.0, 0.7),
        _Prior(0.0, 0.3, plain=True),
        _Prior(share * 1.03, 0.03, plain=True),
        _Prior(8.0, 0.7),
        _Prior(0.02, 1.0),
    )

    def misfits(values: Sequence[float]) -> list[float]:
        p = PentodeParameters(*values)
        errors: list[float] = []
        for row in usable:
            c = pentode(p, _one(row.plate), _one(row.screen), _one(row.grid))
            if row.point.triode_connected:
                total, by_plate = c.plate + c.screen, c.plate_p + c.plate_s + c.screen_p + c.screen_s
                errors += _errors(row.point, float(total), float(by_plate), float(c.plate_g + c.screen_g))
                continue
            errors += _errors(replace(row.point, mu=None), float(c.plate), float(c.plate_p), float(c.plate_g))
            if row.point.screen_amps:
                errors.append(_log_ratio(float(c.screen), row.point.screen_amps) / _SCREEN)
        return errors + _curve_errors(curves, lambda vp, vs, vg: pentode(p, vp, vs, vg).plate)

    return dict(zip(PENTODE_NAMES, _solve(priors, misfits), strict=True))


def predicted_plate_amps(form: str, parameters: dict[str, float], point: OperatingPoint) -> float:
    """The plate current (both currents of a triode-connected row) that a model gives for a row's voltages.

    With a cathode resistor instead of a grid voltage, the bias is solved for.
    """
    assert point.plate_volts is not None
    plate, screen = point.plate_volts, point.screen_volts or 0.0

    def currents(grid: float) -> tuple[float, float]:
        """What the row calls plate current, and the cathode's."""
        if form == "triode":
            current = float(triode(TriodeParameters(**parameters), _one(plate), _one(grid))[0])
            return current, current
        c = pentode(PentodeParameters(**parameters), _one(plate), _one(screen), _one(grid))
        total = float(c.plate + c.screen)
        return (total if point.triode_connected else float(c.plate)), total

    if point.grid_volts is not None:
        return currents(point.grid_volts)[0]
    ohms = point.cathode_ohms
    assert ohms, "a row has grid volts or a cathode resistor"
    bias = brentq(lambda grid: grid + ohms * currents(grid)[1], -plate, 0.0)
    return currents(bias)[0]


def usable_points(rows: Sequence[OperatingPoint]) -> tuple[OperatingPoint, ...]:
    """The rows that give a plate current and what is needed to compute it: voltages, and a bias."""
    return tuple(row.point for row in _usable(rows))


def form_of(rows: Sequence[OperatingPoint]) -> str:
    """triode or pentode, by whether any row has a screen of its own."""
    return "pentode" if any(r.screen_volts is not None and not r.triode_connected for r in rows) else "triode"


def fit_type(name: str, rows: Sequence[OperatingPoint], curves: Sequence[CurvePoint] = ()) -> StoredFit:
    """The fitted model of a type with its misfit over the rows that are no cutoff points."""
    form = form_of(rows)
    parameters = (fit_triode if form == "triode" else fit_pentode)(rows, curves)
    usable = usable_points(rows)
    errors = [
        predicted_plate_amps(form, parameters, row) / row.plate_amps - 1.0
        for row in usable
        if row.plate_amps and row.plate_amps > _BARELY
    ]
    return StoredFit(
        type=name,
        form=form,
        parameters=parameters,
        misfit=float(np.sqrt(np.mean(np.square(errors)))),
        worst=float(np.max(np.abs(errors))),
        points=len(usable),
        remembered=sum(row.from_memory for row in usable),
    )


def _usable(rows: Sequence[OperatingPoint]) -> list[_Row]:
    usable = []
    for row in rows:
        if row.plate_volts is None or not row.plate_amps:
            continue
        grid = row.grid_volts
        if grid is None and row.cathode_ohms:
            grid = -row.cathode_ohms * (row.plate_amps + (0.0 if row.triode_connected else row.screen_amps or 0.0))
        if grid is not None:
            usable.append(_Row(row, row.plate_volts, row.screen_volts or 0.0, grid))
    if not usable:
        raise ValueError("no row gives a plate current with its voltages and bias; at least one is needed")
    return usable


def _product(row: OperatingPoint) -> float | None:
    if row.transconductance and row.plate_ohms:
        return row.transconductance * row.plate_ohms
    return None


def _one(value: float) -> Values:
    return np.asarray(value, dtype=float)


def _log_ratio(got: float, wanted: float) -> float:
    return log(max(got, 1e-12) / wanted)


def _errors(row: OperatingPoint, current: float, by_plate: float, by_grid: float) -> list[float]:
    assert row.plate_amps is not None
    if row.plate_amps <= _BARELY:
        return [_log_ratio(current, row.plate_amps) / _CUTOFF]
    errors = [_log_ratio(current, row.plate_amps) / _CURRENT]
    if row.transconductance:
        errors.append(_log_ratio(by_grid, row.transconductance) / _SLOPE)
    if row.plate_ohms:
        errors.append(_log_ratio(by_plate, 1.0 / row.plate_ohms) / _PLATE_OHMS)
    if row.mu and by_plate > 0.0:
        errors.append(_log_ratio(by_grid / by_plate, row.mu) / _MU)
    return errors


def _curve_errors(curves: Sequence[CurvePoint], current: Callable[[Values, Values, Values], Values]) -> list[float]:
    """Relative errors over a plate family; together they weigh as much as three rows."""
    if not curves:
        return []
    vp = np.array([c.plate_volts for c in curves])
    vs = np.array([c.screen_volts or 0.0 for c in curves])
    vg = np.array([c.grid_volts for c in curves])
    wanted = np.array([c.plate_amps for c in curves])
    sure = np.hypot(_CURVE * wanted, np.maximum([c.uncertainty for c in curves], 0.01 * wanted.max()))
    got = current(vp, vs, vg)
    return list((got - wanted) / sure * np.sqrt(min(1.0, 3.0 / len(curves))))


def _solve(priors: Sequence[_Prior], misfits: Callable[[Sequence[float]], list[float]]) -> list[float]:
    """The values at which misfits and priors together are least."""
    start = np.array([prior.start() for prior in priors])
    spread = np.array([prior.spread for prior in priors])

    def values(x: Values) -> list[float]:
        return [prior.value(float(v)) for prior, v in zip(priors, x, strict=True)]

    def residuals(x: Values) -> Values:
        return np.concatenate([misfits(values(x)), (x - start) / spread])

    found = least_squares(residuals, start, x_scale=spread, max_nfev=400)
    return values(found.x)
