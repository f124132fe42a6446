"""This set's column of the grid: what was seen, held against the leading verdict."""

from __future__ import annotations

from collections.abc import Mapping

from setwright.identity.answer import Answer, ObservationAnswer, VerdictEntry
from setwright.identity.model import BenchSet, Family, Observation
from setwright.workbench.families.grid import SetCell, SetKind
from setwright.workbench.site.words import SURE_WORDS, percent

LIKELY = 0.5
"""A reading is called altered or misread from here on."""


def set_cells(family: Family, bench_set: BenchSet, answer: Answer) -> dict[str, SetCell]:
    """The cells of one set by feature id: seen ones against the leading verdict, unseen ones foretold."""
    leading = answer.verdict[0]
    seen = bench_set.latest
    elsewhere = {group.group: group.elsewhere_probability for group in answer.groups}
    weights = {item.feature: item for item in answer.observations}
    cells = {
        feature: _seen_cell(family, leading, observation, weights.get(feature), elsewhere)
        for feature, observation in seen.items()
    }
    for prediction in answer.predicted:
        if prediction.feature not in cells and prediction.states:
            cells[prediction.feature] = _predicted_cell(prediction.states)
    return cells


def _predicted_cell(states: Mapping[str, float]) -> SetCell:
    state, probability = max(states.items(), key=lambda item: item[1])
    return SetCell(state, "predicted", f"foretold, {percent(probability)}")


def _seen_cell(
    family: Family,
    leading: VerdictEntry,
    observation: Observation,
    weight: ObservationAnswer | None,
    elsewhere: Mapping[str, float],
) -> SetCell:
    state = observation.state
    text = observation.written or state or ""
    if observation.cannot_tell:
        return SetCell("cannot tell", "nothing", "looked at, not decidable")
    if observation.drift:
        return SetCell(text, "nothing", "measured; has drifted from every listed value")
    if observation.serviced:
        return SetCell(text, "nothing", "looks serviced, so it says nothing about the factory state")
    if state is None:
        return SetCell(text, "nothing")
    kind, note = _standing(family, leading, observation.feature, state)
    if kind == "fits" and not _as_documented(family, leading, observation.feature, state):
        kind, note = "seen", _unlike_the_version(family, observation.feature, elsewhere)
    if kind == "conflict" and weight is not None:
        note = f"does not fit: {_suspicion(weight)}"
    sure = SURE_WORDS.get(observation.sure, "")
    return SetCell(text, kind, f"{note} ({sure})" if sure else note, state)


def _as_documented(family: Family, leading: VerdictEntry, feature: str, state: str) -> bool:
    """Whether one of the versions that the verdict names has this state, or all of them are silent about it."""
    names = leading.between or ((leading.version,) if leading.version else ())
    said = {_version_state(family, name, feature) for name in names} - {None}
    return not said or state in said


def _unlike_the_version(family: Family, feature: str, elsewhere: Mapping[str, float]) -> str:
    """Why a state can be as built although the version has another."""
    group = family.feature(feature).group
    chance = elsewhere.get(group, 0.0)
    if chance >= LIKELY:
        return f"not of this set: the {group} came from another ({percent(chance)})"
    return "not as this version has it, but probably built so"


def _suspicion(weight: ObservationAnswer) -> str:
    altered, misread = weight.altered_probability, weight.misread_probability
    if max(altered, misread) < LIKELY:
        return f"altered {percent(altered)}, misread {percent(misread)}"
    if altered >= misread:
        return f"probably altered ({percent(altered)})"
    return f"probably misread ({percent(misread)})"


def _standing(family: Family, leading: VerdictEntry, feature: str, state: str) -> tuple[SetKind, str]:
    """How a seen state stands to the leading verdict, as kind and words."""
    documented = any(feature in version.states for version in family.versions_of(leading.line))
    if feature not in leading.states or (not documented and leading.states[feature] == state):
        return "seen", "no document says which versions have it"
    if leading.states[feature] != state:
        return "conflict", "does not fit"
    if leading.between is None:
        return "fits", "fits"
    before, after = (_version_state(family, version, feature) for version in leading.between)
    if before == after:
        return "fits", "fits both"
    if state == before:
        return "before", "still as the version before"
    if state == after:
        return "after", "already as the version after"
    return "fits", "fits in between"


def _version_state(family: Family, version: str, feature: str) -> str | None:
    return next(v.states.get(feature) for v in family.versions if v.id == version)
