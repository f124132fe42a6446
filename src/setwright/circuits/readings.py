"""Measured or printed readings beside what a sound set would show, each with its own meter and line.

A printed chart is read as readings by the meter and at the line it names. Where it disagrees, the reasons that can be
told apart are tried: the chart's line, another meter, a misprint.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from math import hypot

import numpy as np
from scipy.special import ndtri

from setwright.circuits.answer import PointExpectation
from setwright.circuits.cold import cold_points
from setwright.circuits.compiling import compile_network
from setwright.circuits.drawing import Circuit
from setwright.circuits.expect import load_points
from setwright.circuits.meters import Meter, parse_meter
from setwright.circuits.newton import solve
from setwright.circuits.operating import OperatingState, operate
from setwright.circuits.points import node_of
from setwright.circuits.spread import TOLERANCE_DEVIATIONS, spread_of

DEFAULT_ACCURACY = 0.03
"""Relative accuracy of a meter for which none is stated. Common practice, no source."""
MISFIT = 2.0
"""From so many standard deviations on, of meter and healthy spread together, a reading is called a misfit."""
_REACH = 1.645
"""Standard deviations to each side that hold nine tenths."""
_PRINT_FACTORS = (10.0, 0.1, -1.0, 1000.0, 0.001)


@dataclass(frozen=True, slots=True)
class Reading:
    """One measurement, SI units. condition : on or off. meter : None where none is stated.

    accuracy : relative; a third is one standard deviation. resolution : in the unit. line_volts : at that reading.
    """

    point: str
    reference: str
    quantity: str
    value: float
    meter: Meter | None = None
    condition: str = "on"
    accuracy: float | None = None
    resolution: float | None = None
    line_volts: float | None = None


@dataclass(frozen=True, slots=True)
class Comparison:
    """A reading beside what a sound set shows on the same meter. deviations : of meter and healthy spread together.

    z : how many of these it is off, None where nothing is expected. misfit : whether that is too many.
    """

    reading: Reading
    expected: float | None
    low: float | None
    high: float | None
    z: float | None
    misfit: bool


@dataclass(frozen=True, slots=True)
class ChartRow:
    """One row of a printed chart with what it is worth. reason : why it disagrees, "" where it agrees."""

    comparison: Comparison
    reason: str


def compare_readings(
    circuit: Circuit, readings: Sequence[Reading], level_deviations: float = _REACH
) -> list[Comparison]:
    """Every reading beside the sound set's, in their order; readings at different lines are computed for each line.

    level_deviations : how many standard deviations of healthy spread `low` and `high` reach.

    Raises UnknownPoint for a point the circuit does not have, UnsoundCircuit and NoConvergence as `expect` does.
    """
    found: list[Comparison | None] = [None] * len(readings)
    order = sorted(range(len(readings)), key=lambda n: _state_of(readings[n]))
    for (condition, line), group in groupby(order, key=lambda n: _state_of(readings[n])):
        numbers = list(group)
        chosen = [readings[n] for n in numbers]
        made = (
            _cold(circuit, chosen, level_deviations)
            if condition == "off"
            else _live(circuit, chosen, line or None, level_deviations)
        )
        for n, comparison in zip(numbers, made, strict=True):
            found[n] = comparison
    return [c for c in found if c is not None]


def compare_with(reading: Reading, point: PointExpectation) -> Comparison:
    """A reading beside a point of a chart that was computed for the same meter, line and condition.

    The same as `compare_readings` says, without solving the circuit once more.
    """
    if point.value is None or point.high is None:
        return _comparison(reading, None, 0.0, _REACH)
    reach = float(ndtri(0.5 + 0.5 * point.level))
    return _comparison(reading, point.value, (point.high - point.value) / reach, reach)


def compare_chart(circuit: Circuit, readings: Sequence[Reading]) -> list[ChartRow]:
    """A printed chart against the circuit: where it disagrees and which of its own statements would explain it."""
    rows = compare_readings(circuit, readings)
    lines = _other_lines(circuit, readings, rows)
    return [ChartRow(row, _reason(circuit, row, lines.get(n))) for n, row in enumerate(rows)]


def _state_of(reading: Reading) -> tuple[str, float]:
    return reading.condition, 0.0 if reading.condition == "off" else reading.line_volts or 0.0


def _live(circuit: Circuit, readings: list[Reading], line: float | None, reach: float) -> list[Comparison]:
    volts = [r for r in readings if r.quantity == "volts"]
    names = [(node_of(circuit, r.point), node_of(circuit, r.reference)) for r in volts]
    probes = tuple(sorted({pair for pair in names if circuit.ground not in pair}))
    state = operate(compile_network(circuit, line_volts=line, probes=probes))
    network = state.network
    known = [n for n, (a, b) in enumerate(names) if a in network.number and b in network.number and a != b]
    answers: dict[int, tuple[float | None, float]] = {}
    for n in known:
        a, b = names[n]
        answers[n] = _difference(state, a, b, volts[n].meter)
    expected = [answers.get(n, (None, 0.0)) for n in range(len(volts))]
    made = iter([_comparison(r, value, spread, reach) for r, (value, spread) in zip(volts, expected, strict=True)])
    return [next(made) if r.quantity == "volts" else _comparison(r, None, 0.0, reach) for r in readings]


def _difference(state: OperatingState, a: str, b: str, meter: Meter | None) -> tuple[float, float]:
    """What the meter shows between two nodes, and its healthy standard deviation."""
    network = state.network
    if b == network.circuit.ground:
        loaded = load_points(state, [a], [meter])
        spread = spread_of(network, loaded.variants, loaded.volts, [network.number[a]], state.waves)
        return float(loaded.shown[0]), float(spread.deviation[0])
    if a == network.circuit.ground:
        value, deviation = _difference(state, b, a, meter)
        return -value, deviation
    variants = state.variants
    if meter is not None:
        siemens = variants.siemens.copy()
        key = (f"{a}|{b}", "meter") if (f"{a}|{b}", "meter") in network.branch else (f"{b}|{a}", "meter")
        siemens[network.branch[key], 0] = 1.0 / meter.on(state.at(a) - state.at(b)).ohms
        variants = replace(variants, siemens=siemens)
    volts = solve(network, variants, state.volts).volts
    both = [network.number[a], network.number[b]]
    twice = np.repeat(volts, 2, axis=1)
    changes = spread_of(network, variants, twice, both, state.waves).changes
    deviation = float(np.sqrt(np.sum((changes[:, 0] - changes[:, 1]) ** 2)))
    return float(volts[both[0], 0] - volts[both[1], 0]), deviation


def _cold(circuit: Circuit, readings: list[Reading], reach: float) -> list[Comparison]:
    chart = {p.point: p for p in cold_points(circuit, 1.0, 0.0)}
    made = []
    for r in readings:
        point = chart.get(node_of(circuit, r.point)) if r.quantity == "ohms" else None
        if point is None or node_of(circuit, r.reference) != circuit.ground or point.value is None:
            made.append(_comparison(r, None, 0.0, reach))
            continue
        assert point.high is not None
        made.append(_comparison(r, point.value, point.high - point.value, reach))
    return made


def _comparison(reading: Reading, expected: float | None, deviation: float, reach: float) -> Comparison:
    if expected is None:
        return Comparison(reading, None, None, None, None, False)
    total = hypot(deviation, meter_deviation(reading))
    z = float((reading.value - expected) / total)
    return Comparison(
        reading, expected, expected - reach * deviation, expected + reach * deviation, z, abs(z) >= MISFIT
    )


def meter_deviation(reading: Reading) -> float:
    """One standard deviation of a reading's own error: its accuracy, and half a step of its resolution."""
    accuracy = DEFAULT_ACCURACY if reading.accuracy is None else reading.accuracy
    meter = reading.meter
    step = reading.resolution
    if step is None:
        on = None if meter is None else meter.on(reading.value)
        step = abs(reading.value) * 1e-3 if on is None else on.resolution(reading.value)
        step = max(step, 0.01) if reading.quantity == "volts" else step
    scale = abs(reading.value)
    if meter is not None and meter.ohms_per_volt is not None and reading.quantity == "volts":
        scale = meter.on(reading.value).full_scale or scale  # such a meter's accuracy is one of full scale
    return hypot(accuracy * scale / TOLERANCE_DEVIATIONS, 0.5 * step)


