"""What was seen on the bench set, as factors that multiply the evidence, per condition of the set."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from setwright.identity.assumptions import CONDITIONS, Assumptions
from setwright.identity.history import LineHistory
from setwright.identity.likelihood import table_for
from setwright.identity.model import Feature, Observation

CONDITION_COUNT = len(CONDITIONS)


@dataclass(frozen=True, slots=True)
class SeenFeature:
    """One feature of the bench set and what its observation says.

    likelihood : (3, states) P(seen | condition, factory state); ones where nothing was seen.
    altered, misread : (3, states) the parts of it in which the item was altered, or misread.
    rates : (3,) probability of alteration in each condition.
    informative : whether an observation counts here.
    """

    feature: Feature
    observation: Observation | None
    likelihood: np.ndarray
    altered: np.ndarray
    misread: np.ndarray
    rates: np.ndarray
    informative: bool

    def table(self, assumptions: Assumptions) -> np.ndarray:
        """(3, states + 1, states) P(seen | condition, factory state) for a look that is certain."""
        return np.stack([table_for(self.feature, "certain", rate, assumptions) for rate in self.rates])


def see(features: tuple[Feature, ...], latest: dict[str, Observation], assumptions: Assumptions) -> list[SeenFeature]:
    """Every feature with what was seen of it, in the order of `features`."""
    return [_see(feature, latest.get(feature.id), assumptions) for feature in features]


def _see(feature: Feature, observation: Observation | None, assumptions: Assumptions) -> SeenFeature:
    states = feature.all_states
    rates = np.array(assumptions.rates_by_condition(assumptions.alteration_rate(feature)))
    shape = (CONDITION_COUNT, len(states))
    if observation is None or observation.state is None or observation.serviced:
        none = np.zeros(shape)
        return SeenFeature(feature, observation, np.ones(shape), none, none, rates, informative=False)
    seen = states.index(observation.state) if observation.state in states else len(states)
    tables = [table_for(feature, observation.sure, rate, assumptions)[seen] for rate in rates]
    altered = rates[:, None] * table_for(feature, observation.sure, 1.0, assumptions)[seen]
    misread = (1.0 - rates[:, None]) * table_for(feature, observation.sure, 0.0, assumptions)[seen]
    if seen < len(states):
        misread[:, seen] = 0.0  # unaltered and read as it is
    return SeenFeature(feature, observation, np.stack(tables), altered, misread, rates, informative=True)


@dataclass(frozen=True, slots=True)
class LineFactors:
    """Logarithms of the bench set's factors in one line, condition by condition (first axis).

    constant : (3,) prior of the condition, items that look serviced, and every feature that has no change here.
    stage : (3, stages) all changing features together at each documented stage.
    rest : per block (3,) the changing features outside the block, while the set stands inside it.
    new, old : per block (3, m) each change of the block made, or not made yet.
    """

    constant: np.ndarray
    stage: np.ndarray
    rest: tuple[np.ndarray, ...]
    new: tuple[np.ndarray, ...]
    old: tuple[np.ndarray, ...]


def line_factors(history: LineHistory, seen: list[SeenFeature], assumptions: Assumptions) -> LineFactors:
    """Gather the factors of one line."""
    # In the history's order: sums in the order of a set would differ from process to process.
    changing = dict.fromkeys(change.feature for change in history.changes)
    with np.errstate(divide="ignore"):
        constant = np.log(np.array(assumptions.condition_prior))
        logs = {s.feature.id: np.log(s.likelihood) for s in seen}
        for s in seen:
            if s.observation is not None and s.observation.serviced:
                constant = constant + np.log(s.rates)
            if s.feature.id not in changing and s.informative:
                constant = constant + np.log((s.likelihood * factory_shares(s.feature, history)).sum(axis=1))
    index = {s.feature.id: {state: i for i, state in enumerate(s.feature.all_states)} for s in seen}

    def factor(feature: str, state: str) -> np.ndarray:
        return logs[feature][:, index[feature][state]]

    stage = np.stack(
        [sum((factor(f, stage.states[f]) for f in changing), np.zeros(CONDITION_COUNT)) for stage in history.stages],
        axis=1,
    )
    rest, new, old = [], [], []
    for block, at in zip(history.blocks, history.stages, strict=False):
        inside = {change.feature for change in block}
        outside = (factor(f, at.states[f]) for f in changing if f not in inside)
        rest.append(sum(outside, np.zeros(CONDITION_COUNT)))
        new.append(np.stack([factor(c.feature, c.to_state) for c in block], axis=1))
        old.append(np.stack([factor(c.feature, c.from_state) for c in block], axis=1))
    return LineFactors(constant, stage, tuple(rest), tuple(new), tuple(old))


def factory_shares(feature: Feature, history: LineHistory) -> np.ndarray:
    """(states,) factory states of a feature that has no change in the line.

    One state where the documents name it, or where the line lacks the feature; all equally likely for a
    variant and for a feature the line's documents never mention.
    """
    states = feature.all_states
    known = history.stages[0].states.get(feature.id)
    if known is None:
        built = np.full(len(states), 1.0 / len(states))
        if feature.lines is not None and len(states) > len(feature.states):
            # "absent" was added for other lines; sets of this line all left the factory with the feature.
            built = np.array([0.0] + [1.0 / len(feature.states)] * len(feature.states))
        return built
    return np.array([1.0 if state == known else 0.0 for state in states])
