"""Small families with survivors and a set, each exercising one part of the full identity model; some with all of it."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

import numpy as np
from enumeration_runs import Axis
from enumeration_sets import KnownSet

from setwright.identity.model import (
    LOOKS_SERVICED,
    NOT_SEEN,
    SURENESSES,
    BenchSet,
    CutInBound,
    Family,
    Feature,
    Line,
    Observation,
    SerialBlock,
    Survivors,
    Version,
    seen_code,
)


@dataclass(frozen=True)
class Known:
    """A set as it is written down: serial (None: lost), line (None: unknown), "a1 b0? c1??" for what was seen.

    One ? is "likely", two are "guess"; "x!" means that feature x looks serviced, "x~" that it shows something else,
    "x-" that it is absent.
    """

    serial: str | None
    seen: str
    line: str | None = None

    def sights(self):
        found = {}
        for word in self.seen.split():
            state = word.rstrip("?!~")
            sure = SURENESSES[word.count("?")]
            if "!" not in word:
                written = "something else" if "~" in word else "absent" if state.endswith("-") else state
                found[state[0]] = (written, sure)
        return found

    def serviced(self):
        return tuple(word[0] for word in self.seen.split() if word.endswith("!"))


@dataclass(frozen=True)
class Case:
    """A family, what is known of its survivors, and the set on the bench; `axes` as the model defines them.

    names : serials by position, where they are not the same.
    """

    family: Family
    axes: dict
    survivors: tuple[Known, ...]
    bench: Known
    names: dict = field(default_factory=dict)

    def places(self, known):
        """Every (line, position) that the serial and the line leave."""
        pattern = None if known.serial is None else known.serial.replace("?", r"\w").replace("*", r"\w*")
        return tuple(
            (line, s)
            for line, axis in self.axes.items()
            if known.line in (None, line)
            for s in axis.holding
            if pattern is None or re.fullmatch(pattern, self.names.get(s, str(s)))
        )

    def for_oracle(self):
        """Axes, survivors and the bench set as `enumeration_full` takes them."""
        known = [KnownSet(self.places(k), k.sights(), k.serviced()) for k in (*self.survivors, self.bench)]
        return self.family, self.axes, known[:-1], known[-1]

    def bench_set(self):
        seen = [Observation(f, state, sure) for f, (state, sure) in self.bench.sights().items()]
        seen += [Observation(f, None, serviced=True) for f in self.bench.serviced()]
        return BenchSet("bench", self.family.id, self.bench.serial, self.bench.line, observations=tuple(seen))

    def register(self):
        """The survivors in columns; a serial that leaves one place is kept as that place."""
        lines, positions, serials = [], [], {}
        for row, known in enumerate(self.survivors):
            places = self.places(known)
            possible = {line for line, _ in places}
            lines.append(self.family.line_ids.index(possible.pop()) if len(possible) == 1 else -1)
            single = known.serial is not None and len(places) == 1
            positions.append(places[0][1] if single else -1)
            if known.serial is not None and not single:
                serials[row] = known.serial
        columns = {f.id: [self.code(f, known) for known in self.survivors] for f in self.family.features}
        seen = {f: np.array(codes, dtype=np.int64) for f, codes in columns.items()}
        ids = tuple(f"s{row}" for row in range(len(self.survivors)))
        return Survivors(ids, np.array(lines, dtype=np.int64), np.array(positions, dtype=np.int64), seen, serials)

    @staticmethod
    def code(f, known):
        if f.id in known.serviced():
            return LOOKS_SERVICED
        if f.id not in known.sights():
            return NOT_SEEN
        state, sure = known.sights()[f.id]
        states = f.all_states
        index = states.index(state) if state in states else len(states)
        return seen_code(index, SURENESSES.index(sure))


def feature(name, states, permanence, **more):
    return Feature(name, name.upper(), tuple(f"{name}{i}" for i in range(states)), permanence=permanence, **more)


def versions(line, *texts):
    """Versions from "a0 b1": a feature that is not named is one the version is silent about."""
    return tuple(
        Version(f"{line}-{n}", f"{line} {n}", line, {w[0]: "absent" if w[1:] == "-" else w for w in text.split()})
        for n, text in enumerate(texts)
    )


def family(features, documents, last=8, **more):
    return Family("family", "Family", tuple(features), tuple(documents), last_serial=last, **more)


def main(last=8):
    return {"main": Axis(1, last)}


def known(*rows):
    """Survivors of one line from "serial: seen"; "-" for a lost serial."""
    parts = [row.split(":") for row in rows]
    return tuple(Known(None if serial == "-" else serial, seen) for serial, seen in parts)


A = feature("a", 2, "plugged")
B = feature("b", 2, "soldered")
C = feature("c", 2, "consumable")
D = feature("d", 3, "plugged")
DOCUMENTS = versions("main", "a0 b0 c0 d0", "a1 b0 c0 d1", "a1 b1 c1 d2")
PLAIN = family((A, B, C, D), DOCUMENTS)
TWO_LINES = (Line("main"), Line("export"))
BOTH = {"main": Axis(1, 6), "export": Axis(1, 6)}

CASES = {
    "altered survivors": Case(
        PLAIN,
        main(),
        known("2:a1 b1 c1 d~", "3:a0 b0 c0 d1", "5:a1 b0? c1 d1", "6:a0 b~ c0 d0", "7:a1 b1"),
        Known("4", "a1 b0 c1 d1?"),
    ),
    "serviced items": Case(
        PLAIN,
        main(),
        known("2:a1 b! c! d1", "4:a0 b0 c! d0", "5:a1 b1? c1", "7:a0 b1 c! d!"),
        Known("5", "a1 c! d1 b0?"),
    ),
    "lost serials": Case(
        PLAIN,
        main(),
        known("2:a0 b0 d0", "-:a1 b0 c0 d1", "-:a1 b1 c1 d2", "6:a1 b1 d1", "-:a0 c0 d0"),
        Known(None, "a1 c1 d1"),
    ),
    "fragments": Case(
        family((A, B, C), versions("main", "a0 b0 c0", "a1 b0 c0", "a1 b1 c1"), last=12),
        main(12),
        known("1?:a1 b0 c0", "?:a1 b1", "*2:a0 b1 c1", "5:a0 b0", "9:a1 c0"),
        Known("1?", "a1 c1"),
    ),
    "unknown lines": Case(
        family(
            (A, B, feature("e", 2, "riveted", lines=("main",))),
            (*versions("main", "a0 b0 e0", "a1 b1 e1"), *versions("export", "a1 b1", "a0 b0")),
            last=6,
            lines=TWO_LINES,
        ),
        BOTH,
        (
            Known("3", "a0 b0", "main"),
            Known("4", "a1 b1 e1"),
            Known(None, "a0 b0"),
            Known("5", "a0 b0", "export"),
            Known(None, "a1 e0", None),
        ),
        Known("3", "a1 b0"),
    ),
    "old stock": Case(
        family(
            (feature("a", 2, "riveted", overlap=3), feature("b", 2, "soldered", overlap=1), C),
            versions("main", "a0 b0 c0", "a1 b0 c0", "a1 b1 c1"),
        ),
        main(),
        known("2:a0 b1 c0", "3:a0 b0", "4:a1 b0 c1", "5:a0 c0", "7:a1 b1 c1"),
        Known("4", "a0 b0 c1"),
    ),
    "old stock of two changes": Case(
        family(
            (feature("a", 2, "riveted"), feature("b", 3, "soldered", overlap=3)),
            versions("main", "a0 b0", "a0 b1", "a1 b2"),
        ),
        main(),
        known("2:b1 a0", "3:b0", "4:b0 a0", "5:b2 a0", "7:b1 a1"),
        Known(None, "a0? b1"),
    ),
    "old stock of a change back": Case(
        family((feature("a", 2, "plugged", overlap=2),), versions("main", "a0", "a1", "a0"), last=5),
        main(5),
        known("2:a0?", "4:a1"),
        Known("3", "a0?"),
    ),
    "a silent version": Case(
        family((A, B, C), versions("main", "a0 b0 c0", "a1 c0", "a1 b1 c1")),
        main(),
        known("2:a0 b0", "4:a1 b0 c0", "6:a1 b1? c0", "7:a1 b1 c1"),
        Known("5", "a1 b1"),
    ),
    "two silences over three steps": Case(
        family(
            (A, B, C, feature("e", 2, "riveted"), feature("f", 2, "soldered"), feature("h", 2, "plugged")),
            versions("main", "a0 b0 c0 e0 f0 h0", "a1 b0 c0 h0", "a1 b1 c0 f1", "a1 b1 c1 e1 h0", "a1 b1 c1 e1 h1"),
            last=5,
        ),
        main(5),
        known("2:a1 b0 e0 h1", "3:f1 c1 e0", "4:b0 c0 e1", "-:a1 b1 c1"),
        Known("3", "a1 c0 f1"),
    ),
    "shared cut-ins": Case(
        family(
            (A, B, feature("e", 2, "riveted", lines=("export",))),
            (*versions("main", "a0 b0", "a1 b0", "a1 b1"), *versions("export", "a0 b0 e0", "a1 b0 e0", "a1 b1 e1")),
            last=6,
            lines=(Line("main"), Line("export", "main")),
            cut_in_bounds=(CutInBound("b", "b0", "b1", "export", after=2),),
        ),
        BOTH,
        (
            Known("2", "a0 b0", "main"),
            Known("3", "a1 b0", "export"),
            Known("4", "b1 e1", "export"),
            Known(None, "a1 b0", "main"),
            Known("5", "b1"),
        ),
        Known("3", "a1 b0?"),
    ),
    "a free feature of two states": Case(
        family((A, B, feature("g", 2, "soldered")), versions("main", "a0 b0", "a1 b1")),
        main(),
        known("1:a0 g0", "3:b0 g0", "5:a1 g1", "6:g1 b1", "8:a1 g1"),
        Known("4", "a0 g1"),
    ),
    "a free feature of three states": Case(
        family((A, feature("g", 3, "riveted")), versions("main", "a0", "a1"), last=6),
        main(6),
        known("1:a0 g2", "2:g2", "3:g0", "4:a1 g0", "6:a1 g1", "-:g0 a1"),
        Known(None, "a1 g0"),
    ),
    "a free feature of four states": Case(
        family((A, feature("g", 4, "plugged")), versions("main", "a0", "a1"), last=5),
        main(5),
        known("1:a0 g2", "2:g2", "3:g0", "4:a1 g0?", "5:g1"),
        Known("4", "g0"),
    ),
    "old stock of a free feature": Case(
        family((A, feature("g", 2, "riveted", overlap=2)), versions("main", "a0", "a1"), last=6),
        main(6),
        known("1:a0 g1", "2:g1", "4:a1 g0", "6:a1 g0", "-:g0 a1"),
        Known(None, "a1 g0"),
    ),
    "old stock of a free feature's two changes": Case(
        family((A, feature("g", 3, "riveted", overlap=2)), versions("main", "a0", "a1"), last=6),
        main(6),
        known("1:a0 g2", "2:g2", "3:g0", "4:a1 g0", "6:a1 g1", "-:g0 a1"),
        Known(None, "a1 g0"),
    ),
    "two suppliers at a time": Case(
        family((A, B, feature("g", 2, "riveted")), versions("main", "a0 b0", "a1 b1")),
        main(),
        known("1:g1", "2:a0 g0", "3:g1", "4:b0 g0", "5:g1 a1", "7:g0"),
        Known("6", "a1 b0"),
    ),
    "undocumented in one line": Case(
        family(
            (A, feature("g", 2, "riveted")),
            (*versions("main", "a0 g0", "a1 g1"), *versions("export", "a0", "a1")),
            last=5,
            lines=TWO_LINES,
        ),
        {"main": Axis(1, 5), "export": Axis(1, 5)},
        (
            Known("2", "a0 g1", "export"),
            Known("4", "a1 g0", "export"),
            Known("5", "g0"),
            Known("3", "a1 g1", "main"),
        ),
        Known("3", "a1 g0"),
    ),
    "a line without documents": Case(
        family((A, feature("g", 2, "soldered")), versions("main", "a0 g0", "a1 g1"), last=5, lines=TWO_LINES),
        {"main": Axis(1, 5), "export": Axis(1, 5)},
        (Known("2", "a1 g1", "export"), Known("4", "a0 g1", "export"), Known("5", "g0"), Known("3", "a1", "main")),
        Known("3", "a1 g1?"),
    ),
    "a shared silence and a shared free feature": Case(
        family(
            (A, B, feature("e", 2, "riveted", lines=("export",)), feature("g", 2, "riveted")),
            (
                *versions("main", "a0 b0", "a1", "a1 b1"),
                *versions("export", "a0 b0 e0", "a1 e1", "a1 b1 e1"),
            ),
            last=5,
            lines=(Line("main"), Line("export", "main")),
        ),
        {"main": Axis(1, 5), "export": Axis(1, 5)},
        (
            Known("2", "a0 g1", "main"),
            Known("3", "a1 b1 g0", "export"),
            Known("4", "e1 g0"),
            Known(None, "a0 b0 e0 g1"),
        ),
        Known("3", "a1 b0 g0"),
    ),
    "a married cabinet": Case(
        family(
            (
                A,
                feature("b", 2, "riveted"),
                feature("e", 2, "riveted", group="cabinet"),
                feature("f", 2, "stamped", group="cabinet"),
            ),
            versions("main", "a0 b0 e0 f0", "a1 b1 e1 f1"),
        ),
        main(),
        known("2:a0 e0 f0", "3:b0 e0", "6:a1 b1 f1", "7:a1 e1 f1"),
        Known("3", "a0 b0 e1? f1?"),
    ),
    "a cabinet from another line": Case(
        family(
            (
                A,
                feature("b", 2, "riveted"),
                feature("e", 3, "stamped", group="cabinet"),
                feature("f", 2, "riveted", group="cabinet", lines=("export",)),
                feature("v", 2, "riveted", group="trim", role="variant"),
                feature("w", 2, "riveted", group="trim", role="variant", lines=("export",)),
            ),
            (*versions("main", "a0 b0 e0", "a1 b1 e1"), *versions("export", "a0 b0 e2 f0", "a1 b1 e2 f1")),
            last=4,
            lines=TWO_LINES,
        ),
        {"main": Axis(1, 4), "export": Axis(1, 4)},
        (
            Known("2", "a0 e0", "main"),
            Known("4", "b1 e1 v1", "main"),
            Known("4", "a1 f0 e2", "export"),
            Known("2", "b0 f0 e2 w1", "export"),
        ),
        Known("2", "a0 b0 e2 f1 v1 w1", "main"),
    ),
    "married survivors": Case(
        family(
            (
                feature("a", 2, "riveted", group="works"),
                feature("b", 2, "riveted", group="works"),
                feature("e", 2, "stamped", group="cabinet"),
                feature("f", 2, "stamped", group="cabinet"),
                feature("h", 2, "stamped", group="lid"),
            ),
            versions("main", "a0 b0 e0 f0 h0", "a1 b1 e1 f1 h1"),
            last=6,
        ),
        main(6),
        known("2:a0 b0 e1 f1 h0", "6:a1 b1 e1 f1 h1", "-:a1 b1 e0", "4:a0 e0? h0"),
        Known("4", "a1 e0"),
    ),
    "no last serial": Case(
        family((A, B, C), versions("main", "a0 b0 c0", "a1 b1 c1"), last=None),
        main(9),  # m = 7, n = 3: 7 + 7/3 - 1, rounded up
        known("2:a0 b0", "7:a1 b1 c1", "-:a1 c0", "?:b1 c1"),
        Known("4", "a0 c1"),
    ),
    "no serial at all": Case(
        family((A,), versions("main", "a0", "a1"), last=None),
        main(512),
        known("-:a1", "-:a0?"),
        Known(None, "a1?"),
    ),
    "gaps in the serials": Case(
        family(
            (A, B, feature("g", 2, "soldered")),
            versions("main", "a0 b0", "a1 b1"),
            last=None,
            serial_blocks=(SerialBlock("K", 1, 3, 1), SerialBlock("L", 1, 2, 6)),
        ),
        {"main": Axis(1, 7, (1, 2, 3, 6, 7))},
        known("K2:a0 g0", "-:a1 g1", "L1:b1 g1", "?2:a1 b1"),
        Known(None, "a0 g1"),
        names={1: "K1", 2: "K2", 3: "K3", 6: "L1", 7: "L2"},
    ),
    "everything in one line": Case(
        family(
            (
                feature("a", 2, "plugged", overlap=2),
                feature("b", 2, "soldered"),
                feature("d", 3, "consumable"),
                feature("e", 2, "riveted", group="cabinet"),
                feature("g", 2, "riveted", group="cabinet"),
                feature("v", 2, "soldered", role="variant"),
            ),
            versions("main", "a0 b0 d0 e0", "a1 b0 d1", "a1 b1 d2 e1"),
            last=6,
            cut_in_bounds=(CutInBound("a", "a0", "a1", "main", before=5),),
        ),
        main(6),
        known("1:a0 b0 e0 g1 v!", "?:a1 b! d0 g0", "-:a1 d1 e0 g1", "4:a0 d2 e1 v1", "5:b1 d2 e0 g0?", "6:a1 b~ d!"),
        Known("4", "a1 b0 d2 e1 g0 v1"),
    ),
    "everything in two lines": Case(
        family(
            (
                feature("a", 2, "plugged", overlap=2),
                feature("b", 2, "soldered"),
                feature("e", 2, "riveted", group="cabinet", lines=("main",)),
                feature("g", 2, "riveted", group="cabinet"),
            ),
            (
                *versions("main", "a0 b0 e0 g0", "a1 e0 g0", "a1 b1 e1 g0"),
                *versions("export", "a1 b1", "a0 b1"),
            ),
            last=4,
            lines=TWO_LINES,
        ),
        {"main": Axis(1, 4), "export": Axis(1, 4)},
        (
            Known("2", "a0 b! g0"),
            Known(None, "a1 b1 g1", "export"),
            Known("3", "a1 e- g1", "main"),
            Known("?", "a0 b1 e0"),
            Known("4", "a0 g1", "export"),
        ),
        Known(None, "a1 b1 e- g1"),
    ),
}
