"""The usual cautions at each step of opening a set.

They remind; they never permit. Where a limit is named it is a published one (see `reference`).
"""

from __future__ import annotations

from setwright.reference import safety_limit

DEFER = "Local electrical codes and a qualified technician's judgement come before anything said here."
"""Closes every list of cautions."""

WITH_PICTURE_TUBE = ("television", "test gear", "other")


def cautions_for(access: str, kind: str = "other") -> tuple[str, ...]:
    """Cautions for a look at this access on a set of this kind; nothing for a look from outside."""
    if access == "outside":
        return ()
    tube = _picture_tube(access) if kind in WITH_PICTURE_TUBE else ()
    return (*_CAUTIONS[access](), *tube, DEFER)


def _unplug() -> str:
    return (
        "Pull the plug, do not merely switch off: in a line-connected set the chassis, and screws and shafts that "
        "touch it, can be at line voltage with the switch in either position."
    )


def _stored_charge() -> str:
    volts, seconds = safety_limit("discharged-volts"), safety_limit("discharged-seconds")
    return (
        "Filter capacitors can hold their charge for a long time without a bleeder. Discharge them through a resistor, "
        f"measure, and touch nothing above {volts.value:.0f} V; do not count on the {seconds.value / 60:.0f} minutes "
        f"that rules give modern equipment to get there ({volts.source})."
    )


def _shock() -> str:
    ac, dc = safety_limit("shock-ac-volts"), safety_limit("shock-dc-volts")
    return (
        f"Everything above {ac.value:.0f} V alternating or {dc.value:.0f} V direct counts as a shock hazard "
        f"({ac.source}, {ac.clause}); a tube set has several times that on many pins. Isolation transformer, one hand, "
        "insulated probes, nobody alone."
    )


def _back() -> tuple[str, ...]:
    return (_unplug(), _stored_charge(), "Let tubes cool; pull none that is not asked for.")


def _chassis() -> tuple[str, ...]:
    return (
        _unplug(),
        _stored_charge(),
        "Photograph every lead before it is unplugged, and lift a chassis by its frame, not by tubes or transformers.",
    )


def _underside() -> tuple[str, ...]:
    return (
        _unplug(),
        _stored_charge(),
        "Wipe nothing and bend no lead: dust lines, lacquer and solder are evidence. Old wire covering and padding "
        "may be asbestos; leave it undisturbed.",
    )


def _powered() -> tuple[str, ...]:
    return (
        _shock(),
        "A line-connected chassis is at line potential: use an isolation transformer, and never earth it by a probe.",
        "Only power a set that has been brought up and judged safe to run; a first power-on is a job of its own.",
    )


def _lead_lifted() -> tuple[str, ...]:
    return (*_underside(), "Lifting a lead destroys the factory joint; photograph it first, or leave it.")


def _picture_tube(access: str) -> tuple[str, ...]:
    tube = (
        "A picture tube can implode: eye protection, no tool near its neck, never lift it by the neck. "
        "Its outer coating and anode hold a charge for days."
    )
    return (tube,) if access != "powered" else (tube, "Its supply is thousands of volts: keep hands and tools away.")


_CAUTIONS = {
    "back off": _back,
    "chassis out": _chassis,
    "underside": _underside,
    "powered": _powered,
    "lead lifted": _lead_lifted,
}
