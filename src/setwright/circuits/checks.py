"""What makes a drawing unsound: floating nodes, electrodes left out, values that cannot be."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from setwright.circuits.drawing import PART_KINDS, Circuit, Fault, Part, Tube
from setwright.circuits.problems import UnsoundCircuit
from setwright.circuits.tubes.models import ELECTRODES, TubeModel, UnknownTube, model_of
from setwright.reference import tube_types

_NEEDED = {
    "resistor": (("value",), 'a resistor needs its value, such as value = "470k"'),
    "capacitor": (("value",), 'a capacitor needs its value, such as value = ".05 mfd"'),
    "potentiometer": (("value",), 'a potentiometer needs its value, such as value = "500k"'),
    "winding": (("volts", "ohms"), "a winding needs volts_rms, off load, and ohms"),
    "source": (("volts",), "a source needs volts"),
    "load": (("amps",), "a load needs amps"),
    "lamp": (("volts", "amps"), "a lamp needs its rated volts and amps"),
    "rectifier": (("volts", "amps"), "a rectifier needs drop_v and the amps at which it was measured"),
}
_KEYS = {("winding", "volts"): "volts_rms", ("rectifier", "volts"): "drop_v"}
_ALIASES = {"grid1": ("grid1", "grid"), "grid": ("grid", "grid1"), "grid2": ("grid2", "screen")}
_KNOWN_ELECTRODES = {"plate", "cathode", "grid", "grid1", "grid2", "grid3"}
_ABOVE_NOUGHT = ("value", "load_ohms")
_LEAST_SOURCE = 0.5
"""Volts; no battery and no bias cell of the period gives less (common practice, no source)."""
_CONDUCTS = ("resistor", "inductor", "potentiometer", "lamp", "winding", "line", "source", "rectifier")


def check(circuit: Circuit, *, whole: bool = True) -> tuple[TubeModel, ...]:
    """The model of every tube, once the drawing is sound; UnsoundCircuit with everything that is wrong otherwise.

    whole : False where parts are known to be missing, so that what floats without them is not told.
    """
    faults = [*_parts(circuit), *_refs(circuit)]
    models: list[TubeModel | None] = []
    for number, tube in enumerate(circuit.tubes):
        found, wrong = _tube(circuit, number, tube)
        models.append(found)
        faults += wrong
    if whole and circuit.ground not in circuit.nodes:
        faults.append(Fault("", 0, "ground", f'no part is connected to the ground node "{circuit.ground}"'))
    elif whole and not faults:
        faults += _floating(circuit, [m for m in models if m is not None])
    if faults:
        raise UnsoundCircuit(tuple(faults))
    return tuple(m for m in models if m is not None)


def _parts(circuit: Circuit) -> Iterator[Fault]:
    for number, part in enumerate(circuit.parts):
        if part.kind not in PART_KINDS:
            yield Fault("part", number, "kind", f"{part.kind} is no kind of part; there are {', '.join(PART_KINDS)}")
            continue
        yield from _part(number, part)


def _part(number: int, part: Part) -> Iterator[Fault]:
    wanted = 3 if part.kind == "potentiometer" else 2
    if len(part.nodes) != wanted:
        named = "three nodes, the wiper second" if wanted == 3 else "two nodes"
        yield Fault("part", number, "nodes", f"a {part.kind} has {named}; {len(part.nodes)} were given")
    elif len(set(part.nodes)) != len(part.nodes) and not (wanted == 3 and part.nodes[0] != part.nodes[2]):
        yield Fault("part", number, "nodes", f"both ends are on {part.nodes[0]}; such a part does nothing")
    names, words = _NEEDED.get(part.kind, ((), ""))
    for name in names:
        if getattr(part, name) is None:
            yield Fault("part", number, "", words)
            break
    for name in ("value", "ohms", "load_ohms", "amps"):
        number_given = getattr(part, name)
        if number_given is not None and (number_given < 0.0 or (number_given == 0.0 and name in _ABOVE_NOUGHT)):
            resistance = name.endswith("ohms") or part.kind in ("resistor", "potentiometer")
            what = "resistance" if resistance else name
            yield Fault("part", number, name, f"a {what} of {number_given:g} cannot be; it is above nought")
    if part.kind in ("lamp", "rectifier", "winding") and part.volts is not None and part.volts <= 0.0:
        key = _KEYS.get((part.kind, "volts"), "volts")
        yield Fault("part", number, key, f"must be above nought; {part.volts:g} was given")
    if part.kind == "source" and part.volts is not None and abs(part.volts) < _LEAST_SOURCE:
        words = f"a source of {part.volts:g} V feeds no tube; were volts meant, not millivolts or kilovolts?"
        yield Fault("part", number, "volts", words, f"{1000.0 * part.volts:g}" if part.volts else None)
    if part.kind in ("lamp", "rectifier") and part.amps == 0.0:
        yield Fault("part", number, "amps", "must be above nought; 0 was given")


def _refs(circuit: Circuit) -> Iterator[Fault]:
    seen: dict[str, int] = {}
    for number, part in enumerate(circuit.parts):
        if part.ref in seen:
            yield Fault("part", number, "ref", f'the reference "{part.ref}" is taken by an earlier part')
        seen[part.ref] = number
    drawn: Counter[tuple[str, str]] = Counter()
    for number, tube in enumerate(circuit.tubes):
        drawn[tube.ref, tube.section] += 1
        if drawn[tube.ref, tube.section] > 1:
            yield Fault("tube", number, "section", f"{tube.name} is drawn twice; each section has a table of its own")
        if tube.ref in seen:
            yield Fault("tube", number, "ref", f'the reference "{tube.ref}" is taken by a part')


def _tube(circuit: Circuit, number: int, tube: Tube) -> tuple[TubeModel | None, list[Fault]]:
    try:
        model = model_of(tube.type, tube.section, circuit.types)
    except UnknownTube as error:
        key = "section" if "section" in str(error) else "type"
        near = _near_type(tube.type) if key == "type" else None
        return None, [Fault("tube", number, key, str(error), near)]
    faults = []
    for name, _ in tube.electrodes:
        if name not in _KNOWN_ELECTRODES:
            near = {"screen": "grid2", "suppressor": "grid3", "anode": "plate", "filament": "cathode"}.get(name)
            words = f'"{name}" is no electrode known here; write plate, cathode, grid (or grid1), grid2, grid3'
            faults.append(Fault("tube", number, "nodes", words, near))
    for name in ELECTRODES[model.kind]:
        if tube.node(*_ALIASES.get(name, (name,))) is None:
            words = {"grid2": "grid2 (the screen)", "grid1": "grid1"}.get(name, name)
            message = f"the {words} of {tube.name} is not connected; a {tube.type} works here as a {model.kind}"
            faults.append(Fault("tube", number, "nodes", message))
    return model, faults


def _near_type(name: str) -> str | None:
    """A type of the tables that differs in case, hyphens or spaces, or lacks the envelope's letters."""
    plain = name.upper().replace("-", "").replace(" ", "")
    for known in tube_types():
        if plain == known.upper() and name != known:
            return known
    return next((known for known in tube_types() if known.startswith(plain) and len(known) - len(plain) <= 2), None)


