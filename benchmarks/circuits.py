"""Speed of operating points, beside ngspice: python benchmarks/circuits.py [--variants 5000] [--no-ngspice]

One receiver, thousands of variants: every resistor within its tolerance and every tube within its spread
(healthy), or two random faults on top (a part open, shorted or leaky, a tube dead, weak or gassy). ngspice solves the
same variants of the same network with the same device equations, once with a process for each, once all in one process
(`alter` and `op` in a loop). The goals are those the project holds itself to.
"""

from __future__ import annotations

import argparse
import re
import statistics
import sys
import tempfile
import time
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
from common import about_the_machine, seconds

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "circuits"))
from drawings import battery, c, coil, r, tube
from netlist import NGSPICE, netlist, run

from setwright.circuits import Circuit, Part, Variants, compile_network, expect, operate, solve
from setwright.circuits.network import Network
from setwright.circuits.operating import OperatingState
from setwright.circuits.spread import TOLERANCE_DEVIATIONS
from setwright.reference import tube_assumption

GOALS = {22: (20_000, 5_000), 50: (3_500, 1_000)}
"""Operating points a second, healthy and with two faults, by the number of nodes."""


def receiver(stages: int) -> Circuit:
    """A line radio behind its rectifier, with so many further coupled audio stages."""
    parts = [
        battery("B", 120.0, "B+", "B-", ohms=400.0),
        r("R15", 1200.0, "B+", "B2"),
        coil("T3", 180.0, "B+", "V4.plate"),
        r("R14", 150.0, "V4.cathode", "B-"),
        r("R13", 470e3, "V4.grid", "B-"),
        c("C9", 5e-9, "V3.plate", "V4.grid"),
        r("R12", 470e3, "V3.plate", "B2"),
        r("R11", 6.8e6, "V3.grid", "B-"),
        r("R8", 47e3, "det", "vol"),
        Part("R9", "potentiometer", ("vol", "wip", "B-"), value=500e3),
        c("C8", 1e-8, "wip", "V3.grid"),
        r("R4", 2.2e6, "vol", "avc"),
        c("C4", 5e-8, "avc", "B-"),
        coil("T2s", 8.0, "det", "V3.diode"),
        coil("T1p", 15.0, "B2", "V1.plate"),
        coil("T2p", 15.0, "B2", "V2.plate"),
        coil("T1s", 15.0, "avc", "V2.grid"),
        coil("L1", 2.0, "avc", "V1.g3"),
        r("R1", 22e3, "V1.g1", "B-"),
        coil("L2", 0.5, "V1.k", "B-"),
        r("R10", 220e3, "chassis", "B-"),
        c("C10", 1e-7, "chassis", "B-"),
        r("R7", 68.0, "V2.k", "B-"),
        r("R6", 4.7e3, "screens", "B2"),
    ]
    tubes = [
        tube("V1", "12BE6", "", -7.5, plate="V1.plate", grid1="V1.g1", grid2="screens", grid3="V1.g3", cathode="V1.k"),
        tube("V2", "12BA6", plate="V2.plate", grid1="V2.grid", grid2="screens", cathode="V2.k"),
        tube("V3", "12AV6", "triode", plate="V3.plate", grid="V3.grid", cathode="B-"),
        tube("V3", "12AV6", "diode 1", plate="V3.diode", cathode="B-"),
        tube("V4", "50C5", plate="V4.plate", grid1="V4.grid", grid2="B2", cathode="V4.cathode"),
    ]
    for n in range(stages):
        name = f"V{n + 10}"
        parts += [
            r(f"RP{n}", 220e3, f"{name}.plate", f"B{n + 3}"),
            r(f"RG{n}", 1e6, f"{name}.grid", "B-"),
            r(f"RK{n}", 2.2e3, f"{name}.cathode", "B-"),
            r(f"RB{n}", 22e3, f"B{n + 3}", "B+"),
            c(f"CC{n}", 1e-8, f"{name}.plate", f"V{n + 11}.grid" if n + 1 < stages else f"{name}.cathode"),
        ]
        tubes.append(tube(name, "12AX7", "1", plate=f"{name}.plate", grid=f"{name}.grid", cathode=f"{name}.cathode"))
    return Circuit(f"receiver-{stages}", "B-", tuple(parts), tuple(tubes))


