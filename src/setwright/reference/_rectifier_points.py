"""The capacitor-input rectifier: an independent solution of the ideal diode with series resistance."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from setwright.reference._tables import table


@dataclass(frozen=True, slots=True)
class RectifierPoint:
    """One solution. full_wave : or half-wave. omega_c_r : angular line frequency times capacitance times load.

    source_share : series resistance over load. direct_share : direct voltage over the peak. ripple_share : rms ripple
    over direct voltage. limit_share : direct voltage over the peak for a very large capacitor.
    """

    full_wave: bool
    omega_c_r: float
    source_share: float
    direct_share: float
    ripple_share: float
    limit_share: float


@cache
def rectifier_points() -> tuple[RectifierPoint, ...]:
    """All rows of data/rectifier_model_points.csv."""
    return tuple(
        RectifierPoint(
            r["circuit"] == "full wave",
            float(r["omega_C_RL"]),
            float(r["Rs_over_RL_pct"]) / 100.0,
            float(r["Edc_over_Epk"]),
            float(r["ripple_rms_pct_of_Edc"]) / 100.0,
            float(r["Edc_over_Epk_limit_large_C"]),
        )
        for r in table("rectifier_model_points")
    )
