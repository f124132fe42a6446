"""The shape of the machine-readable identity answer, for its JSON Schema. Further keys may be added to it.

Keys with a default were added later: an answer written by an earlier version need not have them.
"""

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
    probability: Probability = 1.0


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
    line: str = "main"


class PatternShape(AnswerShape):
    """One way in which a feature that no document mentions may have run through production."""

    kind: Literal["changes", "throughout", "mixed"]
    order: list[str]
    probability: Probability


class FreeShape(AnswerShape):
    """What the survivors say of a feature that no document of the line mentions."""

    feature: str
    line: str
    patterns: list[PatternShape]
    shares: dict[str, Probability]


class DifferenceShape(AnswerShape):
    """One feature seen on this set and on another."""

    feature: str
    state: str
    other_state: str
    decibans: float


class SisterShape(AnswerShape):
    """Another set, and how much it is like this one."""

    set: str
    apart: Annotated[float, Field(ge=0)]
    same_line_probability: Probability
    decibans: float
    differences: list[DifferenceShape]


class QuestionShape(AnswerShape):
    """A look at another owner's set that would tell something of this one."""

    set: str
    feature: str
    bits: float
    access: str


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


class DriverShape(AnswerShape):
    """An observation that no documented history explains well."""

    feature: str
    state: str
    decibans: float


class MisfitShape(AnswerShape):
    """How well any documented history explains the set, what does not fit, and what would explain it."""

    p_value: Probability
    drivers: list[DriverShape] = []
    suggestions: list[str] = []


class LearnedShape(AnswerShape):
    """A rate learnt from the survivors."""

    what: str
    value: float
    low: float
    high: float
    default: float | None = None
    items: int = 0
    level: Probability = 0.9


class MethodShape(AnswerShape):
    """How the answer was computed."""

    kind: Annotated[Literal["exact", "weighted", "sampled"], Field(alias="class")]
    draws: int | None
    effective_draws: float | None
    seed: int
    cells: int | None = None
    r_hat: float | None = None
    learned_rates: bool = False


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
    free: list[FreeShape] = []
    sisters: list[SisterShape] = []
    ask: list[QuestionShape] = []