def healthy(state: OperatingState, count: int, rng: np.random.Generator) -> Variants:
    """Resistors within tolerance, tubes within their spread."""
    network, variants = state.network, state.variants
    deviations = np.array([b.tolerance / TOLERANCE_DEVIATIONS for b in network.branches])[:, None]
    siemens = variants.siemens * np.exp(deviations * rng.normal(size=(len(network.branches), count)))
    tubes, shape = variants.tubes, (len(network.circuit.tubes), count)
    return replace(
        variants,
        siemens=siemens,
        tubes=replace(
            tubes,
            strength=np.exp(tube_assumption("spread-current") * rng.normal(size=shape)),
            mu=np.exp(tube_assumption("spread-mu") * rng.normal(size=shape)),
            gas=np.zeros(shape),
        ),
    )


def with_faults(state: OperatingState, count: int, rng: np.random.Generator) -> Variants:
    """Two faults in each variant besides healthy spread."""
    variants = healthy(state, count, rng)
    network, tubes = state.network, variants.tubes
    parts = [n for n, b in enumerate(network.branches) if b.what in ("", "upper", "lower", "leak", "heater")]
    for variant in range(count):
        for _ in range(2):
            kind = rng.integers(3)
            if kind < 2:
                branch = rng.choice(parts)
                leak = network.branches[branch].what in ("leak", "heater")
                variants.siemens[branch, variant] = (
                    10.0 ** rng.uniform(-6.0, -1.0) if leak else rng.choice([1e-12, 1.0])
                )
            else:
                one = rng.integers(len(network.circuit.tubes))
                what = rng.integers(3)
                if what == 2:
                    tubes.gas[one, variant] = 10.0 ** rng.uniform(-6.0, -3.0)
                else:
                    tubes.strength[one, variant] = 0.0 if what else rng.uniform(0.1, 0.7)
    return variants


def rate(network: Network, variants: Variants, start: np.ndarray) -> tuple[float, float, int]:
    """Operating points a second, and a second of processor time, the best of three runs; and how many have none."""
    missing = 0

    def once() -> None:
        nonlocal missing
        missing = int((~solve(network, variants, start).converged).sum())

    walls, processor = [], []
    for _ in range(3):
        before = time.process_time()
        walls.append(seconds(once))
        processor.append(time.process_time() - before)
    return variants.count / min(walls), variants.count / min(processor), missing


def spiced(state: OperatingState) -> str:
    """The netlist with a source for every tube that multiplies its currents, so that `alter` can change it."""
    lines = []
    for line in netlist(state.network.circuit).splitlines():
        found = re.match(r"(BT(\d+)\S* \S+ \S+ )I=(.*)$", line)
        lines.append(line if found is None else f"{found[1]}I=v(s{found[2]})*({found[3]})")
    sources = [f"VS{n} s{n} 0 1" for n in range(len(state.network.circuit.tubes))]
    return "\n".join([*lines, *sources])


def alters(state: OperatingState, variants: Variants, variant: int) -> list[str]:
    """The commands that make the network this variant (healthy ones: resistors, coils and tubes)."""
    circuit, network = state.network.circuit, state.network
    found = []
    for n, part in enumerate(circuit.parts):
        keys = {"": f"R{n}", "upper": f"R{n}u", "lower": f"R{n}l"}
        for what, name in keys.items():
            if (part.ref, what) in network.branch and part.kind in ("resistor", "inductor", "potentiometer"):
                found.append(f"alter {name} = {1.0 / variants.siemens[network.branch[part.ref, what], variant]:.9g}")
    found += [f"alter VS{n} = {variants.tubes.strength[n, variant]:.9g}" for n in range(len(circuit.tubes))]
    return found


