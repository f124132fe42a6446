"""The page of a set's chart, put into reading order and words."""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass

from setwright.circuits import PointExpectation, StageFigure
from setwright.circuits.sockets import Socket, SocketPin, sockets_of
from setwright.workbench.circuits.walking import LEAVE, Stop, Walk, danger_of, latest_at, pulsed_nodes, walk_of
from setwright.workbench.circuits.words import (
    Fit,
    band_words,
    fit_of,
    off_words,
    range_words,
    shown,
)
from setwright.workbench.services.circuits import ChartCase, Measured
from setwright.workbench.site.words import KEEP, count, listing

ELSEWHERE = "Supply and other points"


@dataclass(frozen=True, slots=True)
class ReadingView:
    """A reading as shown: its value, with what meter and line, and how it stands. number : in the set's file."""

    number: int
    value: str
    by: str
    fit: Fit


@dataclass(frozen=True, slots=True)
class PointRow:
    """One point of the chart. pins : where it can be reached. drivers : what spreads it.

    leave : why it is not read by hand, "" where it may be.
    """

    point: str
    pins: str
    expected: str
    band: str
    meter: str
    leave: str
    reading: ReadingView | None
    drivers: str


@dataclass(frozen=True, slots=True)
class PointGroup:
    """The points of one tube, or those that belong to none."""

    title: str
    rows: tuple[PointRow, ...]


@dataclass(frozen=True, slots=True)
class SocketLine:
    """A socket on the chart's page. told : how far one is round it."""

    ref: str
    words: str
    told: str


@dataclass(frozen=True, slots=True)
class OtherReading:
    """A reading that stands on no row. why : in a sentence."""

    words: str
    why: str


@dataclass(frozen=True, slots=True)
class ChartPage:
    """Everything the page of a chart shows."""

    off: bool
    lead: str
    verdict: str
    cautions: tuple[str, ...]
    groups: tuple[PointGroup, ...]
    sockets: tuple[SocketLine, ...]
    tubes: tuple[tuple[str, ...], ...]
    supplies: tuple[tuple[str, ...], ...]
    stages: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...]
    warnings: tuple[str, ...]
    others: tuple[OtherReading, ...]


def chart_page(case: ChartCase, *, line: str, meter: str) -> ChartPage:
    """Lays a chart out. line, meter : what it was asked for, as the page's form has them."""
    answer = case.expectation
    off = answer.condition == "off"
    walks = [walk_of(case, socket) for socket in sockets_of(case.circuit)]
    pins = _pins_by_node(walks)
    pulsed = pulsed_nodes(case.circuit)
    rows = {point.point: _row(case, point, pins.get(point.point, []), pulsed) for point in answer.points}
    if off:
        lead = f"Resistance from each point to {case.circuit.ground}: unplugged, discharged, tubes cold."
    else:
        lead = f"What a sound set of this make-up shows at each point against {case.circuit.ground}, on a line of "
        lead += f"{line}{KEEP}V, with {meter}."
    return ChartPage(
        off=off,
        lead=lead,
        verdict=verdict_of(case),
        cautions=answer.cautions,
        groups=_groups(case, rows),
        sockets=tuple(_socket_line(walk) for walk in sorted(walks, key=_in_order)),
        tubes=_tubes(case),
        supplies=tuple(
            (s.node, shown(s.volts, "V"), shown(s.ripple_volts, "V"), _milli(s.mean_amps), _milli(s.peak_amps))
            for s in answer.supplies
        ),
        stages=tuple(_stage(s) for s in answer.stages),
        notes=case.notes,
        warnings=answer.warnings,
        others=tuple(_others(case, rows)),
    )


def _pins_by_node(walks: list[Walk]) -> dict[str, list[tuple[str, SocketPin, str]]]:
    """Where each node can be reached: tube, pin, what stands on it."""
    found: dict[str, list[tuple[str, SocketPin, str]]] = {}
    for walk in walks:
        for place in walk.places:
            if place.pin.node is not None and place.pin.role != "heater":
                found.setdefault(place.pin.node, []).append((walk.socket.ref, place.pin, place.label))
    return found


def _row(
    case: ChartCase, point: PointExpectation, pins: list[tuple[str, SocketPin, str]], pulsed: Collection[str]
) -> PointRow:
    return PointRow(
        point=point.point,
        pins=", ".join(_pin_words(*one) for one in pins),
        expected=shown(point.value, point.unit),
        band=band_words(point.low, point.high, point.unit),
        meter=range_words(point.meter),
        leave=danger_of(point, pulsed),
        reading=_reading_at(case, point),
        drivers=listing(driver.name for driver in point.drivers),
    )


def _reading_at(case: ChartCase, point: PointExpectation) -> ReadingView | None:
    measured = latest_at(case, point.point)
    if measured is None:
        return None
    return reading_view(measured, case, expected=point.value, meter=point.meter)


def _pin_words(ref: str, pin: SocketPin, label: str) -> str:
    if not pin.number:
        return f"{ref} {label}"
    where = "cap" if pin.number == "cap" else f"pin{KEEP}{pin.number}"
    return f"{ref} {label} ({where}{'' if pin.verified else ', unverified'})"


