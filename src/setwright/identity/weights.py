"""What each observation says for the leading verdict, and whether the item was altered or misread."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from setwright.identity.answer import ObservationAnswer
from setwright.identity.factors import SeenFeature
from setwright.identity.findings import LineFindings


def weigh_observations(
    lines: Sequence[LineFindings], seen: list[SeenFeature], leading: tuple[int, int]
) -> tuple[ObservationAnswer, ...]:
    """One answer for each observation that counts, the most telling first.

    leading : line and entry (stages first, then gaps) of the leading verdict.

    The weight of evidence is 10 log10 of the change in its odds when the observation is added to all the
    others. Without the observation an entry's mass is the mass it has, divided by the observation's
    likelihood at each condition and factory state.
    """
    answers = []
    for s in seen:
        observation = s.observation
        if observation is None or not (s.informative or observation.serviced):
            continue
        state = observation.state if observation.state is not None else observation.written
        if not s.informative:
            answers.append(ObservationAnswer(s.feature.id, state, 0.0, 1.0, 0.0))
            continue
        masses = [line.state_masses(s) for line in lines]
        with_it = _odds(masses, leading)
        without = _odds([_divided(mass, s.likelihood) for mass in masses], leading)
        by_state = sum(mass.sum(axis=0) for mass in masses)
        total = by_state.sum()
        altered = float((by_state * _divided(s.altered, s.likelihood)).sum() / total)
        misread = float((by_state * _divided(s.misread, s.likelihood)).sum() / total)
        decibans = 10.0 * float(np.log10(with_it / without)) if 0.0 < without < np.inf and with_it < np.inf else 0.0
        answers.append(ObservationAnswer(s.feature.id, state, decibans, altered, misread))
    answers.sort(key=lambda answer: -abs(answer.decibans))
    return tuple(answers)


def _odds(masses: list[np.ndarray], leading: tuple[int, int]) -> float:
    """Odds of the leading entry; infinite where nothing else is possible."""
    line, entry = leading
    own = masses[line][entry].sum()
    others = sum(mass.sum() for i, mass in enumerate(masses) if i != line)
    others += np.delete(masses[line], entry, axis=0).sum()
    with np.errstate(over="ignore"):
        return float(own / others) if others > 0.0 else np.inf


def _divided(mass: np.ndarray, likelihood: np.ndarray) -> np.ndarray:
    """mass / likelihood where there is any mass."""
    mass = np.asarray(mass, dtype=float)
    quotient: np.ndarray = np.divide(mass, likelihood, out=np.zeros_like(mass), where=likelihood > 0.0)
    return quotient
