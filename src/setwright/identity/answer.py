"""What identity answers. One frozen value holds every figure; terminal, JSON and pages lay it out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np


@dataclass(frozen=True, slots=True)
class Interval:
    """A central range holding `level` of the probability, and its median.

    On an axis of serials the ends are whole serials; on one of fractions they are parts of the run, 0 to 1.
    """

    low: float
    median: float
    high: float
    level: float = 0.9


@dataclass(frozen=True, slots=True)
class VerdictEntry:
    """One line and documented version, or one line and gap between two versions (`between`).

    Both are None in a line that no document describes. applied : probability of each change of the line, and
    states : the most probable factory state of each feature, both given this entry.
    """

    label: str
    line: str
    version: str | None
    between: tuple[str, str] | None
    probability: float
    applied: Mapping[str, float]
    states: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class ChangeAnswer:
    """One change of the production run: its cut-in range, and whether this set has it (given its line).

    `mass` is the probability of the cut-in in each cell of the line's axis (see `AxisAnswer.edges`).
    `block` is j for the gap between versions j and j+1 of the line, the most probable one where a version between
    is silent; None for a free change. `probability` is that of the change being one at all: 1 for a documented one,
    for a free one the probability that the feature changes, and in this order.
    """

    id: str
    feature: str
    from_state: str
    to_state: str
    line: str
    block: int | None
    cut_in: Interval
    applied_probability: float
    mass: np.ndarray
    probability: float = 1.0


@dataclass(frozen=True, slots=True)
class AxisAnswer:
    """The production axis of one line, cut into cells.

    edges : (cells + 1,) last position of each cell, before them the last position before the first cell;
        cell i holds the positions edges[i] + 1 … edges[i + 1].
    unit : "serial", or "fraction of the run" where no serial is known (divide positions by the last edge).
    probability : of the set belonging to this line.
    position_mass : (cells,) probability that the set stands in each cell, given the line.
    """

    line: str
    unit: str
    edges: np.ndarray
    probability: float
    position_mass: np.ndarray


@dataclass(frozen=True, slots=True)
class ObservationAnswer:
    """The weight of one observation: decibans for the leading verdict when it is added to all the others."""

    feature: str
    state: str
    decibans: float
    altered_probability: float
    misread_probability: float


@dataclass(frozen=True, slots=True)
class GroupAnswer:
    """A group of features and the probability that it came from elsewhere (married cabinet and chassis).

    serial : if it did, its place on the axis of `line`, its most probable line then.
    """

    group: str
    elsewhere_probability: float
    serial: Interval
    line: str = "main"


@dataclass(frozen=True, slots=True)
class Pattern:
    """One way in which a feature that no document mentions may have run through production.

    kind : "changes" (through the states of `order`), "throughout" (one state, `order` holds it alone) or "mixed"
        (several states side by side from first to last; `order` is empty).
    """

    kind: str
    order: tuple[str, ...]
    probability: float


@dataclass(frozen=True, slots=True)
class FreeAnswer:
    """What the survivors say of a feature that no document of the line mentions: patterns, most probable first.

    shares : of each state, if they were mixed throughout.
    """

    feature: str
    line: str
    patterns: tuple[Pattern, ...]
    shares: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Difference:
    """One feature seen on this set and on another: decibans for both having left the factory alike in it."""

    feature: str
    state: str
    other_state: str
    decibans: float


@dataclass(frozen=True, slots=True)
class Sister:
    """Another set, and how much it is like this one.

    apart : expected number of documented changes that one of the two has and the other has not; differences holds
        every feature seen on both, the most telling first.
    """

    id: str
    apart: float
    same_line_probability: float
    decibans: float
    differences: tuple[Difference, ...]


@dataclass(frozen=True, slots=True)
class Question:
    """A look at another owner's set, and the bits it is expected to tell about this set's verdict."""

    set: str
    feature: str
    bits: float
    access: str


@dataclass(frozen=True, slots=True)
class MisfitDriver:
    """An observation that no documented history explains well: how much less expected it is than usual, in decibans."""

    feature: str
    state: str
    decibans: float


@dataclass(frozen=True, slots=True)
class Prediction:
    """The factory state of a feature that was not seen."""

    feature: str
    states: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Look:
    """One further look: expected bits about the factory state vector; minutes include opening up."""

    feature: str
    bits: float
    minutes: float
    bits_per_minute: float
    access: str


@dataclass(frozen=True, slots=True)
class Batch:
    """The looks of one access that are best made together; `bits` are joint."""

    access: str
    features: tuple[str, ...]
    bits: float
    minutes: float
    bits_per_minute: float
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LearnedRate:
    """A rate re-estimated from the survivors, with the central range that holds `level`, beside the default one."""

    what: str
    value: float
    low: float
    high: float
    default: float = float("nan")
    items: int = 0
    level: float = 0.9


@dataclass(frozen=True, slots=True)
class RateEvidence:
    """What one family's survivors say of the rates: per permanence the log-likelihood at each of `learning.RATES`, and
    how many items it rests on."""

    family: str
    log_likelihood: Mapping[str, np.ndarray]
    items: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Method:
    """How the answer was computed. `kind` is "exact", "weighted" or "sampled".

    `cells` is the largest number of cells on an axis; `draws` and `effective_draws` are None where
    nothing in the verdict, the changes and the observations was drawn; `seed` drives what is.
    `r_hat` is the largest of the sampled chains' agreement figures (1 where they agree), None unless sampled.
    `learned_rates` : rates of alteration learnt from survivors were used.
    """

    kind: str
    draws: int | None
    effective_draws: float | None
    seed: int
    cells: int
    r_hat: float | None = None
    learned_rates: bool = False


@dataclass(frozen=True, slots=True)
class Answer:
    """The whole identity answer for one set. Lists are in reading order: most probable, most useful first."""

    family: str
    set: str
    verdict: tuple[VerdictEntry, ...]
    changes: tuple[ChangeAnswer, ...]
    observations: tuple[ObservationAnswer, ...]
    condition: Mapping[str, float]
    predicted: tuple[Prediction, ...]
    next: tuple[Look, ...]
    batches: tuple[Batch, ...]
    serial: Interval
    misfit_p_value: float
    axes: tuple[AxisAnswer, ...]
    explanations: tuple[str, ...]
    warnings: tuple[str, ...]
    method: Method
    groups: tuple[GroupAnswer, ...] = ()
    learned: tuple[LearnedRate, ...] = field(default=())
    free: tuple[FreeAnswer, ...] = ()
    sisters: tuple[Sister, ...] = ()
    ask: tuple[Question, ...] = ()
    misfit_drivers: tuple[MisfitDriver, ...] = ()
    misfit_suggestions: tuple[str, ...] = ()
    rate_evidence: RateEvidence | None = None
