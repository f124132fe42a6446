"""What one set has at the features that a circuit names: as seen, else as it most probably left the factory."""

from __future__ import annotations

from setwright.circuits import Circuit, SeenState
from setwright.identity import Answer, BenchSet, Family
from setwright.identity.model import ABSENT, Feature, Observation
from setwright.notation import NotationError, parse_part_value


def features_named(circuit: Circuit) -> tuple[str, ...]:
    """The features that parts and tubes of a circuit name, each once."""
    named = [*(part.feature for part in circuit.parts), *(tube.feature for tube in circuit.tubes)]
    return tuple(dict.fromkeys(feature for feature in named if feature is not None))


def unseen_features(circuit: Circuit, bench: BenchSet) -> tuple[str, ...]:
    """Those of them that were not seen, for which the factory state is asked."""
    seen = bench.latest
    return tuple(f for f in features_named(circuit) if f not in seen or not _tells(seen[f]))


def states_of(circuit: Circuit, family: Family, bench: BenchSet, answer: Answer | None) -> dict[str, SeenState]:
    """The state of every feature that a circuit names, by feature.

    answer : identity's, for features that were not seen; without it these are left out, and keep their drawn value.
    """
    features = {feature.id: feature for feature in family.features}
    predicted = {item.feature: item.states for item in answer.predicted} if answer is not None else {}
    found: dict[str, SeenState] = {}
    for name in features_named(circuit):
        feature, seen = features[name], bench.latest.get(name)
        if seen is not None and _tells(seen):
            state = _seen(feature, seen)
            if state is not None:
                found[name] = state
        elif predicted.get(name):
            state_name, share = max(predicted[name].items(), key=lambda item: item[1])
            if state_name in feature.all_states:
                how = f"most probable factory state, {100.0 * share:.0f} %"
                found[name] = SeenState(name, state_name, _value(feature, state_name), feature.unit, how)
    return found


def _tells(seen: Observation) -> bool:
    return not seen.cannot_tell and bool(seen.written or seen.state)


def _seen(feature: Feature, seen: Observation) -> SeenState | None:
    """A listed state with its value; of another value the one written; None for other text that is no value."""
    if seen.state in feature.all_states:
        assert seen.state is not None
        return SeenState(feature.id, seen.state, _value(feature, seen.state), feature.unit)
    words = seen.written or seen.state or ""
    if feature.unit is None:
        return SeenState(feature.id, words)
    try:
        return SeenState(feature.id, words, parse_part_value(words, feature.unit).value, feature.unit)
    except NotationError:
        return None


def _value(feature: Feature, state: str) -> float | None:
    if feature.unit is None or state == ABSENT:
        return None
    return feature.values[feature.states.index(state)]
