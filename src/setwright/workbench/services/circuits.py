"""From the records of a circuit and a set to what should be measured there."""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from dataclasses import dataclass, replace

from setwright.circuits import (
    ChartRow,
    Circuit,
    Comparison,
    Expectation,
    Meter,
    NoConvergence,
    PointExpectation,
    Reading,
    UnknownPoint,
    UnsoundCircuit,
    compare_chart,
    compare_readings,
    expect,
    expect_cold,
    for_set,
    node_of,
    parse_meter,
)
from setwright.circuits.drawing import Fitted, SeenState
from setwright.circuits.readings import compare_with
from setwright.files import case
from setwright.files.circuits.reading import CircuitFile, read_circuit
from setwright.files.circuits.states import states_of, unseen_features
from setwright.files.readings import ReadingsFile, read_readings
from setwright.identity.model import BenchSet, ImpossibleHistory
from setwright.notation import NotationError
from setwright.workbench.circuits.models import CircuitRecord, PrintedChart
from setwright.workbench.services.cache import ByContent
from setwright.workbench.services.identity import known_identity_of, quick_identity_of
from setwright.workbench.services.records import bench_set_of, family_of, set_file_of
from setwright.workbench.services.runs import Report, Runs
from setwright.workbench.sets.models import SetRecord


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of a circuit. meter : None for values without one. line_volts : None takes the drawing's.

    off : the resistance chart, unplugged and tubes cold.
    """

    meter: Meter | None = None
    line_volts: float | None = None
    off: bool = False


@dataclass(frozen=True, slots=True)
class Measured:
    """A reading of the set's file. number : its place there, from 0. node : what it was taken at, None where the

    circuit has no such point. comparison : beside what is expected; None where there is no such point.
    """

    number: int
    written: case.Reading
    reading: Reading
    node: str | None
    comparison: Comparison | None = None


@dataclass(frozen=True, slots=True)
class ChartCase:
    """What is expected of one set, or of the drawing alone, and what was measured in it."""

    circuit: Circuit
    notes: tuple[str, ...]
    expectation: Expectation
    measured: tuple[Measured, ...]


_files: ByContent[CircuitFile] = ByContent(size=64)
_charts: ByContent[ReadingsFile] = ByContent(size=64)
_states: ByContent[dict[str, SeenState]] = ByContent(size=512)
_quick_states: ByContent[dict[str, SeenState]] = ByContent(size=512)
_expected: ByContent[Expectation] = ByContent(size=256)
_compared: ByContent[Comparison] = ByContent(size=8192)
_cases: Runs[ChartCase] = Runs(ByContent(size=256), at_once=1)
_printed: Runs[tuple[ChartRow, ...]] = Runs(ByContent(size=64), at_once=1)


def circuit_file_of(record: CircuitRecord) -> CircuitFile:
    """The circuit file a record holds."""
    family = family_of(record.family)
    key = record.family.digest, record.digest
    return _files.get(key, lambda: read_circuit(record.text.encode("utf-8"), family, record.file_name))


def chart_file_of(record: PrintedChart) -> ReadingsFile:
    """The printed chart a record holds."""
    file = circuit_file_of(record.circuit)
    key = record.circuit.family.digest, record.circuit.digest, record.digest
    return _charts.get(key, lambda: read_readings(record.text.encode("utf-8"), file.circuit, record.file_name))


def circuit_for(record: CircuitRecord, set_record: SetRecord) -> Fitted:
    """The circuit with the parts of one set: as seen, else as it most probably left the factory.

    What was not seen comes from the full answer where one is known, else from the quick one; a set whose identity
    cannot be told keeps the drawn values, which the notes then say.
    """
    circuit = circuit_file_of(record).circuit
    family, bench = family_of(record.family), bench_set_of(set_record)
    if not unseen_features(circuit, bench):
        return for_set(circuit, states_of(circuit, family, bench, None))
    try:
        return for_set(circuit, _states_of(record, circuit, set_record, bench))
    except (ImpossibleHistory, NotationError) as error:
        fitted = for_set(circuit, states_of(circuit, family, bench, None))
        note = f"What was not seen has its drawn value, because the set's identity cannot be told: {error}"
        return replace(fitted, notes=(*fitted.notes, note))


def _states_of(record: CircuitRecord, circuit: Circuit, set_record: SetRecord, bench: BenchSet) -> dict[str, SeenState]:
    """The states by what they follow from: a reading that is written down makes no other identity."""
    family = family_of(record.family)
    register = record.family.register_or_none
    seen = bench.id, bench.serial, bench.line, bench.observations
    key = record.family.digest, record.digest, None if register is None else register.digest, seen
    full = known_identity_of(set_record)
    if full is not None:
        answer = full.answer
        return _states.get(key, lambda: states_of(circuit, family, bench, answer))
    known = _states.find(key)
    if known is not None:
        return known
    return _quick_states.get(key, lambda: states_of(circuit, family, bench, quick_identity_of(set_record).answer))


def chart_of(
    record: CircuitRecord, set_record: SetRecord | None, asked: Asked, patience: float | None = None
) -> ChartCase:
    """What to expect of a set, or of the drawing alone, with what was measured in it beside it.

    patience : seconds to wait for what has to be computed; None waits as long as it takes.

    Raises StillRunning when patience ends, Stopped where somebody stopped it, UnsoundCircuit where the set's parts
    make a drawing that cannot be computed, NoConvergence where no operating point is found.
    """
    fitted, readings = _values_of(record, set_record)

    def work(report: Report) -> ChartCase:
        report("solving the circuit", 0.05)
        expectation = _expectation(fitted.circuit, asked)
        report("setting the readings beside it", 0.6)
        return ChartCase(fitted.circuit, fitted.notes, expectation, _measured(expectation, fitted.circuit, readings))

    return _cases.get(_key_of(fitted, readings, asked), work, patience)


def known_chart_of(record: CircuitRecord, set_record: SetRecord, asked: Asked) -> ChartCase | None:
    """The same if it was computed before, else None. Computes no chart."""
    return _cases.find(_key_of(*_values_of(record, set_record), asked))


def stop(record: CircuitRecord, set_record: SetRecord | None, asked: Asked) -> None:
    """Stop computing a chart, if that is under way; it stays stopped until it is started again."""
    _cases.stop(_key_of(*_values_of(record, set_record), asked))


def start_again(record: CircuitRecord, set_record: SetRecord | None, asked: Asked) -> None:
    """Let a computation that was stopped be done when it is next asked for."""
    _cases.start_again(_key_of(*_values_of(record, set_record), asked))


def stop_all() -> None:
    """Stop all computations under way, when the process is to end."""
    _cases.stop_all()
    _printed.stop_all()


def rest(patience: float) -> None:
    """Let what was stopped come to its end, for at most so many seconds each."""
    _cases.rest(patience)
    _printed.rest(patience)


def printed_rows(
    record: PrintedChart, set_record: SetRecord | None, patience: float | None = None
) -> tuple[tuple[int, ChartRow], ...]:
    """The printed chart beside the circuit, that of the set where one is given: the row of the file, and what of it.

    Raises as `chart_of`.
    """
    fitted, _ = _values_of(record.circuit, set_record)
    file = chart_file_of(record)
    kept = [(row, r) for row, r in zip(file.rows, file.readings, strict=True) if _node(fitted.circuit, r) is not None]
    readings = tuple(reading for _, reading in kept)

    def work(report: Report) -> tuple[ChartRow, ...]:
        report("setting the chart beside the circuit", 0.05)
        return tuple(compare_chart(fitted.circuit, readings)) if readings else ()

    rows = _printed.get((fitted.circuit, readings), work, patience)
    return tuple((row, shown) for (row, _), shown in zip(kept, rows, strict=True))


def _values_of(record: CircuitRecord, set_record: SetRecord | None) -> tuple[Fitted, tuple[case.Reading, ...]]:
    if set_record is None:
        return Fitted(circuit_file_of(record).circuit), ()
    return circuit_for(record, set_record), set_file_of(set_record).case.readings


def _key_of(fitted: Fitted, readings: tuple[case.Reading, ...], asked: Asked) -> Hashable:
    return fitted.circuit, fitted.notes, readings, asked


def _expectation(circuit: Circuit, asked: Asked) -> Expectation:
    def compute() -> Expectation:
        if asked.off:
            return expect_cold(circuit)
        return expect(circuit, meter=asked.meter, line_volts=asked.line_volts)

    return _expected.get((circuit, asked), compute)


def _measured(expectation: Expectation, circuit: Circuit, readings: Iterable[case.Reading]) -> tuple[Measured, ...]:
    found = [_reading(circuit, number, written) for number, written in enumerate(readings)]
    points = {point.point: point for point in expectation.points}
    beside = {
        one.reading: compare_with(one.reading, points[one.node])
        for one in found
        if one.node in points and _is_of(expectation, points[one.node], circuit, one.reading)
    }
    others = [one.reading for one in found if one.node is not None and one.reading not in beside]
    comparisons = {**_comparisons(circuit, others), **beside}
    return tuple(replace(one, comparison=comparisons.get(one.reading)) for one in found)


def _is_of(expectation: Expectation, point: PointExpectation, circuit: Circuit, reading: Reading) -> bool:
    """Whether a chart was computed for just what a reading was taken with."""
    line = circuit.line_volts if reading.line_volts is None else reading.line_volts
    off = reading.condition == "off"
    return (
        reading.condition == expectation.condition
        and reading.quantity == point.quantity
        and node_of(circuit, reading.reference) == circuit.ground
        and (off or (reading.meter is not None and reading.meter.text == point.meter))
        and (off or line == expectation.line_volts)
    )


def _reading(circuit: Circuit, number: int, written: case.Reading) -> Measured:
    """A reading as written, in SI units; a meter in words of its own counts as none."""
    factor = replace(written, value=1.0).si_value
    reading = Reading(
        point=written.point,
        reference=written.reference or circuit.ground,
        quantity=written.quantity,
        value=written.si_value,
        meter=meter_or_none(written.meter),
        condition=written.condition,
        accuracy=written.accuracy,
        resolution=None if written.resolution is None else written.resolution * factor,
        line_volts=written.line_volts,
    )
    return Measured(number, written, reading, _node(circuit, reading))


def meter_or_none(text: str) -> Meter | None:
    """The meter that a reading names; None where it names none that can be put into figures."""
    try:
        return parse_meter(text) if text else None
    except NotationError:
        return None


def _node(circuit: Circuit, reading: Reading) -> str | None:
    try:
        node_of(circuit, reading.reference)
        return node_of(circuit, reading.point)
    except UnknownPoint:
        return None


def _comparisons(circuit: Circuit, readings: list[Reading]) -> dict[Reading, Comparison]:
    """All readings beside the sound set's, each computed once; those for which no solution is found are left out."""
    known = {reading: found for reading in readings if (found := _compared.find((circuit, reading))) is not None}
    missing = [reading for reading in dict.fromkeys(readings) if reading not in known]
    if not missing:
        return known
    for comparison in _compare(circuit, missing):
        _compared.get((circuit, comparison.reading), lambda made=comparison: made)  # type: ignore[misc]
        known[comparison.reading] = comparison
    return known


def _compare(circuit: Circuit, readings: list[Reading]) -> list[Comparison]:
    try:
        return compare_readings(circuit, readings)
    except NoConvergence:
        # One reading at an odd line or with an odd meter must not hide the others.
        return [] if len(readings) == 1 else [c for one in readings for c in _compare(circuit, [one])]


WRONG = (UnsoundCircuit, NoConvergence)
"""Why a chart cannot be computed; the error's text says it."""
