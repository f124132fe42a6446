"""Small drawings that several tests share."""

from __future__ import annotations

from setwright.circuits import Circuit, Part, Tube


def r(ref: str, ohms: float, *nodes: str, **how: object) -> Part:
    return Part(ref, "resistor", nodes, value=ohms, **how)


def c(ref: str, farads: float, *nodes: str, **how: object) -> Part:
    return Part(ref, "capacitor", nodes, value=farads, **how)


def coil(ref: str, ohms: float, *nodes: str, henries: float | None = None) -> Part:
    return Part(ref, "inductor", nodes, value=henries, ohms=ohms)


def battery(ref: str, volts: float, *nodes: str, ohms: float = 1.0, **how: object) -> Part:
    return Part(ref, "source", nodes, volts=volts, ohms=ohms, **how)


def winding(ref: str, volts: float, *nodes: str, ohms: float = 100.0, phase: float = 0.0) -> Part:
    return Part(ref, "winding", nodes, volts=volts, ohms=ohms, phase=phase)


def tube(ref: str, type: str, section: str = "", oscillating: float | None = None, **electrodes: str) -> Tube:  # noqa: A002
    return Tube(ref, type, tuple(electrodes.items()), section, None, oscillating)


def two_stages(bias: bool = True) -> Circuit:
    """A contact-biased triode and a beam tube on a battery; a detector diode beside the triode."""
    return Circuit(
        "two-stages",
        "chassis",
        (
            battery("B", 250.0, "B+", "chassis", ohms=50.0),
            r("R1", 10e6, "V1.grid", "chassis"),
            r("R2", 220e3, "V1.plate", "B+"),
            r("R3", 470e3, "V2.grid", "chassis"),
            r("R4", 270.0, "V2.cathode", "chassis"),
            r("R5", 220.0, "V2.plate", "B+"),
            r("R6", 1e6, "V1.diode", "chassis"),
            c("C1", 1e-8, "V1.plate", "V2.grid"),
            c("C2", 25e-6, "V2.cathode", "chassis"),
            *(
                (Part("R7", "potentiometer", ("V1.diode", "tone", "chassis"), value=500e3, position=0.3),)
                if bias
                else ()
            ),
        ),
        (
            tube("V1", "6AV6", "triode", plate="V1.plate", grid="V1.grid", cathode="chassis"),
            tube("V1", "6AV6", "diode 1", plate="V1.diode", cathode="chassis"),
            tube("V2", "6V6GT", plate="V2.plate", grid1="V2.grid", grid2="B+", cathode="V2.cathode"),
        ),
    )


def many_kinds() -> Circuit:
    """A converter, a pentode, a twin triode, a regulator, a load, a dry rectifier and a bias battery."""
    return Circuit(
        "many-kinds",
        "gnd",
        (
            battery("B", 300.0, "B+", "gnd", ohms=100.0),
            battery("C", -20.0, "bias", "gnd", fixed=True),
            r("R1", 5e3, "B+", "reg"),
            r("R2", 22e3, "V1.g1", "gnd"),
            r("R3", 2.2e6, "avc", "gnd"),
            r("R4", 15e3, "B+", "screen"),
            r("R5", 68.0, "V2.k", "gnd"),
            r("R6", 100e3, "V3.p1", "B+"),
            r("R7", 47e3, "V3.p2", "B+"),
            r("R8", 1.5e3, "V3.k", "gnd"),
            r("R9", 1e6, "V3.g2", "bias"),
            r("R10", 470e3, "V3.g1", "gnd"),
            r("R11", 33e3, "V1.p", "B+"),
            r("R12", 2.2e3, "V2.p", "B+"),
            r("R13", 100e3, "dry", "gnd"),
            Part("D1", "rectifier", ("B+", "dry"), volts=1.0, amps=0.1),
            Part("L1", "load", ("reg", "gnd"), amps=0.004),
            Part("S1", "switch", ("reg", "tap"), closed=True),
            r("R14", 100e3, "tap", "gnd"),
            Part("PL", "lamp", ("tap", "low"), volts=6.3, amps=0.15),
            r("R15", 10e3, "low", "gnd"),
        ),
        (
            tube("V1", "6BE6", "", -7.0, plate="V1.p", grid1="V1.g1", grid2="screen", grid3="avc", cathode="gnd"),
            tube("V2", "6BA6", plate="V2.p", grid1="avc", grid2="screen", cathode="V2.k"),
            tube("V3", "12AX7", "1", plate="V3.p1", grid="V3.g1", cathode="V3.k"),
            tube("V3", "12AX7", "2", plate="V3.p2", grid="V3.g2", cathode="V3.k"),
            tube("V4", "0A2", plate="reg", cathode="gnd"),
        ),
    )


def half_wave() -> Circuit:
    """A transformerless supply with a surge resistor and a resistance filter."""
    return Circuit(
        "half-wave",
        "B-",
        (
            Part("LN", "line", ("L", "B-"), ohms=5.0),
            r("RS", 33.0, "L", "V5.plate"),
            c("C1", 20e-6, "B+", "B-"),
            r("R1", 1200.0, "B+", "B2"),
            c("C2", 20e-6, "B2", "B-"),
            r("R2", 3e3, "B+", "B-"),
            r("R3", 5e3, "B2", "B-"),
        ),
        (tube("V5", "35W4", plate="V5.plate", cathode="B+"),),
    )


def full_wave(choke: bool = True, choke_input: bool = False) -> Circuit:
    """A centre-tapped winding whose tap goes to ground through a back-bias resistor; a choke filter."""
    first = () if choke_input else (c("C1", 10e-6, "B1", "chassis"),)
    filter_part = coil("L1", 300.0, "B1", "B2", henries=10.0) if choke else r("R1", 500.0, "B1", "B2")
    return Circuit(
        "full-wave",
        "chassis",
        (
            winding("T1.a", 300.0, "V1.p1", "tap", ohms=110.0),
            winding("T1.b", 300.0, "V1.p2", "tap", ohms=120.0, phase=180.0),
            r("R9", 100.0, "tap", "chassis"),
            *first,
            filter_part,
            c("C2", 20e-6, "B2", "chassis"),
            r("R2", 5e3, "B2", "chassis"),
        ),
        (
            tube("V1", "5Y3GT", "1", plate="V1.p1", cathode="B1"),
            tube("V1", "5Y3GT", "2", plate="V1.p2", cathode="B1"),
        ),
    )


def doubler(full: bool) -> Circuit:
    """A voltage doubler: full-wave (two capacitors in series) or half-wave (a capacitor in the line)."""
    parts = (winding("T1", 117.0, "a", "m" if full else "gnd", ohms=10.0), r("R1", 4e3, "B+", "gnd"))
    if full:
        parts += (c("C1", 40e-6, "B+", "m"), c("C2", 40e-6, "m", "gnd"), r("R2", 1e6, "m", "gnd"))
        ends = (("a", "B+"), ("gnd", "a"))
    else:
        parts += (c("C1", 40e-6, "a", "m"), c("C2", 40e-6, "B+", "gnd"))
        ends = (("gnd", "m"), ("m", "B+"))
    rectifiers = tuple(
        Part(f"D{n}", "rectifier", (plate, cathode), volts=5.0, amps=0.1) for n, (plate, cathode) in enumerate(ends)
    )
    return Circuit("doubler", "gnd", (*parts, *rectifiers))
