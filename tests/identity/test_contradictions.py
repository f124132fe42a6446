"""Survivors that contradict each other by the hundred: evidence far beyond floating point still sums exactly.

Enumeration here keeps logarithms, because weights range over thousands of powers of e. As in the other enumeration,
nothing of the package's computation is used.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, field

import enumeration as by_hand
import numpy as np
import pytest

from setwright.identity import BenchSet, Family, Observation, Survivors, identify
from setwright.identity.model import NOT_SEEN, Feature, Version, seen_code

STATES = ("old", "new")
TOLERANCE = 1e-9


@dataclass
class Crowd:
    """So many survivors at one position, all showing one state of one feature, seen for certain."""

    count: int
    position: int
    change: int
    state: str


@dataclass
class Case:
    """Blocks of changes, one a two-state feature, on `last` positions."""

    sizes: list[int]
    last: int
    permanences: list[str]
    crowds: list[Crowd]
    seen: dict[int, str] = field(default_factory=dict)
    serial: int | None = None

    @property
    def owners(self) -> list[int]:
        return [block for block, size in enumerate(self.sizes) for _ in range(size)]

    @property
    def features(self) -> list[Feature]:
        return [Feature(f"f{i}", f"F{i}", STATES, permanence=kind) for i, kind in enumerate(self.permanences)]

    def answer(self):
        versions = tuple(
            Version(
                f"v{number}",
                f"V{number}",
                states={f"f{i}": STATES[owner < number] for i, owner in enumerate(self.owners)},
            )
            for number in range(len(self.sizes) + 1)
        )
        family = Family("family", "Family", tuple(self.features), versions, last_serial=self.last)
        total = sum(crowd.count for crowd in self.crowds)
        position = np.zeros(total, dtype=np.int64)
        seen = {f.id: np.full(total, NOT_SEEN, dtype=np.int16) for f in self.features}
        start = 0
        for crowd in self.crowds:
            rows = slice(start, start + crowd.count)
            position[rows] = crowd.position
            seen[f"f{crowd.change}"][rows] = seen_code(STATES.index(crowd.state), 0)
            start += crowd.count
        survivors = Survivors(tuple(f"s{i}" for i in range(total)), np.zeros(total, dtype=np.int64), position, seen)
        observations = tuple(Observation(f"f{i}", state) for i, state in self.seen.items())
        serial = None if self.serial is None else str(self.serial)
        return identify(family, BenchSet("bench", "family", serial, observations=observations), survivors, exact=True)


@dataclass
class Worlds:
    """Every possibility: cut-ins (n, changes), the set's place (n,), its condition (n,) and the weight (n,)."""

    cut_ins: np.ndarray
    place: np.ndarray
    condition: np.ndarray
    weight: np.ndarray


def log_seeing(feature: Feature, seen: str, built: str, rate: float) -> float:
    return math.log(by_hand.seeing(list(STATES), seen, built, rate, by_hand.MISREAD["certain"]))


def worlds_of(case: Case) -> Worlds:
    features = case.features
    evidence = np.zeros((len(features), case.last + 1))
    for crowd in case.crowds:
        feature = features[crowd.change]
        for cut_in in range(1, case.last + 1):
            built = STATES[crowd.position >= cut_in]
            evidence[crowd.change, cut_in] += crowd.count * log_seeing(
                feature, crowd.state, built, by_hand.rate_of(feature)
            )
    rates = [by_hand.rates_in_condition(by_hand.rate_of(f)) for f in features]
    places = [case.serial] if case.serial is not None else list(range(1, case.last + 1))
    rows, logs = [], []
    for windows, prior in by_hand.ordered_windows(len(case.sizes), 1, case.last):
        own = [windows[block] for block in case.owners]
        base = math.log(prior) - sum(math.log(end - start + 1) for start, end in own)
        for cut_ins in itertools.product(*[range(start, end + 1) for start, end in own]):
            history = base + sum(evidence[change, cut_in] for change, cut_in in enumerate(cut_ins))
            for place, (number, (condition, (share, _))) in itertools.product(
                places, enumerate(by_hand.CONDITIONS.items())
            ):
                log = history + math.log(share)
                for change, state in case.seen.items():
                    built = STATES[place >= cut_ins[change]]
                    log += log_seeing(features[change], state, built, rates[change][condition])
                rows.append((*cut_ins, place, number))
                logs.append(log)
    table = np.array(rows)
    weight = np.exp(np.array(logs) - max(logs))
    return Worlds(table[:, :-2], table[:, -2], table[:, -1], weight / weight.sum())