def reading_view(measured: Measured, case: ChartCase, *, expected: float | None, meter: str | None) -> ReadingView:
    """A reading with how it stands to what a sound set shows on the same meter and line.

    expected, meter : what the chart has at this point, and for which meter; what differs in the reading is told.
    """
    written, comparison = measured.written, measured.comparison
    unit = {"ohms": "ohm", "amps": "A"}.get(written.quantity, "V")
    fit = Fit("the drawing has no path here", False) if expected is None else fit_of(comparison)
    by = []
    if written.meter and written.meter != meter:
        by.append(f"with {written.meter}")
    if written.line_volts not in (None, case.expectation.line_volts) and written.condition == "on":
        by.append(f"on {written.line_volts:g}{KEEP}V")
    if by and comparison is not None and comparison.expected is not None and expected is not None:
        on_that = shown(comparison.expected, unit)
        if on_that != shown(expected, unit):
            by.append(f"where {on_that} is right")
    return ReadingView(measured.number, shown(measured.reading.value, unit), ", ".join(by), fit)


def stop_view(stop: Stop, case: ChartCase) -> ReadingView | None:
    """The last reading at a stop of a walk."""
    if stop.measured is None:
        return None
    if stop.quantity != "volts_ac":
        return reading_view(stop.measured, case, expected=stop.expected, meter=stop.meter)
    value = stop.measured.reading.value
    assert stop.low is not None
    assert stop.high is not None
    assert stop.expected is not None
    inside = stop.low <= value <= stop.high
    words = "in band" if inside else off_words(value, stop.expected, "volts_ac")
    return ReadingView(stop.measured.number, shown(value, "V"), "", Fit(words, inside))


def _groups(case: ChartCase, rows: dict[str, PointRow]) -> tuple[PointGroup, ...]:
    grouped: dict[str, list[PointRow]] = {}
    refs = {tube.ref: tube.type for tube in case.circuit.tubes}
    for point in case.expectation.points:
        ref = point.point.partition(".")[0]
        owners = list(dict.fromkeys(name for name, _, _ in point.pins))
        owner = ref if ref in refs else owners[0] if len(owners) == 1 and "." in point.point else ""
        grouped.setdefault(owner, []).append(rows[point.point])
    order = ["", *refs]
    return tuple(
        PointGroup(f"{ref}, {refs[ref]}" if ref else ELSEWHERE, tuple(grouped[ref])) for ref in order if ref in grouped
    )


def verdict_of(case: ChartCase) -> str:
    """How many points of a chart were measured, and how many of them are out of band."""
    readings = [_reading_at(case, point) for point in case.expectation.points]
    seen = [reading.fit for reading in readings if reading is not None]
    if not seen:
        return "Nothing was measured for this chart yet."
    off = len([fit for fit in seen if fit.fits is False])
    if not off:
        return f"{count(len(seen), 'point')} measured, all in band."
    return f"{count(len(seen), 'point')} measured, {off} out of band."


def _in_order(walk: Walk) -> list[tuple[int, str]]:
    """V2 before V10."""
    return [(int(part), "") if part.isdecimal() else (0, part) for part in re.split(r"(\d+)", walk.socket.ref) if part]


def _socket_line(walk: Walk) -> SocketLine:
    socket = walk.socket
    base = f", {socket.base}" if socket.base else ", base not in the tables"
    done = len([stop for stop in walk.stops if stop.measured is not None])
    if not walk.stops:
        told = LEAVE if walk.has_kilovolts else "nothing to read here"
    elif done == len(walk.stops):
        told = f"all {done} read"
    else:
        told = f"{done} of {len(walk.stops)} read" if done else f"{count(len(walk.stops), 'reading')} to take"
    return SocketLine(socket.ref, f"{socket.type}{base}", told)


def _tubes(case: ChartCase) -> tuple[tuple[str, ...], ...]:
    return tuple(
        (
            f"{t.ref} {t.section}".strip(),
            t.type,
            shown(t.plate_volts, "V"),
            _milli(t.plate_amps),
            _milli(t.screen_amps) if t.screen_amps else "",
            f"{t.dissipation_watts:z.2f}{KEEP}W",
            f"of {t.plate_watts_limit:g}{KEEP}W" if t.plate_watts_limit is not None else "",
        )
        for t in case.expectation.tubes
    )


def _stage(stage: StageFigure) -> tuple[str, ...]:
    watts = stage.output_watts
    output = "" if watts is None else f"{watts:.2g}{KEEP}W"
    return f"{stage.ref} {stage.section}".strip(), f"{stage.gain:.1f}", f"{stage.hertz:g}{KEEP}Hz", output


def _milli(amps: float) -> str:
    return f"{1e3 * amps:.3g}{KEEP}mA" if abs(amps) >= 1e-6 else f"0{KEEP}mA"


def _others(case: ChartCase, rows: dict[str, PointRow]) -> list[OtherReading]:
    """Readings that stand on no row of either chart, with the reason."""
    found = []
    heaters = {node for tube in case.circuit.tubes if tube.heater for node in tube.heater}
    for measured in case.measured:
        written = measured.written
        words = (
            f"{written.point}: {shown(measured.reading.value, {'ohms': 'ohm', 'amps': 'A'}.get(written.quantity, 'V'))}"
        )
        if measured.node is None and written.point not in heaters:
            found.append(OtherReading(words, "the circuit has no such point"))
        elif measured.node is not None and measured.reading.reference != case.circuit.ground:
            fit = fit_of(measured.comparison)
            found.append(OtherReading(f"{words} against {measured.reading.reference}", fit.words))
        elif measured.node is not None and written.quantity in ("amps", "volts_ac"):
            found.append(OtherReading(words, "no chart has such readings"))
    return found


def socket_named(case: ChartCase, ref: str) -> Socket | None:
    """The socket of that reference."""
    return next((socket for socket in sockets_of(case.circuit) if socket.ref == ref), None)
