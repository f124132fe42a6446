"""Fitting a tube model to published points.

Least squares over the logarithms of currents, transconductance, plate resistance and amplification factor, with weak
prior knowledge of how such parameters lie, so that a type with two rows gets a model too. Rows and plate families are
of full currents; resistance-coupled charts tell how a type does at a tenth of a milliampere, and what they tell of
the types that have one serves the others as prior knowledge. What is left open shows in the hold-out tests.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from math import log

import numpy as np
from scipy.optimize import brentq, least_squares

from setwright.circuits.tubes.coupled import Law, stage_work
from setwright.circuits.tubes.equations import (
    PentodeCurrents,
    PentodeParameters,
    TriodeParameters,
    Values,
    logistic,
    pentode,
    triode,
)
from setwright.reference import CoupledStage, CurvePoint, OperatingPoint, StoredFit

TRIODE_NAMES, PENTODE_NAMES = TriodeParameters._fields, PentodeParameters._fields
_MU_PLACE, _KP = TRIODE_NAMES.index("mu"), TRIODE_NAMES.index("kp")

# Standard deviations of the logarithms: how closely each printed figure is to be met. Rows agree with themselves to
# a few per cent, curves to their reading; a cutoff point is a round number. Common practice, no source.
_CURRENT, _SCREEN, _SLOPE, _PLATE_OHMS, _MU, _CUTOFF, _CURVE = 0.02, 0.1, 0.06, 0.25, 0.04, 0.5, 0.15
# Of charts: amplification (the charts of two makers differ by 15 %), currents of plate or cathode, and of the screen:
# common practice, no source.
_GAIN, _STAGE_CURRENT, _STAGE_SCREEN = 0.10, 0.03, 0.1
_CHARTS_WEIGH = 10
"""So many rows a type's charts weigh at most, however many there are."""
_BARELY = 5e-5
"""A plate current up to this, in amperes, is a cutoff point."""


@dataclass(frozen=True, slots=True)
class _Prior:
    """Where a parameter is expected: centre and standard deviation, of its logarithm unless `plain`.

    part : it lies between nought and one; the search goes along its log-odds, and the deviation is its own.
    """

    centre: float
    spread: float
    plain: bool = False
    part: bool = False

    def start(self) -> float:
        if self.part:
            return log(self.centre / (1.0 - self.centre))
        return self.centre if self.plain else log(self.centre)

    def deviation(self) -> float:
        return self.spread / (self.centre * (1.0 - self.centre)) if self.part else self.spread

    def value(self, x: float) -> float:
        if self.part:
            return float(logistic(np.asarray(x)))
        return x if self.plain else float(np.exp(x))


# Where the foot and kp (as a multiple of mu) are expected: learnt from the nine types that have charts. With the foot
# left free (20 V and a factor of e about it), their geometric means came out at 30 V (15 V to 44 V) and 5.4 (4.4 to
# 6.2, the 6SN7GT's 8.2).
_FOOT, _KP_OF_MU = _Prior(30.0, 0.35), _Prior(5.4, 0.25)
_KNEE_VOLTS = 1.4
"""Where a pentode's plate takes half of its share, in V, for 1 mA of plate current; it goes with the current to the
power 2/3. Learnt from 6AU6A, 5879, EF86, EF804S, 6V6GT and 6973, whose rows, family or charts tell it: 0.9 to 1.8."""


@dataclass(frozen=True, slots=True)
class _Row:
    """One row with its bias known: voltages against the cathode."""

    point: OperatingPoint
    plate: float
    screen: float
    grid: float