def check(case: Case) -> None:
    answer, worlds = case.answer(), worlds_of(case)
    made = worlds.place[:, None] >= worlds.cut_ins
    for number, change in enumerate(answer.changes):
        expected = [worlds.weight[worlds.cut_ins[:, number] == t].sum() for t in range(1, case.last + 1)]
        assert change.mass == pytest.approx(expected, abs=TOLERANCE)
        assert change.applied_probability == pytest.approx(worlds.weight[made[:, number]].sum(), abs=TOLERANCE)
    expected = [worlds.weight[worlds.place == t].sum() for t in range(1, case.last + 1)]
    assert answer.axes[0].position_mass == pytest.approx(expected, abs=TOLERANCE)
    for number, condition in enumerate(by_hand.CONDITIONS):
        share = worlds.weight[worlds.condition == number].sum()
        assert answer.condition[condition] == pytest.approx(share, abs=TOLERANCE)
    entries: dict[tuple, float] = {}
    for row, weight in zip(made, worlds.weight, strict=True):
        key = by_hand.entry_of(frozenset(np.flatnonzero(row).tolist()), case.owners, len(case.sizes))
        entries[key] = entries.get(key, 0.0) + weight
    for entry in answer.verdict:
        key = ("stage", int(entry.version[1:])) if entry.version else ("gap", int(entry.between[0][1:]))
        assert entry.probability == pytest.approx(entries.get(key, 0.0), abs=TOLERANCE)


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("most", [30, 300, 3000])
@pytest.mark.parametrize("seed", range(20))
def test_crowds_of_any_opinion(seed: int, most: int) -> None:
    rng = np.random.default_rng([most, seed])
    sizes = rng.integers(1, 3, size=rng.integers(1, 4)).tolist()
    last, changes = int(rng.integers(2, 6)), sum(sizes)
    crowds = [
        Crowd(
            int(np.exp(rng.uniform(0.0, np.log(most)))),
            int(rng.integers(1, last + 1)),
            int(rng.integers(changes)),
            str(rng.choice(STATES)),
        )
        for _ in range(rng.integers(0, 7))
    ]
    check(
        Case(
            sizes,
            last,
            [str(kind) for kind in rng.choice(list(by_hand.RATES), size=changes)],
            crowds,
            {i: str(rng.choice([*STATES, "else"])) for i in range(changes) if rng.random() < 0.7},
            None if rng.random() < 0.4 else int(rng.integers(1, last + 1)),
        )
    )


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("seed", range(16))
def test_two_changes_that_draw_their_window_apart(seed: int) -> None:
    """One change of the block wants to be early, the other late, and what stands before and behind the block leaves
    room for either, not for both: windows far below the best evidence of one change share the probability."""
    rng = np.random.default_rng([7, seed])
    crowd = int(rng.choice([20, 200, 400]))

    def about(count: float) -> int:
        return int(count) + int(rng.integers(-2, 3))

    crowds = [
        Crowd(about(1.1 * crowd), 3, 0, "old"),
        Crowd(about(1.1 * crowd), 3, 3, "new"),
        Crowd(about(crowd), 3, 1, "old"),
        Crowd(about(crowd), 3, 2, "new"),
        Crowd(int(rng.integers(1, 4)), 1, 1, str(rng.choice(STATES))),
        Crowd(int(rng.integers(1, 4)), 4, 2, str(rng.choice(STATES))),
    ]
    seen = {i: str(rng.choice([*STATES, "else"])) for i in range(4) if rng.random() < 0.7}
    serial = None if rng.random() < 0.4 else int(rng.integers(1, 6))
    check(Case([1, 2, 1], 5, ["stamped"] * 4, crowds, seen, serial))
