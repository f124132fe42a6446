"""What a page of expected values was asked for: which circuit, which meter, which line voltage, on or off."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import isfinite
from urllib.parse import urlencode

from django.http import Http404

from setwright.circuits import parse_meter
from setwright.files import case
from setwright.notation import NotationError
from setwright.workbench.circuits.models import CircuitRecord
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.services.circuits import Asked, circuit_file_of, meter_or_none

METERS = (
    ("20k/V", "20,000 ohms per volt, on fitting ranges"),
    ("1k/V", "1,000 ohms per volt, on fitting ranges"),
    ("10M", "10 megohms input, as electronic meters have"),
)
HIGHEST_LINE = 500.0


@dataclass(frozen=True, slots=True)
class Question:
    """What was asked. meter, line : as the form shows them. problems : what could not be taken, in sentences.

    given : what stands in the address, to be carried on to further pages.
    """

    circuit: CircuitRecord
    asked: Asked
    meter: str
    line: str
    problems: tuple[str, ...]
    given: tuple[tuple[str, str], ...]

    @property
    def query(self) -> str:
        """The same question for further pages: "" or "?…"."""
        return f"?{urlencode(self.given)}" if self.given else ""

    def other(self, *, off: bool) -> str:
        """The query of the other chart."""
        kept = [(name, value) for name, value in self.given if name != "off"]
        more = [*kept, *([("off", "1")] if off else [])]
        return f"?{urlencode(more)}" if more else "?"

    @property
    def of_circuit(self) -> str:
        """The circuit's key where the address names one."""
        return dict(self.given).get("circuit", "")

    @property
    def own_meter(self) -> str:
        """A meter that is none of those in the list."""
        return "" if self.meter in dict(METERS) else self.meter


def circuits_of(family: FamilyRecord) -> tuple[CircuitRecord, ...]:
    """The family's circuits, without their texts until something is read anew."""
    records = CircuitRecord.objects.filter(family=family).select_related("chart").defer("text", "chart__text")
    found = tuple(records)
    for record in found:
        record.family = family
    return found


def question_of(
    query: Mapping[str, str], circuits: Sequence[CircuitRecord], readings: Sequence[case.Reading] = ()
) -> Question:
    """Reads a question. The first meter to be assumed is the one that the last reading was taken with.

    Raises Http404 for a circuit that is not there.
    """
    named = query.get("circuit", "")
    circuit = next((one for one in circuits if one.key == named or not named), None)
    if circuit is None:
        raise Http404
    problems: list[str] = []
    text = query.get("own", "").strip() or query.get("meter", "").strip()
    standard = _usual_meter(readings)
    meter, asked_meter = text or standard, parse_meter(standard)
    try:
        asked_meter = parse_meter(meter)
    except NotationError as error:
        problems.append(f"Meter: {error.message}. Shown for {standard}.")
        meter = standard
    drawn = circuit_file_of(circuit).circuit.line_volts
    line = query.get("line", "").strip()
    volts = _line_volts(line)
    if line and volts is None:
        problems.append(
            f"Line voltage: “{line[:40]}” is no voltage from 0 to 500 V, such as 117. Shown for {drawn:g} V."
        )
    off = query.get("off", "") not in ("", "0")
    given = [("circuit", named), ("meter", meter if text else ""), ("line", f"{volts:g}" if volts is not None else "")]
    given.append(("off", "1" if off else ""))
    return Question(
        circuit=circuit,
        asked=Asked(off=True) if off else Asked(asked_meter, volts),
        meter=meter,
        line=f"{drawn if volts is None else volts:g}",
        problems=tuple(problems),
        given=tuple((name, value) for name, value in given if value),
    )


def _usual_meter(readings: Sequence[case.Reading]) -> str:
    for reading in reversed(readings):
        sensitivity = reading.meter.partition("@")[0]
        if reading.quantity == "volts" and sensitivity and meter_or_none(sensitivity) is not None:
            return sensitivity
    return METERS[0][0]


def _line_volts(text: str) -> float | None:
    try:
        volts = float(text.removesuffix("V").strip())
    except ValueError:
        return None
    return volts if isfinite(volts) and 0.0 <= volts <= HIGHEST_LINE else None
