"""Where the model is a left-to-right chain, it agrees with a general hidden-Markov library.

Source: hmmlearn's CategoricalHMM (its forward-backward recursion and its log-likelihood), which knows nothing of
serials, cut-ins or conditions. With one_stroke = 1 every block of changes is made at one position, and all ordered
tuples of positions, ties allowed, are equally likely. A tuple is the same as a path of stages, one at each position,
that never goes back and has reached the last stage at the last position. The library's chain gives every such path
the same weight: from stage i it goes to each stage j >= i with one and the same probability, and with what is left
over into a dead stage that shows nothing of what was seen; behind the last position only the last stage goes on to
the end mark.

The likelihoods are written out here from the model's definition; they come from no table of the package.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest
from hmmlearn.hmm import CategoricalHMM

from setwright.identity import Assumptions, BenchSet, Family, Observation, Survivors, identify
from setwright.identity.model import NOT_SEEN, SURENESSES, Feature, Version, seen_code

TOLERANCE = 1e-9
AT_ONE_STROKE = Assumptions(one_stroke=1.0)

RATES = {"stamped": 0.005, "riveted": 0.02, "soldered": 0.06, "plugged": 0.15, "consumable": 0.35}
MISREAD = {"certain": 0.02, "likely": 0.08, "guess": 0.25}
CONDITION_PRIOR = np.array([0.45, 0.40, 0.15])
CONDITION_ODDS = np.array([0.2, 1.0, 6.0])
OTHER = "something else"

Sight = dict[str, tuple[str, str]]


def seeing(states: tuple[str, ...], seen: str, built: str, rate: float, misread: float) -> float:
    """P(seen | built): altered at `rate` to a listed state in 7 of 10 cases, each twice as likely as the one before
    it, else to something not listed; unaltered and misread as any other listed state."""
    if seen not in states:
        return rate * 0.3
    altered = rate * 0.7 * 2.0 ** states.index(seen) / (2.0 ** len(states) - 1.0)
    read = 1.0 - misread if seen == built else misread / (len(states) - 1)
    return altered + (1.0 - rate) * read


@cache
def rates_in_condition(rate: float) -> np.ndarray:
    """Bisection on t: odds of alteration m t rate / (1 - rate) whose mean over the conditions is `rate`."""
    low, high = 1e-6, 1e6
    for _ in range(200):
        t = (low * high) ** 0.5
        odds = CONDITION_ODDS * t * rate / (1.0 - rate)
        low, high = (t, high) if CONDITION_PRIOR @ (odds / (1.0 + odds)) < rate else (low, t)
    return odds / (1.0 + odds)


@dataclass
class Case:
    """A family of one line, survivors at positions of their own, and what was seen of the bench set."""

    family: Family
    stages: list[dict[str, str]]
    last: int
    survivors: dict[int, Sight]
    bench: Sight

    def at_marginal_rate(self, sight: Sight) -> np.ndarray:
        """(stages,) likelihood of a survivor, its items altered independently."""
        likelihood = np.ones(len(self.stages))
        for feature_id, (state, sure) in sight.items():
            feature = self.family.feature(feature_id)
            rate, misread = RATES[feature.permanence], MISREAD[sure]
            for number, stage in enumerate(self.stages):
                likelihood[number] *= seeing(feature.states, state, stage[feature_id], rate, misread)
        return likelihood

    def with_condition(self, sight: Sight) -> np.ndarray:
        """(stages,) likelihood of the bench set, summed over its condition."""
        total = np.zeros(len(self.stages))
        for condition, prior in enumerate(CONDITION_PRIOR):
            for number, stage in enumerate(self.stages):
                parts = [
                    seeing(
                        self.family.feature(f).states,
                        state,
                        stage[f],
                        rates_in_condition(RATES[self.family.feature(f).permanence])[condition],
                        MISREAD[sure],
                    )
                    for f, (state, sure) in sight.items()
                ]
                total[number] += prior * np.prod(parts)
        return total

    def package_survivors(self) -> Survivors:
        rows = list(self.survivors.items())
        seen = {}
        for feature in self.family.features:
            codes = np.full(len(rows), NOT_SEEN, dtype=np.int16)
            for i, (_, sight) in enumerate(rows):
                if feature.id in sight:
                    state, sure = sight[feature.id]
                    index = feature.states.index(state) if state in feature.states else len(feature.states)
                    codes[i] = seen_code(index, SURENESSES.index(sure))
            seen[feature.id] = codes
        return Survivors(
            ids=tuple(f"s{i}" for i in range(len(rows))),
            line=np.zeros(len(rows), dtype=np.int64),
            position=np.array([position for position, _ in rows], dtype=np.int64),
            seen=seen,
        )

    def bench_set(self, serial: int | None) -> BenchSet:
        observations = tuple(Observation(feature, state, sure) for feature, (state, sure) in self.bench.items())
        return BenchSet("bench", "family", None if serial is None else str(serial), observations=observations)


def draw_case(seed: int, last: int, survivors: int) -> Case:
    """Three to five versions, blocks of one to three changes, some features changing more than once or back."""
    rng = np.random.default_rng([1851, seed])
    versions = int(rng.integers(3, 6))
    features = [
        Feature(f"f{i}", f"F{i}", tuple(f"f{i}-{k}" for k in range(rng.integers(2, 4))), permanence=str(kind))
        for i, kind in enumerate(rng.choice(list(RATES), size=6))
    ]
    stages = [{f.id: f.states[0] for f in features}]
    for _ in range(versions - 1):
        after = dict(stages[-1])
        for i in rng.choice(len(features), size=rng.integers(1, 4), replace=False):
            after[features[i].id] = str(rng.choice([s for s in features[i].states if s != after[features[i].id]]))
        stages.append(after)
    family = Family(
        "family",
        "Family",
        tuple(features),
        tuple(Version(f"v{i}", f"Version {i}", states=stage) for i, stage in enumerate(stages)),
        last_serial=last,
    )

    def sight() -> Sight:
        return {
            f.id: (str(rng.choice([*f.states, OTHER])), str(rng.choice(SURENESSES)))
            for f in features
            if rng.random() < 0.7
        }

    places = rng.choice(np.arange(1, last + 1), size=survivors, replace=False)
    return Case(family, stages, last, {int(place): sight() for place in places}, sight())


def library_chain(case: Case, place: int) -> tuple[CategoricalHMM, np.ndarray]:
    """The chain with the bench set at `place`, and the run of symbols it has to explain.

    Symbols: 0 nobody known at this position, 1 … the survivors, then the bench set (with whoever shares its
    position), the end mark, and one for everything else.
    """
    count = len(case.stages)
    dead, end = count, count + 1
    sights = list(case.survivors)
    symbols = len(sights) + 4
    bench, mark, rest = symbols - 3, symbols - 2, symbols - 1
    emission = np.zeros((count + 2, symbols))
    for stage in range(count):
        emission[stage, 0] = 0.1
    for symbol, position in enumerate(sights, start=1):
        emission[:count, symbol] = 0.5 / symbols * case.at_marginal_rate(case.survivors[position])
    together = case.with_condition(case.bench)
    if place in case.survivors:
        together = together * case.at_marginal_rate(case.survivors[place])
    emission[:count, bench] = 0.5 / symbols * together
    emission[:count, rest] = 1.0 - emission[:count].sum(axis=1)
    emission[dead, rest] = emission[end, mark] = 1.0
    step = 1.0 / (count + 1)
    transition = np.zeros((count + 2, count + 2))
    for stage in range(count):
        transition[stage, stage:count] = step
        transition[stage, dead] = 1.0 - step * (count - stage)
    transition[count - 1, [dead, end]] = transition[count - 1, dead] - step, step
    transition[dead, dead] = transition[end, end] = 1.0
    chain = CategoricalHMM(n_components=count + 2, n_features=symbols)
    chain.startprob_ = np.append(np.full(count, 1.0 / count), [0.0, 0.0])
    chain.transmat_ = transition
    chain.emissionprob_ = emission
    seen = np.zeros(case.last + 1, dtype=int)
    for symbol, position in enumerate(sights, start=1):
        seen[position - 1] = symbol
    seen[place - 1] = bench
    seen[-1] = mark
    return chain, seen[:, None]


def stages_by_library(case: Case, place: int) -> tuple[np.ndarray, float]:
    """(positions, stages) probability of each stage at each position, and the log-likelihood."""
    chain, seen = library_chain(case, place)
    score, posterior = chain.score_samples(seen)
    return posterior[:-1, : len(case.stages)], float(score)


def check(case: Case, serial: int | None, weights: dict[int, float], stages: dict[int, np.ndarray]) -> None:
    """Compare verdict, cut-ins and place; `weights` and `stages` by place of the bench set."""
    answer = identify(
        case.family, case.bench_set(serial), case.package_survivors(), exact=True, assumptions=AT_ONE_STROKE
    )
    verdict = sum(weight * stages[place][place - 1] for place, weight in weights.items())
    for entry in answer.verdict:
        expected = 0.0 if entry.version is None else verdict[int(entry.version[1:])]
        assert entry.probability == pytest.approx(expected, abs=TOLERANCE)
    everywhere = sum(weight * stages[place] for place, weight in weights.items())
    # Block j is made by position t if the stage there is beyond j.
    made_by = 1.0 - np.cumsum(everywhere, axis=1)[:, :-1]
    at = np.diff(made_by, axis=0, prepend=0.0)
    for change in answer.changes:
        assert len(change.mass) == case.last
        assert change.mass == pytest.approx(at[:, change.block - 1], abs=TOLERANCE)
    places = np.array([weights.get(place, 0.0) for place in range(1, case.last + 1)])
    assert answer.axes[0].position_mass == pytest.approx(places, abs=TOLERANCE)


SIZES = [(12, 3), (30, 8), (60, 15), (100, 40), (300, 30)]


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize(("last", "survivors"), SIZES)
def test_a_set_of_known_serial(seed: int, last: int, survivors: int) -> None:
    case = draw_case(seed, last, survivors)
    place = int(np.random.default_rng([seed, 2]).integers(1, last + 1))
    stages, _ = stages_by_library(case, place)
    assert stages.sum(axis=1) == pytest.approx(np.ones(last))
    check(case, place, {place: 1.0}, {place: stages})


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize(("last", "survivors"), SIZES[:3])
def test_a_set_of_unknown_serial(seed: int, last: int, survivors: int) -> None:
    """The library is asked once for every place, and its likelihoods weigh the places."""
    case = draw_case(seed + 20, last, survivors)
    stages, scores = {}, {}
    for place in range(1, last + 1):
        stages[place], scores[place] = stages_by_library(case, place)
        # Whoever shares the bench set's position was given one emission less; the rest is common to all places.
        scores[place] += np.log(_other_symbol(case, place))
    top = max(scores.values())
    weights = {place: float(np.exp(score - top)) for place, score in scores.items()}
    total = sum(weights.values())
    check(case, None, {place: weight / total for place, weight in weights.items()}, stages)


def _other_symbol(case: Case, place: int) -> float:
    """What the symbol that the bench set's stands in for would have cost."""
    return 0.5 / (len(case.survivors) + 4) if place in case.survivors else 0.1
