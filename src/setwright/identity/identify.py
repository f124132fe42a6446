"""One set, its family and the survivors, to the whole identity answer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from setwright.identity.answer import Answer, FreeAnswer, GroupAnswer, Method, Prediction, RateEvidence
from setwright.identity.assumptions import CONDITIONS, Assumptions
from setwright.identity.causes import causes
from setwright.identity.drawn import Joint, draw_joint
from setwright.identity.evidence import MOST_CELLS
from setwright.identity.explain import explain
from setwright.identity.factors import SeenFeature, see
from setwright.identity.findings import LineFindings
from setwright.identity.grounds import warnings_of
from setwright.identity.groups import groups_in_question
from setwright.identity.histories import Histories, list_histories
from setwright.identity.history import History, read_history
from setwright.identity.learning import learn_rates, with_learned
from setwright.identity.looks import next_looks
from setwright.identity.misfit import MISFIT_LIMIT, Misfit, check_misfit
from setwright.identity.model import BenchSet, Family, ImpossibleHistory, Survivors, no_survivors
from setwright.identity.places import Axis, Place, axis_with_set, locate, places_on_axes
from setwright.identity.posterior import Cells, Drawing, line_posteriors
from setwright.identity.progress import Progress, part_of
from setwright.identity.verdicts import axis_answer, changes_of, serial_of, verdict_of
from setwright.identity.weights import weigh_observations

CELLS_PLACE_KNOWN = 256
CELLS_PLACE_UNKNOWN = 96
"""Cells of an axis. Work grows with their square times the places a set may have, so with their cube where its
place is unknown; twice as many cells are meant to move no probability by more than 0.005 (see tests)."""

CELLS_ROUGH = 64
"""Cells of the first, rougher answer that says where the cells belong."""

FEW_PLACES = 4
"""A set with at most this many possible places in each line counts as one whose place is known."""

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
    survivors = no_survivors() if survivors is None else survivors
    assumptions = assumptions or Assumptions()
    history = read_history(family)
    axes, places = _axes_and_places(family, bench_set, survivors)
    case = _Case(family, history, bench_set, survivors, axes, places, assumptions, seed)
    flat = exact or len(survivors) > MOST_WEIGHED
    first = part_of(progress, 0.0, 0.5) if learned else progress
    asked = _Asked(flat, cells, draws, force, first, tuple(other_families))
    answer = case.answer(asked)
    if not learned:
        return answer
    if not answer.learned:
        return replace(answer, warnings=(*answer.warnings, NOT_LEARNT))
    asked = replace(asked, progress=part_of(progress, 0.5, 1.0))
    again = replace(case, assumptions=with_learned(assumptions, answer.learned)).answer(asked)
    method = replace(again.method, learned_rates=True)
    return replace(again, learned=answer.learned, rate_evidence=answer.rate_evidence, method=method)


@dataclass(frozen=True, slots=True)
class _Asked:
    """How the answer is to be computed; see `identify`. flat : survivors count item by item."""

    flat: bool
    cells: int | None
    draws: int | None
    force: str | None
    progress: Progress | None
    other_families: tuple[RateEvidence, ...]


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

    family: Family
    history: History
    bench_set: BenchSet
    survivors: Survivors
    axes: dict[str, Axis]
    places: tuple[Place, ...]
    assumptions: Assumptions
    seed: int

    @property
    def seen(self) -> list[SeenFeature]:
        """Every feature with what was seen of it."""
        return see(self.family.features, self.bench_set.latest, self.assumptions)

    def is_plain(self, flat: bool) -> bool:
        """Whether sums over the bench set's own unknowns are all that is needed."""
        married = self.assumptions.married > 0.0 and groups_in_question(self.family, self.bench_set)
        if self.history.needs_drawing or married:
            return False
        return len(self.survivors) == 0 or (flat and not self.history.free)

    def summed(self, cells: int | None) -> _Found:
        """Everything summed."""
        seen = self.seen
        lines = line_posteriors(
            self.family,
            self.history,
            self.axes,
            self.places,
            self.survivors,
            seen,
            self.assumptions,
            _cells(self.axes, self.places, cells),
            Drawing(self.seed),
        )
        rng = np.random.default_rng([self.seed, 1])
        histories = list_histories(lines, seen, self.assumptions, rng)
        method = Method("exact", None, None, self.seed, max(line.chain.cells for line in lines))
        return _Found(lines, histories, method)

    def drawn(self, asked: _Asked) -> _Found:
        """Joint histories drawn."""
        joint = draw_joint(
            self.family,
            self.history,
            self.bench_set,
            self.survivors,
            self.axes,
            self.assumptions,
            self.seen,
            flat=asked.flat,
            cells=asked.cells,
            draws=asked.draws,
            seed=self.seed,
            force=asked.force,
            progress=asked.progress,
        )
        found = joint.findings
        return _Found(found.lines, found.histories, joint.method, found.groups, found.free, joint)

    def found(self, asked: _Asked) -> _Found:
        """What is found, summed where that can be and drawn where not."""
        if asked.force is None and self.is_plain(asked.flat):
            return self.summed(asked.cells)
        return self.drawn(asked)

    def without_serial(self, asked: _Asked) -> float | None:
        """How well the set would fit if its serial were not known; None where it is not."""
        if self.bench_set.serial is None:
            return None
        bench_set = replace(self.bench_set, serial=None)
        axes, places = _axes_and_places(self.family, bench_set, self.survivors)
        case = replace(self, bench_set=bench_set, axes=axes, places=places)
        found = case.found(replace(asked, progress=None, draws=asked.draws or FEW_DRAWS, force=None))
        return case.misfit(found).p_value

    def misfit(self, found: _Found) -> Misfit:
        """Whether any documented history explains the set."""
        return check_misfit(found.histories, self.seen, self.assumptions, np.random.default_rng([self.seed, 2]))

    def answer(self, asked: _Asked) -> Answer:
        """The whole answer."""
        found = self.found(asked)
        seen, lines = self.seen, found.lines
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
        misfit = self.misfit(found)
        near = found.joint.neighbours if found.joint is not None else None
        sisters = () if near is None else near.sisters()
        suggested: tuple[str, ...] = ()
        if misfit.p_value < MISFIT_LIMIT:
            suggested = causes(self.family, verdict[0], misfit.drivers, sisters, self.without_serial(asked))
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
                self.history,
                self.bench_set,
                self.survivors,
                self.axes,
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


