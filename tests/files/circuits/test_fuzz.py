"""Whatever is done to a circuit or readings file: it is read, or refused in plain words."""

from __future__ import annotations

from importlib.resources import files
from math import isfinite

from hypothesis import given, settings
from hypothesis import strategies as st

from setwright.circuits import Circuit, NoConvergence, expect, expect_cold
from setwright.files import FileProblems
from setwright.files.circuits.reading import read_circuit
from setwright.files.readings import read_readings

DEMO = files("setwright.demo").joinpath("thimble")
DRAWING = DEMO.joinpath("circuit.toml").read_text(encoding="utf-8")
CHART = DEMO.joinpath("chart.csv").read_text(encoding="utf-8")
CIRCUIT = read_circuit(DRAWING.encode(), None, "t").circuit
PIECES = [
    "",
    '"',
    "=",
    "[",
    "]",
    "{",
    "}",
    "\n",
    "-",
    "0",
    "9e99",
    "nan",
    "true",
    "B+",
    "B-",
    "V3.plate",
    "1e-30",
    ",",
    "k",
]

places = st.lists(
    st.tuples(st.integers(0, len(DRAWING) - 1), st.integers(0, 12), st.sampled_from(PIECES)), min_size=1, max_size=4
)


def mutated(text: str, changes: list[tuple[int, int, str]]) -> bytes:
    for place, length, piece in changes:
        at = place % max(len(text), 1)
        text = text[:at] + piece + text[at + length :]
    return text.encode()


def outcome(circuit: Circuit) -> str:
    """ "answered", or what the refusal says; any other exception is a fault of the program."""
    expect_cold(circuit)
    try:
        answer = expect(circuit)
    except NoConvergence as none:
        return f"{none.node}: {none.message}"
    finite = all(isfinite(p.value) and isfinite(p.low) and isfinite(p.high) for p in answer.points)
    return "answered" if finite else "not finite"


def read_or_refused(changes: list[tuple[int, int, str]]) -> Circuit | tuple[str, ...]:
    try:
        return read_circuit(mutated(DRAWING, changes), None, "c.toml").circuit
    except FileProblems as failure:
        return failure.lines


@settings(max_examples=100)
@given(changes=places)
def test_a_mutated_circuit_is_read_or_refused(changes: list[tuple[int, int, str]]) -> None:
    read = read_or_refused(changes)
    if isinstance(read, Circuit):
        assert outcome(read) != "not finite"
    else:
        assert all(len(line) > 10 for line in read)


@settings(max_examples=40)
@given(
    changes=st.lists(st.tuples(st.integers(0, len(CIRCUIT.parts) - 1), st.floats(-9.0, 9.0)), min_size=1, max_size=3)
)
def test_values_wrong_by_powers_of_ten_are_answered_or_told(changes: list[tuple[int, float]]) -> None:
    circuit = CIRCUIT
    for number, power in changes:
        part = circuit.parts[number]
        if part.value is not None:
            circuit = circuit.with_part(part.ref, value=part.value * 10.0**power)
        elif part.ohms is not None:
            circuit = circuit.with_part(part.ref, ohms=part.ohms * 10.0**power)
    said = outcome(circuit)
    assert said == "answered" or "likely reason" in said or "meter at" in said


@settings(max_examples=60)
@given(changes=places)
def test_a_mutated_chart_is_read_or_refused(changes: list[tuple[int, int, str]]) -> None:
    said: tuple[object, ...]
    try:
        said = read_readings(mutated(CHART, changes), CIRCUIT, "r.csv").readings
    except FileProblems as failure:
        said = failure.lines
    assert said
