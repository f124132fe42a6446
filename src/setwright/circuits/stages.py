"""Figures of stages: gain, output power, time constants and low-frequency tilt."""

from __future__ import annotations

from math import exp, pi

import numpy as np
from scipy.optimize import brentq

from setwright.circuits.answer import StageFigure, TimeConstant
from setwright.circuits.drawing import Tube
from setwright.circuits.newton import device_currents
from setwright.circuits.operating import OperatingState
from setwright.circuits.signals import gain, impedance
from setwright.circuits.tubes.equations import Values, pentode, triode
from setwright.circuits.tubes.models import TubeModel

AUDIO_HERTZ = 1000.0
HALF_FIELD_SECONDS = 1.0 / 120.0
"""Half a field at 60 per second: how long a flat top must stand."""
_LEAST_GAIN = 1.5
_ANGLES, _HALVINGS = 64, 45
"""Of half a cycle of output, and of the search for each of its currents."""


def stage_figures(state: OperatingState, hertz: float = AUDIO_HERTZ) -> tuple[StageFigure, ...]:
    """Voltage gain from grid to plate of every triode and pentode that amplifies at a frequency.

    Stages whose load has no impedance there, such as those of radio frequency at an audio one, are left out.
    """
    network = state.network
    found = []
    for number, (tube, model) in enumerate(zip(network.circuit.tubes, network.models, strict=True)):
        grid, plate = tube.node("grid", "grid1"), tube.node("plate")
        if model.kind not in ("triode", "pentode") or grid not in network.number or plate not in network.number:
            continue
        assert grid is not None
        assert plate is not None
        if network.number[grid] < 0 or network.number[plate] < 0 or grid == plate:
            continue
        amount = abs(gain(network, state.variants, state.volts, hertz, grid, plate))
        if amount >= _LEAST_GAIN:
            steep, ohms = _slopes(state, number)
            watts = _output_watts(state, tube, model)
            found.append(StageFigure(tube.ref, tube.section, amount, hertz, steep, ohms, grid, plate, watts))
    return tuple(found)


def _output_watts(state: OperatingState, tube: Tube, model: TubeModel) -> float | None:
    """The class A power of a tube whose plate feeds the primary of an output transformer; None for any other."""
    plate, grid, cathode = tube.node("plate"), tube.node("grid", "grid1"), tube.node("cathode")
    load = next((p.load_ohms for p in state.network.circuit.parts if p.load_ohms and plate in p.nodes), None)
    if load is None or plate is None or grid is None or cathode is None:
        return None
    screen = tube.node("grid2")
    bias = state.at(grid) - state.at(cathode)
    if bias >= 0.0 or (model.pentode is not None and screen is None):
        return None
    screen_volts = 0.0 if screen is None else state.at(screen) - state.at(cathode)
    return class_a_power(model, state.at(plate) - state.at(cathode), screen_volts, bias, load)


def _slopes(state: OperatingState, tube: int) -> tuple[float, float]:
    """Transconductance and plate resistance of one triode or pentode."""
    network = state.network
    _, slopes = device_currents(network, state.volts, state.variants.tubes)
    begin = 0
    for group in network.groups:
        blocks = len(group.slopes) // max(len(group.tubes), 1) if group.tubes else 1
        if tube in group.tubes:
            own = [float(np.broadcast_to(s, (s.shape[0], 1))[group.tubes.index(tube), 0]) for s in slopes[begin:][:3]]
            by_grid = own[2] if "screen" in group.roles else own[1]
            return by_grid, 1.0 / own[0] if own[0] else float("inf")
        begin += blocks
    raise KeyError(tube)


def time_constants(state: OperatingState) -> tuple[TimeConstant, ...]:
    """Every capacitor of the direct side with the resistance between its ends, all other capacitors away."""
    found = []
    for part, ends in state.network.capacitors:
        ohms = abs(impedance(state.network, state.variants, state.volts, 0.0, ends))
        seconds = ohms * (part.value or 0.0)
        found.append(TimeConstant(part.ref, seconds, 1.0 / (2.0 * pi * seconds), tilt(HALF_FIELD_SECONDS, seconds)))
    return tuple(found)


def tilt(seconds: float, time_constant: float) -> float:
    """Share by which a flat top behind one coupling sags: 1 - exp(-t/RC).

    >>> round(tilt(1 / 120, 0.1), 3)
    0.08
    """
    return 1.0 - exp(-seconds / time_constant)


def class_a_power(
    model: TubeModel, plate_volts: float, screen_volts: float, grid_volts: float, load_ohms: float
) -> float:
    """Output power in watts of one tube in class A into a resistive load through a transformer, distortion counted in.

    The grid swings as a sine as far up as to nought and as far down. Along the load line the plate current then takes
    every value of one cycle, and the power is load × mean square of the current about its mean. A flattened wave
    carries more than a sine of its height: the (largest - least)² × load / 8 of a sine falls short by a tenth and more.
    The load line goes through the plate voltage at the mean current, which the signal shifts. All voltages are against
    the cathode.
    """
    swing = grid_volts * (1.0 - np.cos(pi * (np.arange(_ANGLES) + 0.5) / _ANGLES))

    def current(volts: Values) -> Values:
        if model.triode is not None:
            return triode(model.triode, volts, swing)[0]
        assert model.pentode is not None, "a triode, pentode or beam tube"
        return pentode(model.pentode, volts, np.full_like(volts, screen_volts), swing).plate

    def on_the_line(mean: float) -> Values:
        """Plate currents of the cycle: the tube's grows with its voltage, the line's falls, so they meet once."""
        low, high = np.zeros(_ANGLES), np.full(_ANGLES, plate_volts + mean * load_ohms)
        for _ in range(_HALVINGS):
            middle = 0.5 * (low + high)
            above = current(middle) > mean + (plate_volts - middle) / load_ohms
            low, high = np.where(above, low, middle), np.where(above, middle, high)
        return mean + (plate_volts - 0.5 * (low + high)) / load_ohms

    # With a mean that no current at the plate's own voltage reaches, all of the cycle lies above that voltage.
    most = float(current(np.full(_ANGLES, plate_volts)).max())
    mean = brentq(lambda m: float(on_the_line(m).mean()) - m, 0.0, most)
    return float(on_the_line(mean).var()) * load_ohms