def _floating(circuit: Circuit, models: list[TubeModel]) -> Iterator[Fault]:
    """Nodes without a path for direct current to ground, told together where they hang together."""
    near: dict[str, set[str]] = {node: set() for node in circuit.nodes}

    def join(nodes: tuple[str, ...]) -> None:
        for a in nodes:
            near[a].update(nodes)

    for part in circuit.parts:
        if part.kind in _CONDUCTS or part.kind == "switch":
            join(part.nodes)
    for tube, model in zip(circuit.tubes, models, strict=True):
        if model.kind in ("diode", "regulator"):
            join(tuple(node for _, node in tube.electrodes))
    lit = {node for tube in circuit.tubes if tube.heater for node in tube.heater}
    reached = _reach(near, circuit.ground)
    for node in circuit.nodes:
        if node in reached:
            continue
        together = _reach(near, node)
        reached |= together
        if not together <= lit:
            yield _floats(circuit, node, together)


def _floats(circuit: Circuit, node: str, together: set[str]) -> Fault:
    drawn = [("part", n, part.nodes) for n, part in enumerate(circuit.parts)]
    drawn += [("tube", n, tuple(name for _, name in tube.electrodes)) for n, tube in enumerate(circuit.tubes)]
    kind, number, _ = next(item for item in drawn if node in item[2])
    message = (
        f"no direct current can flow between {', '.join(sorted(together))} and {circuit.ground}; "
        "a resistor or coil is missing, or a node's name is misspelt"
    )
    return Fault(kind, number, "nodes", message, _near_node(circuit, node))


def _near_node(circuit: Circuit, node: str) -> str | None:
    plain = node.casefold().replace(" ", "")
    return next((n for n in circuit.nodes if n != node and n.casefold().replace(" ", "") == plain), None)


def _reach(near: dict[str, set[str]], start: str) -> set[str]:
    found, open_ones = {start}, [start]
    while open_ones:
        for other in near[open_ones.pop()] - found:
            found.add(other)
            open_ones.append(other)
    return found
