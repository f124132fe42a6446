"""Reading a readings file (CSV): measurements of one set in one state, or a printed chart."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from setwright.circuits import Circuit, Reading, UnknownPoint, node_of, parse_meter
from setwright.circuits.meters import Meter
from setwright.files.problems import ProblemList, listing, quoted
from setwright.files.source_text import MEGABYTE, load
from setwright.files.suggest import nearest
from setwright.files.survivors.csv_text import Record, open_csv
from setwright.files.survivors.spreadsheet import clean
from setwright.notation import NotationError, parse_quantity

READINGS_LIMIT = 5 * MEGABYTE
NEEDED = ("point", "quantity", "value", "unit")
COLUMNS = (
    *("point", "reference", "quantity", "value", "unit", "meter", "condition"),
    *("accuracy", "resolution", "line_volts"),
)
QUANTITIES = {"volts": "V", "volts_ac": "V", "amps": "A", "ohms": "ohm"}
CONDITIONS = ("on", "off")


@dataclass(frozen=True)
class ReadingsFile:
    """A readings file that was read without a problem. rows : where each reading stands in it."""

    name: str
    readings: tuple[Reading, ...]
    rows: tuple[int, ...]
    warnings: tuple[str, ...] = ()


def read_readings(path_or_bytes: str | Path | bytes, circuit: Circuit, name: str | None = None) -> ReadingsFile:
    """Read a readings file against the circuit whose points it names.

    A row without reference is against the circuit's ground, one without condition was taken switched on; free columns
    that begin with x- are kept out.

    Raises FileProblems with everything that is wrong, row by row; nothing is taken in then.
    """
    source = load(path_or_bytes, name, READINGS_LIMIT, "readings")
    text = open_csv(source, COLUMNS)
    problems = ProblemList(source.name)
    records = list(text.records())
    columns = _columns(records[0] if records else None, problems)
    problems.raise_if_any()
    reader = _RowReader(circuit, columns, problems)
    read = [(record.row, reader.read(record)) for record in records[1:]]
    if not read:
        problems.add("", "the file has a header and no rows; each row is one reading")
    problems.raise_if_any()
    kept = [(row, reading) for row, reading in read if reading is not None]
    return ReadingsFile(source.name, tuple(r for _, r in kept), tuple(row for row, _ in kept), text.warnings)


def _columns(header: Record | None, problems: ProblemList) -> dict[str, int]:
    if header is None:
        problems.add("", f"the file is empty; its header is {','.join(COLUMNS[:7])}")
        return {}
    columns: dict[str, int] = {}
    for number, cell in enumerate(header.cells):
        word = clean(cell)
        if word in columns:
            problems.add("row 1", f"the column {quoted(word)} stands there twice", line=header.line)
        elif word in COLUMNS:
            columns[word] = number
        elif word and not word.startswith("x-"):
            message = f"the column {quoted(word)} is not known here; known are {listing(COLUMNS, 'and')}"
            problems.add("row 1", message, line=header.line, suggestion=nearest(word, COLUMNS))
    for word in NEEDED:
        if word not in columns:
            problems.add("row 1", f"the column {word} is missing", line=header.line)
    return columns


class _RowReader:
    def __init__(self, circuit: Circuit, columns: dict[str, int], problems: ProblemList) -> None:
        self.circuit, self.columns, self.problems = circuit, columns, problems
        self.record = Record(0, 0, [])

    def read(self, record: Record) -> Reading | None:
        self.record = record
        before = len(self.problems)
        if len(record.cells) > max(self.columns.values()) + 1 and any(
            clean(c) for c in record.cells[max(self.columns.values()) + 1 :]
        ):
            self._note("", "the row has more cells than the header; a cell with a comma in it needs quotes")
        quantity = self._choice("quantity", tuple(QUANTITIES), None)
        condition = self._choice("condition", CONDITIONS, "on")
        unit = QUANTITIES.get(quantity or "", "V")
        value = self._value(unit, quantity)
        reading = Reading(
            point=self._point("point", None),
            reference=self._point("reference", self.circuit.ground),
            quantity=quantity or "volts",
            value=value,
            meter=self._meter(),
            condition=condition or "on",
            accuracy=self._number("accuracy", 0.0, 1.0),
            resolution=self._scaled("resolution", unit),
            line_volts=self._number("line_volts", 0.0, 1000.0),
        )
        if reading.quantity == "ohms" and reading.condition == "on" and len(self.problems) == before:
            self._note("condition", 'resistance is measured with the set unplugged; write condition "off"')
        if reading.quantity != "ohms" and reading.condition == "off" and len(self.problems) == before:
            self._note("condition", f'{reading.quantity} of a set that is off say nothing; write "on", or ohms')
        return reading if len(self.problems) == before else None

    def _cell(self, column: str) -> str:
        number = self.columns.get(column)
        return clean(self.record.cells[number]) if number is not None and number < len(self.record.cells) else ""

    def _note(self, column: str, message: str, suggestion: str | None = None) -> None:
        where = f'row {self.record.row}, column "{column}"' if column else f"row {self.record.row}"
        self.problems.add(where, message, line=self.record.line, suggestion=suggestion)

    def _choice(self, column: str, choices: tuple[str, ...], default: str | None) -> str | None:
        cell = self._cell(column)
        if not cell and default is not None:
            return default
        if cell not in choices:
            self._note(column, f"must be {listing(choices)}; {quoted(cell)} was given", nearest(cell, choices))
            return None
        return cell

    def _point(self, column: str, default: str | None) -> str:
        cell = self._cell(column) or default
        if not cell:
            self._note(column, "the point is missing; name a node, or a pin such as V3.plate")
            return ""
        try:
            node_of(self.circuit, cell)
        except UnknownPoint as error:
            self._note(column, error.message, nearest(cell, self.circuit.nodes))
        return cell

    def _value(self, unit: str, quantity: str | None) -> float:
        value = self._scaled("value", unit)
        if value is None:
            if not self._cell("value"):
                self._note("value", "the value is missing")
            return 0.0
        if quantity == "ohms" and value < 0.0:
            self._note("value", f"a resistance of {value:g} ohms cannot be; it is above nought")
        return value

    def _scaled(self, column: str, unit: str) -> float | None:
        """A number times what its unit column says, in SI; a value of nought or below is allowed."""
        cell = self._cell(column)
        if not cell:
            return None
        number = self._number(column, None, None)
        written = self._cell("unit")
        if number is None or not written:
            if number is not None:
                self._note("unit", f"the unit is missing; write {unit}")
            return None
        try:
            return number * parse_quantity(f"1 {written}", unit).value
        except NotationError as error:
            if column == "value":
                self._note("unit", error.message, error.suggestion)
            return None

    def _number(self, column: str, least: float | None, most: float | None) -> float | None:
        cell = self._cell(column)
        if not cell:
            return None
        try:
            number = float(cell.replace("−", "-").removesuffix("%")) / (100.0 if cell.endswith("%") else 1.0)
        except ValueError:
            self._note(column, f"must be a number; {quoted(cell)} was given")
            return None
        if number != number or abs(number) == float("inf"):
            self._note(column, f"must be a finite number; {quoted(cell)} was given")
            return None
        if (least is not None and number <= least) or (most is not None and number > most):
            self._note(column, f"must be above {least:g} and at most {most:g}; {quoted(cell)} was given")
            return None
        return number

    def _meter(self) -> Meter | None:
        cell = self._cell("meter")
        if not cell:
            return None
        try:
            return parse_meter(cell)
        except NotationError as error:
            self._note("meter", error.message, error.suggestion)
            return None
