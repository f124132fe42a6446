"""The capacitor-input rectifier against an independent solution, and published formulae where they hold."""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
import pytest
from drawings import c, r, winding
from scipy.optimize import brentq

from setwright.circuits import Circuit, Part, compile_network, operate
from setwright.reference import RectifierPoint, rectifier_points

PEAK, LOAD, HERTZ = 100.0, 1000.0, 60.0
FULL_SCALE = 0.02


def rectifier(omega_c_r: float, source_share: float, *, full_wave: bool) -> Circuit:
    """Ideal but for 20 mV at an ampere, of 100 V."""
    farads = omega_c_r / (2.0 * pi * HERTZ * LOAD)
    parts = [c("C1", farads, "out", "gnd"), r("RL", LOAD, "out", "gnd")]
    for n in range(2 if full_wave else 1):
        parts.append(winding(f"T{n}", PEAK / sqrt(2.0), f"a{n}", "gnd", ohms=source_share * LOAD, phase=180.0 * n))
        parts.append(Part(f"D{n}", "rectifier", (f"a{n}", "out"), volts=0.02, amps=1.0))
    return Circuit("rectifier", "gnd", tuple(parts))


def direct_and_ripple(circuit: Circuit) -> tuple[float, float]:
    """Mean over peak, rms ripple over mean."""
    state = operate(compile_network(circuit))
    out = state.waves.volts[state.waves.nodes.index("out")]
    return float(out.mean()) / PEAK, float(out.std() / out.mean())


@pytest.mark.parametrize(
    "point", rectifier_points(), ids=lambda p: f"{'full' if p.full_wave else 'half'}-{p.omega_c_r:g}-{p.source_share:g}"
)
def test_the_independent_solution_is_met(point: RectifierPoint) -> None:
    direct, ripple = direct_and_ripple(rectifier(point.omega_c_r, point.source_share, full_wave=point.full_wave))
    # within 2 % of full scale is asked; 0.2 % and 0.3 % are met, the table's own rounding included
    assert direct == pytest.approx(point.direct_share, abs=FULL_SCALE / 10.0)
    assert ripple == pytest.approx(point.ripple_share, abs=0.003)


def test_the_whole_table_is_tried() -> None:
    assert len(rectifier_points()) == 40


def test_ripple_of_a_large_capacitor_is_current_over_twice_frequency_times_capacitance() -> None:
    """Full wave, textbook: dV = I/(2 f C), 100 mA, 60 Hz, 40 uF: 20.8 V. It leaves out that charging takes time."""
    farads, amps = 40e-6, 0.1
    circuit = Circuit(
        "large",
        "gnd",
        (
            *(winding(f"T{n}", 300.0, f"a{n}", "gnd", ohms=5.0, phase=180.0 * n) for n in range(2)),
            *(Part(f"D{n}", "rectifier", (f"a{n}", "out"), volts=0.1, amps=1.0) for n in range(2)),
            c("C1", farads, "out", "gnd"),
            Part("L", "load", ("out", "gnd"), amps=amps),
        ),
    )
    state = operate(compile_network(circuit))
    swing = float(np.ptp(state.waves.volts[state.waves.nodes.index("out")]))
    printed = amps / (2.0 * HERTZ * farads)
    assert printed == pytest.approx(20.8, abs=0.05)
    assert 0.8 * printed < swing < printed


@pytest.mark.parametrize("full_wave", [True, False])
def test_the_limit_of_a_large_capacitor(full_wave: bool) -> None:
    """Edc/Epk = cos t with tan t - t = pi·Rs/(2·RL) full wave, twice that half wave."""
    for share in (0.01, 0.1):
        wanted = np.cos(brentq(lambda t, s=share: np.tan(t) - t - pi * s / (2.0 if full_wave else 1.0), 1e-6, 1.5))
        direct, _ = direct_and_ripple(rectifier(3000.0, share, full_wave=full_wave))
        assert direct == pytest.approx(wanted, abs=0.002)


def test_means_over_peak_at_full_wave_go_up_with_the_capacitor() -> None:
    shares = [direct_and_ripple(rectifier(w, 0.05, full_wave=True))[0] for w in (1.0, 3.0, 10.0, 30.0)]
    assert shares == sorted(shares)
