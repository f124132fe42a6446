"""What a sound set should show: voltages with the meter attached, their healthy spread, currents, supplies."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.special import ndtri

from setwright.circuits.answer import (
    Driver,
    Expectation,
    PointExpectation,
    SupplyExpectation,
    TubeExpectation,
)
from setwright.circuits.cautions import cautions_for
from setwright.circuits.checks import check
from setwright.circuits.cold import cold_points
from setwright.circuits.compiling import compile_network
from setwright.circuits.drawing import Circuit
from setwright.circuits.meters import Meter
from setwright.circuits.network import Variants
from setwright.circuits.newton import solve
from setwright.circuits.operating import OperatingState, operate, tube_currents
from setwright.circuits.points import live_points, pins_on, strongest
from setwright.circuits.problems import NoConvergence
from setwright.circuits.spread import Spread, spread_of
from setwright.circuits.stages import stage_figures, time_constants
from setwright.circuits.tubes.equations import Values
from setwright.circuits.warnings import warnings_for
from setwright.reference import tube_type

LEVEL = 0.9


def expect(
    circuit: Circuit, *, meter: Meter | None = None, line_volts: float | None = None, level: float = LEVEL
) -> Expectation:
    """The voltage chart of a sound set.

    meter : attached to one point at a time; None shows what is there without one. line_volts : the line it works at,
    by default the drawing's. level : share of sound sets that the ranges hold.

    Raises UnsoundCircuit for a drawing that cannot be computed, NoConvergence where no operating point is found.
    """
    network = compile_network(circuit, line_volts=line_volts)
    state = operate(network)
    names = live_points(network)
    tubes = _tubes(state)
    supplies = _supplies(state)
    return Expectation(
        circuit=circuit.id,
        condition="on",
        line_volts=network.line_volts,
        meter=None if meter is None else meter.text,
        points=_points(state, names, meter, level),
        tubes=tubes,
        supplies=supplies,
        stages=stage_figures(state),
        time_constants=time_constants(state),
        warnings=warnings_for(network, tubes, state),
        cautions=cautions_for(circuit, network.line_volts, max((abs(state.at(n)) for n in names), default=0.0)),
    )


def expect_cold(circuit: Circuit, *, level: float = LEVEL) -> Expectation:
    """The resistance chart: every node to ground, the set unplugged and its tubes cold.

    Raises UnsoundCircuit.
    """
    check(circuit)
    return Expectation(
        circuit=circuit.id,
        condition="off",
        line_volts=0.0,
        meter=None,
        points=cold_points(circuit, _deviations(level), level),
        cautions=cautions_for(circuit, 0.0, 0.0),
    )


@dataclass(frozen=True)
class Loaded:
    """Points with a meter on each in turn. meters : on their ranges, None where there is none.

    volts : (nodes, points), column n with the meter at point n. shown : what the meter shows.
    """

    names: list[str]
    meters: list[Meter | None]
    variants: Variants
    volts: Values
    shown: Values


def load_points(state: OperatingState, names: list[str], meters: list[Meter | None]) -> Loaded:
    """Solve the set once for every point, with its meter attached to that point alone.

    Raises NoConvergence for a point whose loaded operating point is not found.
    """
    network, count = state.network, len(names)
    on = [None if m is None else m.on(state.at(name)) for m, name in zip(meters, names, strict=True)]
    siemens = np.repeat(state.variants.siemens, count, axis=1)
    for n, (name, meter) in enumerate(zip(names, on, strict=True)):
        if meter is not None:
            siemens[network.branch[name, "meter"], n] = 1.0 / meter.ohms
    variants = replace(state.variants, siemens=siemens)
    solved = solve(network, variants, state.volts)
    if not solved.converged.all():
        name = names[int(np.argmin(solved.converged))]
        raise NoConvergence(name, f"with the meter at {name} no operating point was found")
    rows = [network.number[name] for name in names]
    return Loaded(names, on, variants, solved.volts, solved.volts[rows, np.arange(count)])


def _points(state: OperatingState, names: list[str], meter: Meter | None, level: float) -> tuple[PointExpectation, ...]:
    loaded = load_points(state, names, [meter] * len(names))
    rows = [state.network.number[name] for name in names]
    spread = spread_of(state.network, loaded.variants, loaded.volts, rows, state.waves)
    reach = _deviations(level) * spread.deviation
    return tuple(
        PointExpectation(
            point=name,
            reference=state.network.circuit.ground,
            quantity="volts",
            value=float(loaded.shown[n]),
            low=float(loaded.shown[n] - reach[n]),
            high=float(loaded.shown[n] + reach[n]),
            level=level,
            unit="V",
            unloaded=state.at(name),
            meter=_meter_words(loaded.meters[n]),
            pins=pins_on(state.network.circuit, name),
            drivers=_drivers(spread, n),
        )
        for n, name in enumerate(names)
    )


def _drivers(spread: Spread, point: int) -> tuple[Driver, ...]:
    return strongest([Driver(name, float(c)) for name, c in zip(spread.names, spread.changes[:, point], strict=True)])


def _meter_words(meter: Meter | None) -> str | None:
    if meter is None:
        return None
    if meter.full_scale is None or "@" in meter.text:
        return meter.text
    return f"{meter.text}@{meter.full_scale:g}"


def _tubes(state: OperatingState) -> tuple[TubeExpectation, ...]:
    network = state.network
    flows = tube_currents(network, state.volts, state.variants.tubes)
    fed = {name: n for n, (name, _, _) in enumerate(network.layout.diodes)}
    found = []
    for n, (tube, model) in enumerate(zip(network.circuit.tubes, network.models, strict=True)):
        known = tube_type(tube.type)
        limit = known.plate_watts if known is not None and model.kind != "diode" else None
        plate, screen, grid = (float(x[n, 0]) for x in (flows.plate, flows.screen, flows.grid))
        if tube.name in fed and state.waves is not None:
            volts, plate = _rectifier(state, fed[tube.name])
        else:
            cathode, node = tube.node("cathode"), tube.node("plate")
            assert cathode is not None, "checked before"
            assert node is not None, "checked before"
            volts = state.at(node) - state.at(cathode)
        found.append(
            TubeExpectation(
                tube.ref,
                tube.section,
                tube.type,
                volts,
                plate,
                screen,
                grid,
                volts * plate,
                limit,
                model.rated_type,
                model.misfit,
                model.proven,
            )
        )
    return tuple(found)


def _rectifier(state: OperatingState, number: int) -> tuple[float, float]:
    """Mean drop while it conducts (watts over amperes) and mean current of a rectifier."""
    waves, layout = state.waves, state.network.layout
    assert waves is not None
    _, plate, cathode = layout.diodes[number]
    order = {name: n for n, name in enumerate(waves.nodes)}
    nothing = np.zeros(waves.volts.shape[1])
    across = (waves.volts[order[plate]] if plate in order else nothing) - (
        waves.volts[order[cathode]] if cathode in order else nothing
    )
    current = waves.currents[number]
    mean = float(current.mean())
    return (float((across * current).mean()) / mean if mean > 0.0 else 0.0), mean


def _supplies(state: OperatingState) -> tuple[SupplyExpectation, ...]:
    waves, layout = state.waves, state.network.layout
    if waves is None:
        return ()
    order = {name: n for n, name in enumerate(waves.nodes)}
    found = []
    for node in layout.reservoirs:
        feeding = [n for n, (_, plate, cathode) in enumerate(layout.diodes) if node in (plate, cathode)]
        found.append(
            SupplyExpectation(
                node,
                float(waves.volts[order[node]].mean()),
                float(np.ptp(waves.volts[order[node]])),
                max(float(waves.currents[n].max()) for n in feeding),
                sum(float(waves.currents[n].mean()) for n in feeding),
            )
        )
    return tuple(found)


def _deviations(level: float) -> float:
    """How many standard deviations on each side hold a share of a normal distribution."""
    return float(ndtri(0.5 + 0.5 * level))
