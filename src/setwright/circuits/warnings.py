"""What a reader of a chart must know beside its figures."""

from __future__ import annotations

from collections.abc import Sequence

from setwright.circuits.answer import TubeExpectation
from setwright.circuits.network import Network
from setwright.circuits.operating import OperatingState
from setwright.reference import regulator

_SMALL_CHANGE = 0.005
_LARGE_MISFIT = 0.1


def warnings_for(network: Network, tubes: Sequence[TubeExpectation], state: OperatingState) -> tuple[str, ...]:
    """Plain sentences: what was assumed, what is unproven, what lies beyond a rating."""
    return (*_line(network), *_proof(tubes), *_ratings(tubes), *_regulators(tubes), *_supply(state))


def _line(network: Network) -> list[str]:
    drawn = network.circuit.line_volts
    if abs(network.line_volts / drawn - 1.0) <= _SMALL_CHANGE:
        return []
    return [
        f"Computed for a line of {network.line_volts:g} V; the drawing is for {drawn:g} V. Cathodes count as fully "
        "emitting: at a low line the heaters are cooler, and tubes may draw less than this."
    ]


def _proof(tubes: Sequence[TubeExpectation]) -> list[str]:
    unproven = sorted({t.type for t in tubes if not t.proven})
    found = []
    if unproven:
        found.append(
            f"The published operation of {', '.join(unproven)} is from memory here; check it against a tube manual "
            "before relying on readings at these tubes."
        )
    for t in {t.type: t for t in tubes if t.misfit is not None and t.misfit > _LARGE_MISFIT}.values():
        found.append(f"The model of the {t.type} misses its published rows by {100.0 * (t.misfit or 0.0):.0f} %.")
    return found


def _ratings(tubes: Sequence[TubeExpectation]) -> list[str]:
    return [
        f"{t.ref} ({t.type}) dissipates {t.dissipation_watts:.1f} W at its plate; the rating is "
        f"{t.plate_watts_limit:g} W."
        for t in tubes
        if t.plate_watts_limit is not None and t.dissipation_watts > t.plate_watts_limit
    ]


def _regulators(tubes: Sequence[TubeExpectation]) -> list[str]:
    found = []
    for t in tubes:
        tube = regulator(t.rated_type)
        if tube is None:
            continue
        if t.plate_amps < tube.least_amps:
            found.append(
                f"{t.ref} ({t.type}) passes {1e3 * t.plate_amps:.1f} mA and regulates from "
                f"{1e3 * tube.least_amps:g} mA on; it may go out, and needs {tube.starting_volts:g} V to start again."
            )
        elif t.plate_amps > tube.largest_amps:
            found.append(
                f"{t.ref} ({t.type}) passes {1e3 * t.plate_amps:.0f} mA; its limit is {1e3 * tube.largest_amps:g} mA."
            )
    return found


def _supply(state: OperatingState) -> list[str]:
    layout = state.network.layout
    if layout.alternating and state.waves is None and any(p.kind == "line" for p in layout.parts):
        return ["No rectifier is drawn on the line, so nothing of it reaches the direct side."]
    return []
