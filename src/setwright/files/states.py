"""What was written of one feature, read as one of its states, as something else, or as drift."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from setwright.files.problems import quoted
from setwright.files.suggest import OTHER, near_miss
from setwright.identity.model import ABSENT, Feature
from setwright.notation import NotationError, parse_part_value

ROUNDING = 1e-9
"""Two ways of writing one value may differ by this in its logarithm."""
_BEGINS_AS_NUMBER = re.compile(r"\s*[+-]?\s*[.,]?[\d½¼¾⅓⅔⅛]")


class StateProblem(ValueError):
    """Text that is refused as a state; `suggestion` is the listed state that was probably meant."""

    def __init__(self, message: str, suggestion: str | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.suggestion = suggestion


@dataclass(frozen=True, slots=True)
class SeenState:
    """`state` is a listed state or, where `listed` is false, other text; None where a measured value has drifted."""

    state: str | None
    listed: bool
    drift: bool = False


def read_value(feature: Feature, text: str, m_means_thousand: bool) -> float:
    """The SI value of a numeric feature's state; NotationError for what is no such value."""
    return parse_part_value(text, feature.unit, m_means_thousand=m_means_thousand).value


def apart(a: float, b: float) -> float:
    """How far two values lie apart: |ln(a/b)|."""
    return abs(math.log(a / b))


def read_state(feature: Feature, text: str, *, measured: bool = False, m_means_thousand: bool = False) -> SeenState:
    """Read what was written of a feature.

    A listed state is itself. A number matches the listed state v with |ln(number/v)| <= ln(1 + tolerance);
    one that matches none is other text if it was marked on the part, drift if it was measured. A near miss
    of a listed state raises StateProblem, `other: …` insists that it is none. Everything else is other text.
    """
    if text in feature.all_states:
        return SeenState(text, listed=True)
    if text.casefold().startswith(OTHER):
        return _insisted(feature, text[len(OTHER) :].strip())
    if feature.unit is not None and _BEGINS_AS_NUMBER.match(text):
        return _numeric(feature, text, measured, m_means_thousand)
    meant = near_miss(text, feature.all_states)
    if meant is not None:
        raise StateProblem(
            f'{quoted(text)} is not a listed state but close to one; write that, or "{OTHER} {text.strip()}" '
            "if it is really something else",
            meant,
        )
    if not text.strip():
        raise StateProblem("the state is blank; leave it out where nothing was seen")
    return SeenState(text.strip(), listed=False)


def _insisted(feature: Feature, text: str) -> SeenState:
    if not text:
        raise StateProblem(f'"{OTHER}" must be followed by what was seen')
    if text in feature.all_states:
        raise StateProblem(f'{quoted(text)} is a listed state; leave out "{OTHER}"', text)
    return SeenState(text, listed=False)


def _numeric(feature: Feature, text: str, measured: bool, m_means_thousand: bool) -> SeenState:
    try:
        value = read_value(feature, text, m_means_thousand)
    except NotationError as error:
        raise StateProblem(
            f'{error.message}; if it is something other than a value, write "{OTHER} {text.strip()}"', error.suggestion
        ) from error
    reach = math.log1p(feature.tolerance) + ROUNDING
    for state, listed in zip(feature.states, feature.values, strict=True):
        if listed is not None and apart(value, listed) <= reach:
            return SeenState(state, listed=True)
    if measured:
        return SeenState(None, listed=False, drift=True)
    return SeenState(text.strip(), listed=False)


def listed_state(feature: Feature, text: str, *, m_means_thousand: bool = False) -> str:
    """The listed state that a family file names; another way of writing the same value is the same state.

    Raises StateProblem where it is not listed.
    """
    if text in feature.all_states:
        return text
    if feature.unit is not None and _BEGINS_AS_NUMBER.match(text):
        try:
            value = read_value(feature, text, m_means_thousand)
        except NotationError as error:
            raise StateProblem(error.message, error.suggestion) from error
        for state, listed in zip(feature.states, feature.values, strict=True):
            if listed is not None and apart(value, listed) <= ROUNDING:
                return state
    known = ", ".join(quoted(state) for state in feature.all_states)
    message = f"{quoted(text)} is not among the states of {feature.id}: {known}"
    if text == ABSENT:
        message += f'; add "{ABSENT}" to its states if sets without it are documented'
    raise StateProblem(message, near_miss(text, feature.all_states))
