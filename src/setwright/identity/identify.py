"""One set, its family and the survivors, to the whole identity answer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from setwright.identity.answer import Answer, FreeAnswer, GroupAnswer, Method, Prediction, RateEvidence
from setwright.identity.assumptions import CONDITIONS, Assumptions
from setwright.identity.causes import causes
from setwright.identity.drawn import Joint, draw_joint
from setwright.identity.explain import explain
from setwright.identity.factors import SeenFeature, see
from setwright.identity.findings import LineFindings
from setwright.identity.grounds import warnings_of
from setwright.identity.groundwork import Groundwork, groundwork_of
from setwright.identity.groups import groups_in_question
from setwright.identity.histories import Histories, list_histories
from setwright.identity.learning import learn_rates, with_learned
from setwright.identity.looks import next_looks
from setwright.identity.misfit import MISFIT_LIMIT, Misfit, check_misfit
from setwright.identity.model import BenchSet, Family, Survivors
from setwright.identity.posterior import Drawing, line_posteriors
from setwright.identity.progress import Progress, part_of
from setwright.identity.verdicts import axis_answer, changes_of, serial_of, verdict_of
from setwright.identity.weights import weigh_observations

MOST_WEIGHED = 20_000
"""Registers of more survivors than this count item by item, their conditions and lost serials not looked into."""

FEW_DRAWS = 600
"""Joint histories behind the question whether the set would fit without its serial."""

NOT_LEARNT = (
    "No rate of alteration could be learnt, so the usual ones were used: that takes survivors whose condition is "
    "looked into."
)


def identify(
    family: Family,
    bench_set: BenchSet,
    survivors: Survivors | None = None,
    *,
    assumptions: Assumptions | None = None,
    seed: int = 0,
    cells: int | None = None,
    exact: bool = False,
    draws: int | None = None,
    learned: bool = False,
    other_families: Sequence[RateEvidence] = (),
    force: str | None = None,
    progress: Progress | None = None,
) -> Answer:
    """Which version the set is, what was altered, what to look at next.

    Three kinds of computation; the answer's `method` says which it was. "exact": sums over everything, where there
    are no survivors, or they count item by item (`exact`, or more than 20,000 of them), and where neither silent
    versions, old stock, shared cut-ins, features that no document mentions, nor a group that may have come from
    another set stand in the way. "weighted": independent joint histories, weighed. "sampled": blocked Gibbs sampling,
    where too few of those would count. With `exact` survivors without full serial or line are left out, and the
    answer's warnings say so.

    seed : the same seed gives the same answer. cells : overrides the number of cells of an axis. draws : the number
    of joint histories. learned : rates of alteration learnt from the survivors replace the default ones, never a
    feature's own; other_families : what other families' survivors say of them (an answer's `rate_evidence`).
    force : "sampled" asks for that kind. progress : called now and then with what is being done
    and the share of it done; an exception it raises ends the computation.

    Raises ImpossibleHistory where the documents contradict each other or the set's serial fits no line, and
    NotationError where so little of the serial is legible that it fits hundreds of thousands of places.
    """
    groundwork = groundwork_of(family, survivors, bench_set.serial, bench_set.line, assumptions=assumptions)
    case = _Case(groundwork, bench_set, seed)
    flat = exact or len(groundwork.survivors) > MOST_WEIGHED
    first = part_of(progress, 0.0, 0.5) if learned else progress
    asked = _Asked(flat, cells, draws, force, first, tuple(other_families))
    answer = case.answer(asked)
    if not learned:
        return answer
    if not answer.learned:
        return replace(answer, warnings=(*answer.warnings, NOT_LEARNT))
    asked = replace(asked, progress=part_of(progress, 0.5, 1.0))
    again = replace(case, groundwork=groundwork.with_assumptions(with_learned(groundwork.assumptions, answer.learned)))
    answer_again = again.answer(asked)
    method = replace(answer_again.method, learned_rates=True)
    return replace(answer_again, learned=answer.learned, rate_evidence=answer.rate_evidence, method=method)


def identify_flat(groundwork: Groundwork, bench_set: BenchSet, *, seed: int, cells: int, draws: int) -> Answer:
    """`identify` with `exact`, on groundwork made before, which has to be that of the set's serial and line.

    What would explain a misfit is not looked for.
    """
    if (groundwork.serial, groundwork.line) != (bench_set.serial, bench_set.line):
        raise ValueError("the groundwork is that of another serial or line than the set has")
    return _Case(groundwork, bench_set, seed).answer(_Asked(True, cells, draws, None, None, (), explain_misfit=False))


@dataclass(frozen=True, slots=True)
class _Asked:
    """How the answer is to be computed; see `identify`. flat : survivors count item by item.

    explain_misfit : look for what would explain a misfit, for which the set is asked about again without its serial.
    """

    flat: bool
    cells: int | None
    draws: int | None
    force: str | None
    progress: Progress | None
    other_families: tuple[RateEvidence, ...]
    explain_misfit: bool = True


@dataclass(frozen=True, slots=True)
class _Found:
    """What either kind of computation finds."""

    lines: Sequence[LineFindings]
    histories: Histories
    method: Method
    groups: tuple[GroupAnswer, ...] = ()
    free: tuple[FreeAnswer, ...] = ()
    joint: Joint | None = None


@dataclass(frozen=True, slots=True)
class _Case:
    """One question, before it is decided how to compute its answer."""

    groundwork: Groundwork
    bench_set: BenchSet
    seed: int

    @property
    def family(self) -> Family:
        """The family."""
        return self.groundwork.family

    @property
    def assumptions(self) -> Assumptions:
        """What is assumed."""
        return self.groundwork.assumptions

    def is_plain(self, flat: bool) -> bool:
        """Whether sums over the bench set's own unknowns are all that is needed."""
        married = self.assumptions.married > 0.0 and groups_in_question(self.family, self.bench_set)
        if self.groundwork.history.needs_drawing or married:
            return False
        return len(self.groundwork.survivors) == 0 or (flat and not self.groundwork.history.free)

    def summed(self, cells: int | None, seen: list[SeenFeature]) -> _Found:
        """Everything summed."""
        lines = line_posteriors(self.groundwork.sums(cells), seen, self.assumptions, Drawing(self.seed))
        rng = np.random.default_rng([self.seed, 1])
        histories = list_histories(lines, seen, self.assumptions, rng)
        method = Method("exact", None, None, self.seed, max(line.chain.cells for line in lines))
        return _Found(lines, histories, method)

    def drawn(self, asked: _Asked, seen: list[SeenFeature]) -> _Found:
        """Joint histories drawn."""
        joint = draw_joint(
            self.family,
            self.groundwork.history,
            self.bench_set,
            self.groundwork.survivors,
            self.groundwork.axes,
            self.assumptions,
            seen,
            flat=asked.flat,
            cells=asked.cells,
            draws=asked.draws,
            seed=self.seed,
            force=asked.force,
            progress=asked.progress,
        )
        found = joint.findings
        return _Found(found.lines, found.histories, joint.method, found.groups, found.free, joint)

    def found(self, asked: _Asked, seen: list[SeenFeature]) -> _Found:
        """What is found, summed where that can be and drawn where not."""
        if asked.force is None and self.is_plain(asked.flat):
            return self.summed(asked.cells, seen)
        return self.drawn(asked, seen)

    def without_serial(self, asked: _Asked, seen: list[SeenFeature]) -> float | None:
        """How well the set would fit if its serial were not known; None where it is not."""
        if self.bench_set.serial is None:
            return None
        case = _Case(self.groundwork.with_serial(None), replace(self.bench_set, serial=None), self.seed)
        found = case.found(replace(asked, progress=None, draws=asked.draws or FEW_DRAWS, force=None), seen)
        return case.misfit(found, seen).p_value

    def misfit(self, found: _Found, seen: list[SeenFeature]) -> Misfit:
        """Whether any documented history explains the set."""
        return check_misfit(found.histories, seen, self.assumptions, np.random.default_rng([self.seed, 2]))

    def answer(self, asked: _Asked) -> Answer:
        """The whole answer."""
        seen = see(self.family.features, self.bench_set.latest, self.assumptions)
        found = self.found(asked, seen)
        lines = found.lines
        verdict, leading = verdict_of(lines, seen)
        observations = weigh_observations(lines, seen, leading)
        by_condition = sum(line.entry_masses().sum(axis=0) for line in lines)
        condition = dict(zip(CONDITIONS, (float(p) for p in by_condition), strict=True))
        built = [np.asarray(sum(line.state_masses(s).sum(axis=0) for line in lines)) for s in seen]
        factory = _factory_states(seen, built)
        looks, batches = next_looks(
            found.histories,
            seen,
            built if found.joint is None else _items_of(found.histories, seen),
            self.bench_set.open_to,
            self.family.access_minutes,
            self.assumptions,
            self.family.kind,
        )
        misfit = self.misfit(found, seen)
        near = found.joint.neighbours if found.joint is not None else None
        sisters = () if near is None else near.sisters()
        suggested: tuple[str, ...] = ()
        if asked.explain_misfit and misfit.p_value < MISFIT_LIMIT:
            suggested = causes(self.family, verdict[0], misfit.drivers, sisters, self.without_serial(asked, seen))
        rates = found.joint.rates if found.joint is not None else None
        level = self.assumptions.level
        return Answer(
            family=self.family.id,
            set=self.bench_set.id,
            verdict=verdict,
            changes=changes_of(lines, level),
            observations=observations,
            condition=condition,
            predicted=tuple(Prediction(s.feature.id, factory[s.feature.id]) for s in seen if not s.informative),
            next=looks,
            batches=batches,
            serial=serial_of(max(lines, key=lambda line: line.probability), level),
            misfit_p_value=misfit.p_value,
            axes=tuple(axis_answer(line) for line in lines),
            explanations=explain(
                self.family,
                verdict,
                observations,
                self.bench_set.latest,
                factory,
                condition,
                looks,
                batches,
                misfit,
                found.groups,
                suggested,
            ),
            warnings=warnings_of(
                self.family,
                self.groundwork.history,
                self.bench_set,
                self.groundwork.survivors,
                self.groundwork.axes,
                asked.flat,
                None if found.joint is None else found.joint.left_out,
            ),
            method=found.method,
            groups=found.groups,
            free=found.free,
            learned=() if rates is None else learn_rates(rates, asked.other_families, self.assumptions),
            sisters=sisters,
            ask=() if near is None else near.questions(),
            misfit_drivers=misfit.drivers,
            misfit_suggestions=suggested,
            rate_evidence=rates,
        )


def _items_of(histories: Histories, seen: Sequence[SeenFeature]) -> list[np.ndarray]:
    """Per feature (3, states) chance of condition and state of the item itself, wherever it came from."""
    joint = histories.weight[:, None] * histories.condition
    items = []
    for column, s in enumerate(seen):
        states = np.eye(len(s.feature.all_states))[histories.states[:, column]]
        items.append(joint.T @ states)
    return items


def _factory_states(seen: list[SeenFeature], built: list[np.ndarray]) -> dict[str, dict[str, float]]:
    """Probability of each factory state, by feature."""
    return {
        s.feature.id: dict(zip(s.feature.all_states, (float(p) for p in mass.sum(axis=0) / mass.sum()), strict=True))
        for s, mass in zip(seen, built, strict=True)
    }
