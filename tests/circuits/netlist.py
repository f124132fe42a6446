"""The same networks with the same device equations for ngspice, an independent solver; and how it is run."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

from setwright.circuits.drawing import Circuit, Part, Tube
from setwright.circuits.network import HOLDING_SIEMENS, LEAST_OHMS, dry_perveance
from setwright.circuits.tubes.models import TubeModel, model_of
from setwright.reference import tube_assumption

NGSPICE = shutil.which("ngspice")
MISSING = "ngspice is not installed (Debian: apt install ngspice)"

FUNCTIONS = """\
.func sp(x) {max(x,0)+ln(1+exp(-abs(x)))}
.func soft(v,p,c,s) {p*pow(s*sp((v+c)/s)+1e-30,1.5)}
.func wide(u,foot) {1+foot/(max(u,0)+10)}
.func bend(u,vg,mu,kp,kvb,vct,w) {sp(kp/w*(1/mu+(vg+vct)/sqrt(kvb+max(u,0)*max(u,0))))*w/kp}
.func drawn(u,vg,mu,ex,kg1,kp,kvb,vct,foot) {(2/kg1)*pow(max(u,0)*bend(u,vg,mu,kp,kvb,vct,wide(u,foot))+1e-30,ex)}
.func plate(vp,share,knee) {share*0.6366197723675814*atan(max(vp,0)/knee)}
"""


def names_of(circuit: Circuit) -> dict[str, str]:
    """Node names that ngspice takes."""
    return {node: "0" if node == circuit.ground else f"n{i}" for i, node in enumerate(circuit.nodes)}


def netlist(circuit: Circuit, *, line_volts: float | None = None, title: str = "check") -> str:
    """Parts and tubes as a netlist without analysis."""
    scale = (circuit.line_volts if line_volts is None else line_volts) / circuit.line_volts
    at = names_of(circuit)
    lines = [f"* {title}", FUNCTIONS, ".options reltol=1e-6 abstol=1e-13 vntol=1e-8 gmin=1e-12"]
    lines += [line for n, part in enumerate(circuit.parts) for line in part_lines(n, part, circuit, at, scale)]
    for n, tube in enumerate(circuit.tubes):
        lines += tube_lines(n, tube, model_of(tube.type, tube.section, circuit.types), at)
    lines += [f"Rg{i} {name} 0 1e12" for i, name in enumerate(at.values()) if name != "0"]
    return "\n".join(lines)


def part_lines(n: int, part: Part, circuit: Circuit, at: dict[str, str], scale: float) -> list[str]:
    ends = [at[node] for node in part.nodes]
    a, b = ends[0], ends[1]
    match part.kind:
        case "resistor":
            return [f"R{n} {a} {b} {part.value!r}"]
        case "potentiometer":
            upper, lower = (max(part.value * share, 1.0) for share in (part.position, 1.0 - part.position))
            return [f"R{n}u {a} {b} {upper!r}", f"R{n}l {b} {ends[2]} {lower!r}"]
        case "capacitor":
            return [f"C{n} {a} {b} {part.value!r}"]
        case "inductor":
            ohms = max(part.ohms or 0.0, LEAST_OHMS)
            if not part.value:
                return [f"R{n} {a} {b} {ohms!r}"]
            return [f"R{n} {a} x{n} {ohms!r}", f"L{n} x{n} {b} {part.value!r}"]
        case "switch":
            return [f"R{n} {a} {b} {LEAST_OHMS if part.closed else 1e12!r}"]
        case "lamp":
            return [f"R{n} {a} {b} {part.volts / part.amps!r}"]
        case "source":
            volts = part.volts * (1.0 if part.fixed else scale)
            return [f"V{n} x{n} {b} {volts!r}", f"R{n} x{n} {a} {max(part.ohms or 0.0, LEAST_OHMS)!r}"]
        case "winding" | "line":
            rms = (circuit.line_volts if part.volts is None else part.volts) * scale
            sine = f"SIN(0 {rms * 2**0.5!r} {circuit.line_hz!r} 0 0 {part.phase!r})"
            return [f"V{n} x{n} {b} {sine}", f"R{n} x{n} {a} {max(part.ohms or 0.0, LEAST_OHMS)!r}"]
        case "load":
            return [f"B{n} {a} {b} I={part.amps!r}*min(V({a},{b})/30,1)"]
        case "rectifier":
            law = dry_perveance(part)
            return [f"B{n} {a} {b} I=soft(V({a},{b}),{law!r},0,{tube_assumption('rectifier-softness-volts')})"]
    raise AssertionError(part.kind)


def tube_lines(n: int, tube: Tube, model: TubeModel, at: dict[str, str]) -> list[str]:
    p, k = at[tube.node("plate")], at[tube.node("cathode")]
    grid, screen = tube.node("grid", "grid1"), tube.node("grid2")
    g, s = at[grid] if grid else "", at[screen] if screen else ""
    own_grid = ",".join(
        str(tube_assumption(name)) for name in ("grid-perveance", "grid-contact-volts", "grid-softness-volts")
    )
    lines = []
    if tube.oscillating_volts is not None:
        lines += [f"VO{n} o{n} {k} {tube.oscillating_volts!r}", f"RO{n} o{n} {g} {1.0 / HOLDING_SIEMENS!r}"]
    match model.kind:
        case "diode":
            law = f"{model.perveance!r},{model.contact_volts!r},{model.softness_volts!r}"
            lines.append(f"BT{n} {p} {k} I=soft(V({p},{k}),{law})")
        case "triode":
            t = ",".join(repr(float(x)) for x in model.triode)
            lines.append(f"BT{n}p {p} {k} I=drawn(V({p},{k}),V({g},{k}),{t})")
            lines.append(f"BT{n}g {g} {k} I=soft(V({g},{k}),{own_grid})")
        case "pentode":
            m = model.pentode
            t = ",".join(repr(float(x)) for x in m[:7])
            total = f"drawn(V({s},{k})+{m.pull!r}*max(V({p},{k}),0),V({g},{k}),{t})"
            share = f"plate(V({p},{k}),{m.share!r},{m.knee!r})"
            lines.append(f"BT{n}p {p} {k} I={total}*{share}")
            lines.append(f"BT{n}s {s} {k} I={total}*(1-{share})")
            lines.append(f"BT{n}g {g} {k} I=soft(V({g},{k}),{own_grid})")
        case "converter":
            c = model.converter
            drive = f"pow(max(V({s},{k}),0)/{c.screen_volts!r}+1e-30,1.5)"
            share = f"(atan(max(V({p},{k}),0)/5)/atan({c.plate_volts!r}/5))"
            lines.append(f"BT{n}p {p} {k} I={c.plate_amps!r}*{drive}*{share}")
            lines.append(f"BT{n}s {s} {k} I={c.screen_amps!r}*{drive}")
        case "regulator":
            ohms = tube_assumption("regulator-slope-ohms")
            lines.append(f"BT{n} {p} {k} I=0.05*sp((V({p},{k})-{model.regulated_volts!r})/0.05)/{ohms}")
    return lines


def run(text: str, folder: Path) -> str:
    """What ngspice prints for a netlist with a .control section."""
    file = folder / "check.cir"
    file.write_text(text, encoding="ascii")
    done = subprocess.run([NGSPICE, "-b", str(file)], capture_output=True, text=True, check=False, timeout=300)
    return done.stdout + done.stderr


def values(printed: str) -> dict[str, float]:
    """`name = value` lines."""
    return {
        name.lower(): float(value)
        for name, value in re.findall(r"^\s*([\w()]+)\s*=\s*([-+.\deE]+)", printed, re.MULTILINE)
    }


def operating_point(circuit: Circuit, folder: Path, **how: float) -> dict[str, float]:
    """Node voltages by ngspice's operating point."""
    at = names_of(circuit)
    prints = "\n".join(f"print v({name})" for name in at.values() if name != "0")
    printed = run(f"{netlist(circuit, **how)}\n.control\nop\n{prints}\nquit\n.endc\n.end\n", folder)
    found = values(printed)
    return {node: found[f"v({name})"] for node, name in at.items() if name != "0"}


def averages(circuit: Circuit, folder: Path, seconds: float, **how: float) -> tuple[dict[str, float], dict[str, float]]:
    """Means and peak-to-peak values over the last line cycle of a run from nought."""
    at = names_of(circuit)
    cycle = 1.0 / circuit.line_hz
    measures = []
    for name in at.values():
        if name != "0":
            window = f"from={seconds - cycle!r} to={seconds!r}"
            measures.append(f"meas tran m_{name} avg v({name}) {window}")
            measures.append(f"meas tran p_{name} pp v({name}) {window}")
    control = f"tran 50u {seconds!r} {seconds - 2 * cycle!r} 25u uic"
    printed = run(
        f"{netlist(circuit, **how)}\n.control\n{control}\n" + "\n".join(measures) + "\nquit\n.endc\n.end\n", folder
    )
    found = values(printed)
    live = {node: name for node, name in at.items() if name != "0"}
    return (
        {node: found[f"m_{name}"] for node, name in live.items()},
        {node: found[f"p_{name}"] for node, name in live.items()},
    )