def fit_triode(
    rows: Sequence[OperatingPoint], curves: Sequence[CurvePoint] = (), charts: Sequence[CoupledStage] = ()
) -> dict[str, float]:
    """Triode parameters by name, fitted to rows (at least one with plate current), curve points and chart rows.

    Chart rows from memory do not count.

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
        _KP_OF_MU,
        _Prior(200.0, 1.5),  # 75 to 330 where rows, families or charts tell, 1400 the 12AX7's
        _Prior(0.3, 0.3, plain=True),
        _FOOT,
    )

    def misfits(values: Sequence[float]) -> list[float]:
        p = TriodeParameters(*values)
        errors: list[float] = []
        for row in usable:
            current, by_plate, by_grid = (float(x) for x in triode(p, _one(row.plate), _one(row.grid)))
            errors += _errors(row.point, current, by_plate, by_grid)
        law = law_of("triode", dict(zip(TRIODE_NAMES, values, strict=True)))
        return [*errors, *_curve_errors(curves, law), *_chart_errors(charts, law)]

    return dict(zip(TRIODE_NAMES, _solve(priors, misfits), strict=True))


def fit_pentode(
    rows: Sequence[OperatingPoint], curves: Sequence[CurvePoint] = (), charts: Sequence[CoupledStage] = ()
) -> dict[str, float]:
    """Pentode parameters by name; see `fit_triode`. A triode-connected row counts with the sum of both currents."""
    usable = _usable(rows)
    # Where a pentode's sheet gives one, it is its triode connection's, or that from grid to screen: nearly the same.
    tied = [r.point.mu for r in usable if r.point.mu]
    mu = float(np.median(tied)) if tied else 20.0
    shares = [
        r.point.plate_amps / (r.point.plate_amps + r.point.screen_amps)
        for r in usable
        if r.point.plate_amps and r.point.screen_amps
    ]
    milliamps = 1e3 * max(r.point.plate_amps or 0.0 for r in usable)
    share = float(np.median(shares)) if shares else 0.85
    priors = (
        _Prior(mu, 0.1 if tied else 0.8),
        _Prior(1.4, 0.12, plain=True),
        _Prior(1000.0, 3.0),
        _KP_OF_MU,
        _Prior(300.0, 0.7),
        _Prior(0.0, 0.3, plain=True),
        _FOOT,
        _Prior(min(share * 1.03, 0.985), 0.03, part=True),
        _Prior(_KNEE_VOLTS * milliamps ** (2.0 / 3.0), 0.5),
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
        law = law_of("pentode", dict(zip(PENTODE_NAMES, values, strict=True)))
        return [*errors, *_curve_errors(curves, law), *_chart_errors(charts, law)]

    return dict(zip(PENTODE_NAMES, _solve(priors, misfits), strict=True))


def law_of(form: str, parameters: dict[str, float]) -> Law:
    """Currents and slopes of a model of either form at plate, screen and grid volts."""
    if form == "pentode":
        return partial(pentode, PentodeParameters(**parameters))
    p = TriodeParameters(**parameters)

    def of_triode(vp: Values, vs: Values, vg: Values) -> PentodeCurrents:
        current, by_plate, by_grid = triode(p, vp, vg)
        none = np.zeros_like(current)
        return PentodeCurrents(current, none, by_plate, none, by_grid, none, none, none)

    return of_triode


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


def fit_type(
    name: str,
    rows: Sequence[OperatingPoint],
    curves: Sequence[CurvePoint] = (),
    charts: Sequence[CoupledStage] = (),
) -> StoredFit:
    """The fitted model of a type with its misfit over the rows that are no cutoff points, and over its charts."""
    form = form_of(rows)
    parameters = (fit_triode if form == "triode" else fit_pentode)(rows, curves, charts)
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
        charts=len(_telling(charts)),
        chart_misfit=_chart_misfit(charts, law_of(form, parameters)),
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


def _telling(charts: Sequence[CoupledStage]) -> list[CoupledStage]:
    """The chart rows that print an amplification or a current and are not from memory."""
    return [row for row in charts if not row.from_memory and (row.gain or row.plate_amps or row.cathode_amps)]


def _chart_errors(charts: Sequence[CoupledStage], law: Law) -> Values:
    """Errors over the printed figures of a type's charts."""
    rows = _telling(charts)
    if not rows:
        return np.zeros(0)
    work = stage_work(rows, law)
    errors = [
        np.log(np.maximum(got[i], 1e-12) / printed) / deviation
        for got, name, deviation in (
            (work.gain, "gain", _GAIN),
            (work.plate_amps, "plate_amps", _STAGE_CURRENT),
            (work.screen_amps, "screen_amps", _STAGE_SCREEN),
            (work.plate_amps + work.screen_amps, "cathode_amps", _STAGE_CURRENT),
        )
        for i, row in enumerate(rows)
        if (printed := getattr(row, name))
    ]
    return np.array(errors) * np.sqrt(min(1.0, _CHARTS_WEIGH / len(rows)))


def _chart_misfit(charts: Sequence[CoupledStage], law: Law) -> float | None:
    rows = [row for row in _telling(charts) if row.gain]
    if not rows:
        return None
    printed = np.array([row.gain for row in rows], dtype=float)
    return float(np.sqrt(np.mean(np.square(stage_work(rows, law).gain / printed - 1.0))))


def _curve_errors(curves: Sequence[CurvePoint], law: Law) -> list[float]:
    """Relative errors over a plate family; together they weigh as much as three rows."""
    if not curves:
        return []
    vp = np.array([c.plate_volts for c in curves])
    vs = np.array([c.screen_volts or 0.0 for c in curves])
    vg = np.array([c.grid_volts for c in curves])
    wanted = np.array([c.plate_amps for c in curves])
    sure = np.hypot(_CURVE * wanted, np.maximum([c.uncertainty for c in curves], 0.01 * wanted.max()))
    got = law(vp, vs, vg).plate
    return list((got - wanted) / sure * np.sqrt(min(1.0, 3.0 / len(curves))))


def _solve(priors: Sequence[_Prior], misfits: Callable[[Sequence[float]], list[float]]) -> list[float]:
    """The values at which misfits and priors together are least. The fourth prior is of kp as a multiple of mu."""
    start = np.array([prior.start() for prior in priors])
    spread = np.array([prior.deviation() for prior in priors])

    def values(x: Values) -> list[float]:
        found = [prior.value(float(v)) for prior, v in zip(priors, x, strict=True)]
        found[_KP] *= found[_MU_PLACE]
        return found

    def residuals(x: Values) -> Values:
        return np.concatenate([misfits(values(x)), (x - start) / spread])

    found = least_squares(residuals, start, x_scale=spread, max_nfev=400)
    return values(found.x)
