"""Where versions have no order, the model is a naive Bayes classifier, and agrees with a general one.

Source: scikit-learn's CategoricalNB. Every version is the only one of its own line, no serial is given, and the prior
of the set's condition sits wholly on "repaired", in which items are altered independently at their marginal rates.
What is left is one class a version, all equally likely, and one categorical variable a feature.

The classifier is fitted, without smoothing, to a whole weighted population: every combination of things seen, each
weighing as much as the model's definition (written out here, from no table of the package) gives it in that version.
"""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from sklearn.naive_bayes import CategoricalNB

from setwright.identity import Assumptions, BenchSet, Family, Observation, identify
from setwright.identity.model import Feature, Line, Version

ONE_CONDITION = Assumptions(condition_prior=(0.0, 1.0, 0.0))
RATES = {"stamped": 0.005, "riveted": 0.02, "soldered": 0.06, "plugged": 0.15, "consumable": 0.35}
MISREAD = {"certain": 0.02, "likely": 0.08, "guess": 0.25}


def probabilities_of_seeing(states: int, built: int, rate: float, misread: float) -> np.ndarray:
    """(states + 1,) P(seen | built), the last for anything not listed.

    Altered items: 0.3 something not listed, 0.7 shared by the listed states, each twice as likely as the one before.
    """
    listed = np.array([2.0**k for k in range(states)])
    altered = np.append(0.7 * listed / listed.sum(), 0.3)
    read = np.array([1.0 - misread if k == built else misread / (states - 1) for k in range(states)] + [0.0])
    return rate * altered + (1.0 - rate) * read


class Case:
    """Versions that are lines of their own, and how surely each feature was seen."""

    def __init__(self, seed: int, versions: int, features: int) -> None:
        rng = np.random.default_rng([1763, seed])
        self.features = [
            Feature(
                f"f{i}",
                f"F{i}",
                tuple(f"f{i}-{k}" for k in range(rng.integers(2, 4))),
                permanence=str(rng.choice(list(RATES))),
                altered=float(rng.uniform(0.01, 0.6)) if rng.random() < 0.3 else None,
            )
            for i in range(features)
        ]
        self.built = [[int(rng.integers(len(f.states))) for f in self.features] for _ in range(versions)]
        self.sure = [str(rng.choice(list(MISREAD))) for _ in self.features]
        lines = [f"line-{v}" for v in range(versions)]
        states = [{f.id: f.states[k] for f, k in zip(self.features, built, strict=True)} for built in self.built]
        self.family = Family(
            "family",
            "Family",
            tuple(self.features),
            tuple(
                Version(f"v{v}", f"V{v}", line, states=s) for v, (line, s) in enumerate(zip(lines, states, strict=True))
            ),
            lines=tuple(Line(line) for line in lines),
        )
        self.tables = [
            [
                probabilities_of_seeing(
                    len(f.states), k, RATES[f.permanence] if f.altered is None else f.altered, MISREAD[sure]
                )
                for f, k, sure in zip(self.features, built, self.sure, strict=True)
            ]
            for built in self.built
        ]

    def classifier(self, columns: list[int]) -> CategoricalNB:
        """Fitted to every combination of what may be seen at `columns`, weighted, version by version."""
        sights = np.array(list(itertools.product(*[range(len(self.features[c].states) + 1) for c in columns])))
        weights = [np.prod([tables[c][sights[:, i]] for i, c in enumerate(columns)], axis=0) for tables in self.tables]
        classes = np.repeat(np.arange(len(self.tables)), len(sights))
        return CategoricalNB(alpha=0.0, force_alpha=True).fit(
            np.tile(sights, (len(self.tables), 1)), classes, sample_weight=np.concatenate(weights)
        )


@pytest.mark.parametrize("seed", range(12))
def test_the_verdict_is_the_classifiers(seed: int) -> None:
    rng = np.random.default_rng([seed, 1])
    case = Case(seed, versions=int(rng.integers(2, 8)), features=5)
    columns = sorted(rng.choice(5, size=int(rng.integers(1, 6)), replace=False).tolist())
    classifier = case.classifier(columns)
    sight = [int(rng.integers(len(case.features[c].states) + 1)) for c in columns]
    expected = classifier.predict_proba([sight])[0]
    observations = tuple(
        Observation(case.features[c].id, (*case.features[c].states, "none of them")[k], case.sure[c])
        for c, k in zip(columns, sight, strict=True)
    )
    answer = identify(case.family, BenchSet("b", "family", observations=observations), assumptions=ONE_CONDITION)
    assert len(answer.verdict) == len(expected)
    for entry in answer.verdict:
        assert entry.version is not None
        assert entry.probability == pytest.approx(expected[int(entry.version[1:])], abs=1e-9)
    assert answer.condition == pytest.approx({"untouched": 0.0, "repaired": 1.0, "heavily rebuilt": 0.0}, abs=1e-12)


@pytest.mark.parametrize("seed", range(6))
def test_what_was_not_seen_is_predicted_as_the_classes_have_it(seed: int) -> None:
    """The factory state of an unseen feature: the classifier's probabilities, added up by the versions' states."""
    case = Case(seed + 50, versions=6, features=5)
    classifier = case.classifier([0, 1, 2])
    sight = [0, 1, 1]
    expected = classifier.predict_proba([sight])[0]
    observations = tuple(
        Observation(f.id, f.states[k], sure) for f, k, sure in zip(case.features[:3], sight, case.sure, strict=False)
    )
    answer = identify(case.family, BenchSet("b", "family", observations=observations), assumptions=ONE_CONDITION)
    for prediction in answer.predicted:
        column = [f.id for f in case.features].index(prediction.feature)
        for k, state in enumerate(case.features[column].states):
            share = sum(p for p, built in zip(expected, case.built, strict=True) if built[column] == k)
            assert prediction.states[state] == pytest.approx(share, abs=1e-9)
