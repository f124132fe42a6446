"""The cautions that belong to every page or sheet that sends a hand to a live point."""

from __future__ import annotations

from setwright.circuits.drawing import Circuit
from setwright.reference import safety_limit

KILOVOLTS = 1000.0


def cautions_for(circuit: Circuit, line_volts: float, highest_volts: float) -> tuple[str, ...]:
    """Plain sentences for one circuit. line_volts : 0 for a set that is unplugged. highest_volts : at any point."""
    codes = "Local electrical codes and the judgement of a qualified technician come before anything written here."
    if line_volts <= 0.0:
        limit, wait = safety_limit("discharged-volts"), safety_limit("discharged-seconds")
        return (
            "Unplug the set, do not merely switch it off. Discharge every filter capacitor through a resistor and "
            f"measure that it is below {limit.value:g} V before an ohmmeter or a hand goes in; {limit.source} allows "
            f"{wait.value / 60.0:g} minutes for that at most, and an old bleeder may be open.",
            codes,
        )
    alternating, direct = safety_limit("shock-ac-volts"), safety_limit("shock-dc-volts")
    found = [
        "Live set: clip the meter's common lead on first, then work with one hand, the other away from the chassis. "
        "Switch off, unplug and discharge before a clip is moved to another point; probe ends need sleeves.",
        f"Shock counts as a hazard from {alternating.value:g} V alternating and {direct.value:g} V direct on "
        f"({direct.source}, {direct.clause}).",
    ]
    if any(p.kind == "line" for p in circuit.parts):
        found.append(
            "Line-connected: the chassis and the negative side can be live against earth with the switch in either "
            "position. Work only behind an isolation transformer, and connect no earthed instrument without one."
        )
    if highest_volts >= KILOVOLTS:
        found.append(
            "Kilovolts: do not probe these points without a high-voltage probe rated for them, and not alone. A "
            "picture tube holds its charge after switching off."
        )
    return (*found, codes)