def ngspice_rates(state: OperatingState, variants: Variants, folder: Path) -> tuple[float, float, float]:
    """Operating points a second, a process for each and all in one; and the largest difference in volts."""
    text = spiced(state)
    node = next(n for n in state.network.nodes if n.endswith("plate"))
    name = f"n{state.network.circuit.nodes.index(node)}"
    ours = solve(
        state.network,
        replace(variants, tubes=replace(variants.tubes, mu=np.ones((len(state.network.circuit.tubes), 1)))),
        state.volts,
    ).volts
    worst = 0.0

    def alone(variant: int) -> None:
        nonlocal worst
        commands = "\n".join([*alters(state, variants, variant), "op", f"print v({name})"])
        printed = run(f"{text}\n.control\n{commands}\nquit\n.endc\n.end\n", folder)
        volts = float(re.search(rf"v\({name}\) = (\S+)", printed).group(1))
        worst = max(worst, abs(volts - ours[state.network.number[node], variant]))

    each = statistics.median(seconds(lambda v=v: alone(v)) for v in range(25))
    many = min(400, variants.count)

    def together(count: int) -> None:
        body = "\n".join("\n".join([*alters(state, variants, v), "op", "destroy all"]) for v in range(count))
        run(f"{text}\n.control\n{body}\nquit\n.endc\n.end\n", folder)

    whole, empty = seconds(lambda: together(many)), seconds(lambda: together(0))
    return 1.0 / each, many / max(whole - empty, 1e-9), worst


def compare(stages: int, options: argparse.Namespace) -> None:
    """One receiver: our rates, and ngspice's on the same variants."""
    rng = np.random.default_rng(1948)
    state = operate(compile_network(receiver(stages)))
    nodes = len(state.network.nodes)
    sound, faulty = healthy(state, options.variants, rng), with_faults(state, options.variants, rng)
    fast, fast_alone, none = rate(state.network, sound, state.volts)
    slow, slow_alone, lost = rate(state.network, faulty, state.volts)
    print(f"\n{nodes} nodes, {len(state.network.circuit.tubes)} tube sections, {options.variants} variants")
    print(f"  healthy spread   {fast:9,.0f} a second, {fast_alone:,.0f} of processor time ({none} without)")
    print(f"  two faults       {slow:9,.0f} a second, {slow_alone:,.0f} of processor time ({lost} without)")
    goal = min(GOALS, key=lambda n: abs(n - nodes))
    if abs(goal - nodes) <= 3:
        print(f"  goals            {GOALS[goal][0]:9,} and {GOALS[goal][1]:,}")
    if options.no_ngspice or NGSPICE is None:
        return
    with tempfile.TemporaryDirectory() as folder:
        each, together, worst = ngspice_rates(state, sound, Path(folder))
    print(f"  ngspice, a process each {each:9.1f} a second: {fast / each:7.0f} times healthy, {slow / each:.0f} faulty")
    print(f"  ngspice, one process    {together:9.1f} a second: {fast / together:7.1f} times healthy")
    print(f"  largest difference from ngspice at a plate: {1e3 * worst:.2f} mV")


def television() -> None:
    """The demonstration's television with its supplies in time, and its whole chart with a meter on every point."""
    from setwright.files.circuits.reading import read_circuit

    text = files("setwright.demo").joinpath("lanternmoor", "circuit.toml").read_bytes()
    circuit = read_circuit(text, None, "lanternmoor").circuit
    network = compile_network(circuit)
    best = min(seconds(lambda: operate(network)) for _ in range(3))
    whole = min(seconds(lambda: expect(circuit)) for _ in range(2))
    envelopes = len({t.ref for t in circuit.tubes})
    print(
        f"\ntelevision: {len(network.nodes)} nodes, {envelopes} tubes, operating point with supplies in time "
        f"{best:.2f} s (goal: under 1 s), whole chart {whole:.2f} s"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--variants", type=int, default=5000)
    parser.add_argument("--no-ngspice", action="store_true")
    options = parser.parse_args()
    print(about_the_machine())
    compare(0, options)
    compare(7, options)
    print("\ngrowth against nodes (healthy spread):")
    for stages in (0, 3, 7, 15, 31):
        state = operate(compile_network(receiver(stages)))
        count = options.variants if stages < 15 else options.variants // 4
        fast, alone, _ = rate(state.network, healthy(state, count, np.random.default_rng(1)), state.volts)
        print(f"  {len(state.network.nodes):4d} nodes {fast:9,.0f} a second, {alone:,.0f} of processor time")
    if (files("setwright.demo") / "lanternmoor").is_dir():
        television()


if __name__ == "__main__":
    main()