def _axes_and_places(
    family: Family, bench_set: BenchSet, survivors: Survivors
) -> tuple[dict[str, Axis], tuple[Place, ...]]:
    """Each line's axis, and every place on it that the bench set's serial fits."""
    axes: dict[str, Axis] = {}
    for number, line in enumerate(family.line_ids):
        fits = locate(family, bench_set.serial, line) if bench_set.line in (None, line) else ()
        known = survivors.position[(survivors.line == number) & (survivors.position >= 0)]
        axes[line] = axis_with_set(family, line, known, bench_set.serial, fits)
    inside = places_on_axes(family, bench_set.serial, bench_set.line, axes)
    if not inside:
        where = "" if bench_set.line is None else f" of line {bench_set.line}"
        raise ImpossibleHistory(f"The set's serial {bench_set.serial} fits no serial number{where} of {family.name}.")
    return axes, inside


def _cells(axes: dict[str, Axis], places: tuple[Place, ...], most: int | None) -> Cells:
    """The most cells an axis may have: all positions where they are few, else as many as the work allows."""
    if most is None:
        each = sum(place.last - place.first + 1 for place in places) / len(axes)
        if each <= FEW_PLACES and all(axis.count <= MOST_CELLS for axis in axes.values()):
            most = MOST_CELLS
        else:
            affordable = int((CELLS_PLACE_UNKNOWN**3 / max(each, 1.0)) ** 0.5)
            most = min(max(affordable, CELLS_PLACE_UNKNOWN), CELLS_PLACE_KNOWN)
    known = all(place.first == place.last for place in places)
    # Around a known place the survivors' evidence puts enough cells; a first answer would only cost time.
    return Cells(most, rough=None if known else min(CELLS_ROUGH, most))


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
