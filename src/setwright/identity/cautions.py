"""The usual cautions at each step of opening a set.

They remind; they never permit. Where a limit is named it is a published one (see `reference`).
"""

from __future__ import annotations

from setwright.reference import safety_limit

DEFER = "Local electrical codes, and licensed practice under them, come before anything said here."
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
        "Filter capacitors can hold their charge for a long time without a bleeder. Discharge each through a resistor, "
        f"measure, and touch nothing above {volts.value:.0f} V. Waiting is not enough: rules give modern high-voltage "
        f"capacitors {seconds.value / 60:.0f} minutes to fall to that, and still have them shorted before work "
        f"({volts.source})."
    )


def _shock() -> str:
    ac, dc = safety_limit("shock-ac-volts"), safety_limit("shock-dc-volts")
    return (
        f"Everything above {ac.value:.0f} V alternating or {dc.value:.0f} V direct counts as a shock hazard "
        f"({ac.source}, {ac.clause}); a tube set has several times that on many pins. Isolation transformer, one hand, "
        "insulated probes, nobody alone. The transformer does not protect between two points of the set."
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
        "may be asbestos; leave it undisturbed. Solder and old insulation hold lead; wash your hands afterwards.",
    )


def _powered() -> tuple[str, ...]:
    return (
        _shock(),
        "A line-connected chassis can be at line potential: use an isolation transformer, never earth it by a probe.",
        "Only power a set that has been brought up and judged safe to run; a first power-on is a job of its own.",
        "A selenium rectifier that fails gives off poisonous fumes: at a foul smell switch off and air the room.",
    )


def _lead_lifted() -> tuple[str, ...]:
    return (*_underside(), "Lifting a lead destroys the factory joint; photograph it first, or leave it.")


def _picture_tube(access: str) -> tuple[str, ...]:
    tube = "A picture tube can implode: eye protection, no tool near its neck, never lift it by the neck."
    if access != "powered":
        charge = (
            "Its outer coating and anode can hold a charge for days. Before you reach in, discharge the anode to the "
            "outer coating through a resistor on an insulated wand, and again after a while: some charge comes back."
        )
        return (f"{tube} {charge}",)
    rate = safety_limit("xray-exposure-rate")
    return (
        tube,
        "Its supply is thousands of volts: keep hands and tools away.",
        "Picture tube, high-voltage rectifier and shunt regulator can give off X-rays: leave every shield on and the "
        f"high voltage at the set's own figure (limit {rate.value} {rate.unit}, 5 cm from any point within reach: "
        f"{rate.source}, {rate.clause}).",
    )


_CAUTIONS = {
    "back off": _back,
    "chassis out": _chassis,
    "underside": _underside,
    "powered": _powered,
    "lead lifted": _lead_lifted,
}
