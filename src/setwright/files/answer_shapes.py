"""The shape of the machine-readable identity answer, for its JSON Schema. Further keys may be added to it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

Probability = Annotated[float, Field(ge=0, le=1)]


class AnswerShape(BaseModel):
    """An object of the answer: these keys are always there, others may be."""

    model_config = ConfigDict(strict=True, extra="allow")


class IntervalShape(AnswerShape):
    """A central range holding `level` of the probability, and its median."""

    low: float
    median: float
    high: float
    level: Probability


class VerdictShape(AnswerShape):
    """One line and documented version, or one line and gap between two versions."""

    label: str
    line: str
    version: str | None
    between: Annotated[list[str], Field(min_length=2, max_length=2)] | None
    probability: Probability
    applied: dict[str, Probability]
    states: dict[str, str]


class ChangeShape(AnswerShape):
    """One change of the production run."""

    id: str
    feature: str
    from_state: Annotated[str, Field(alias="from")]
    to_state: Annotated[str, Field(alias="to")]
    line: str
    block: int | None
    cut_in: IntervalShape
    applied_probability: Probability


class ObservationAnswerShape(AnswerShape):
    """What one observation weighs."""

    feature: str
    state: str
    decibans: float
    altered_probability: Probability
    misread_probability: Probability


class ConditionShape(AnswerShape):
    """How much was altered in the set as a whole."""

    untouched: Probability
    repaired: Probability
    heavily_rebuilt: Annotated[Probability, Field(alias="heavily rebuilt")]


class GroupShape(AnswerShape):
    """A group of features that may come from another set."""

    group: str
    elsewhere_probability: Probability
    serial: IntervalShape


class PredictedShape(AnswerShape):
    """The factory state of a feature that was not seen."""

    feature: str
    states: dict[str, Probability]


class LookShape(AnswerShape):
    """One further look."""

    feature: str
    bits: float
    minutes: float
    bits_per_minute: float
    access: str


class BatchShape(AnswerShape):
    """Looks of one access that are best made together."""

    access: str
    features: list[str]
    bits: float
    minutes: float
    bits_per_minute: float
    cautions: list[str]


class MisfitShape(AnswerShape):
    """How well any documented history explains the set."""

    p_value: Probability


class LearnedShape(AnswerShape):
    """A rate learnt from the survivors."""

    what: str
    value: float
    low: float
    high: float


class MethodShape(AnswerShape):
    """How the answer was computed."""

    kind: Annotated[Literal["exact", "weighted", "sampled"], Field(alias="class")]
    draws: int | None
    effective_draws: float | None
    seed: int


class IdentityAnswerShape(AnswerShape):
    """The whole identity answer for one set."""

    format: Literal["setwright-identity/1"]
    family: str
    set: str
    verdict: list[VerdictShape]
    changes: list[ChangeShape]
    observations: list[ObservationAnswerShape]
    condition: ConditionShape
    groups: list[GroupShape]
    predicted: list[PredictedShape]
    next: list[LookShape]
    batches: list[BatchShape]
    serial: IntervalShape
    misfit: MisfitShape
    learned: list[LearnedShape]
    explanations: list[str]
    warnings: list[str]
    method: MethodShape
