"""`setwright expect`: what to measure in a sound set, with this meter, at this line voltage."""

from __future__ import annotations

import json as json_format
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from setwright.cli.identify import shows
from setwright.cli.options import SurvivorsFile

if TYPE_CHECKING:
    from setwright.circuits import Circuit, Expectation, Meter
    from setwright.circuits.readings import ChartRow

CircuitFile = Annotated[Path, typer.Argument(metavar="CIRCUIT", help="The circuit file (TOML).")]


def _line(volts: float | None) -> float | None:
    if volts is not None and not 0.0 <= volts <= 500.0:
        raise typer.BadParameter("must lie between 0 and 500 V, such as 117")
    return volts


def _meter(text: str | None) -> str | None:
    if text is None:
        return None
    from setwright.circuits import parse_meter
    from setwright.notation import NotationError

    try:
        parse_meter(text)
    except NotationError as error:
        raise typer.BadParameter(error.message) from None
    return text


def expect(
    circuit: CircuitFile,
    family: Annotated[
        Path | None, typer.Option("--family", metavar="FAMILY", help="The family file, for the features parts name.")
    ] = None,
    set_file: Annotated[
        Path | None, typer.Option("--set", metavar="SET", help="The set: its own values are computed with.")
    ] = None,
    survivors: SurvivorsFile = None,
    meter: Annotated[
        str | None,
        typer.Option(
            metavar="METER", help='The meter: "10M", "20k/V@250", or "20k/V" on fitting ranges.', callback=_meter
        ),
    ] = None,
    line_volts: Annotated[
        float | None, typer.Option(metavar="V", help="The line voltage (default: the drawing's).", callback=_line)
    ] = None,
    off: Annotated[bool, typer.Option("--off", help="Resistance to ground, unplugged and tubes cold.")] = False,
    readings: Annotated[
        Path | None,
        typer.Option(metavar="CSV", help="Readings or a printed chart, compared row by row on the meters they name."),
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Print the whole answer as JSON.")] = False,
) -> None:
    """Tell what a sound set shows at each point, with its healthy range, as the given meter would show it.

    Printed charts were made with some meter at some line voltage; readings are compared on the meter and line they
    name, and where a row disagrees the likely reason is told.
    """
    if (family is None) != (set_file is None):
        raise typer.BadParameter("--family and --set go together: a set is read against its family")
    if survivors is not None and family is None:
        raise typer.BadParameter("--survivors goes with --family and --set")
    from dataclasses import replace

    from setwright.circuits import parse_meter

    drawing, notes = _drawing(circuit, family, set_file, survivors)
    answer = _answer(drawing, None if meter is None else parse_meter(meter), line_volts, off=off)
    answer = replace(answer, warnings=(*notes, *answer.warnings))
    chart = _chart(drawing, readings, line_volts)
    if json:
        from setwright.files.circuits.answers import expectation_as_json

        data = expectation_as_json(answer, chart)
        print(json_format.dumps(data, indent=2, ensure_ascii=not shows(sys.stdout, "µΩ→")))
        return
    from setwright.cli.expect_report import print_report
    from setwright.cli.paper import Paper

    print_report(answer, chart, Paper(blocks=shows(sys.stdout, "█▌")))


def _drawing(
    circuit: Path, family: Path | None, set_file: Path | None, survivors: Path | None
) -> tuple[Circuit, tuple[str, ...]]:
    """The circuit, that of the set where one is given, and in words which values go by the set."""
    from setwright.files.circuits.reading import read_circuit

    if family is None or set_file is None:
        return read_circuit(circuit).circuit, ()
    from setwright.circuits import for_set
    from setwright.files import read_family, read_set
    from setwright.files.circuits.states import states_of, unseen_features

    documents = read_family(family).family
    drawing = read_circuit(circuit, documents).circuit
    bench = read_set(set_file, documents).set
    answer = None
    if unseen_features(drawing, bench):
        from setwright.cli.answering import answer_for

        answer = answer_for(family, set_file, survivors).answer
    fitted = for_set(drawing, states_of(drawing, documents, bench, answer))
    return fitted.circuit, fitted.notes


def _answer(circuit: Circuit, meter: Meter | None, line_volts: float | None, *, off: bool) -> Expectation:
    from setwright.circuits import expect as expect_live
    from setwright.circuits import expect_cold

    return expect_cold(circuit) if off else expect_live(circuit, meter=meter, line_volts=line_volts)


def _chart(circuit: Circuit, readings: Path | None, line_volts: float | None) -> list[ChartRow] | None:
    if readings is None:
        return None
    from dataclasses import replace

    from setwright.circuits import compare_chart
    from setwright.files.readings import read_readings

    rows = read_readings(readings, circuit).readings
    if line_volts is not None:
        rows = tuple(r if r.line_volts is not None else replace(r, line_volts=line_volts) for r in rows)
    return compare_chart(circuit, rows)