def _other_lines(circuit: Circuit, readings: Sequence[Reading], rows: list[Comparison]) -> dict[int, float]:
    """For rows that disagree: the line at which most of them would fit, if there is one."""
    off = [n for n, row in enumerate(rows) if row.misfit and row.reading.condition == "on"]
    if len(off) < 3:
        return {}
    ratios = [rows[n].reading.value / rows[n].expected for n in off if rows[n].expected]  # type: ignore[operator]
    stated = readings[off[0]].line_volts or circuit.line_volts
    line = stated * float(np.median(ratios))
    if not 0.6 * stated <= line <= 1.4 * stated:
        return {}
    again = compare_readings(circuit, [replace(r, line_volts=line) for r in readings])
    cured = [n for n in off if not again[n].misfit]
    return dict.fromkeys(cured, line) if len(cured) > len(off) / 2 else {}


def _reason(circuit: Circuit, row: Comparison, line: float | None) -> str:
    reading, expected = row.reading, row.expected
    if not row.misfit or expected is None:
        return ""
    if line is not None:
        return f"Would fit at a line of about {line:.0f} V, together with other rows."
    for factor in _PRINT_FACTORS:
        other = _comparison(replace(reading, value=reading.value * factor), expected, _healthy(row), 1.0)
        if other.z is not None and abs(other.z) < MISFIT:
            words = "the other polarity" if factor < 0.0 else f"{reading.value * factor:g}"
            return f"Perhaps a misprint: {words} would fit."
    if reading.condition == "on" and reading.quantity == "volts" and (words := _other_meter(circuit, reading)):
        return words
    return "Nothing in the chart's own statements explains it; the circuit may differ from the set it was made with."


def _other_meter(circuit: Circuit, reading: Reading) -> str:
    """Another usual meter on which the row would fit."""
    for text in ("1k/V", "20k/V", "10M"):
        meter = parse_meter(text)
        if reading.meter is not None and reading.meter.text.split("@")[0] == text:
            continue
        again = compare_readings(circuit, [replace(reading, meter=meter)])[0]
        if again.z is not None and not again.misfit:
            return f"Would fit on a {text} meter."
    return ""


def _healthy(row: Comparison) -> float:
    assert row.high is not None
    assert row.expected is not None
    return (row.high - row.expected) / _REACH
