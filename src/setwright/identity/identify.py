"""One set, its family and the survivors, to the whole identity answer."""

from __future__ import annotations

import numpy as np

from setwright.identity.answer import (
    Answer,
    AxisAnswer,
    ChangeAnswer,
    Interval,
    Method,
    Prediction,
    VerdictEntry,
)
from setwright.identity.assumptions import CONDITIONS, Assumptions
from setwright.identity.evidence import MOST_CELLS
from setwright.identity.explain import explain
from setwright.identity.factors import SeenFeature, see
from setwright.identity.histories import list_histories
from setwright.identity.history import read_history
from setwright.identity.looks import next_looks
from setwright.identity.misfit import misfit_p_value
from setwright.identity.model import BenchSet, Family, ImpossibleHistory, Survivors, no_survivors
from setwright.identity.places import FRACTION_UNIT, Axis, Place, StandablePlaces, axis_with_set, locate, on_axis
from setwright.identity.posterior import Cells, Drawing, LinePosterior, line_posteriors
from setwright.identity.weights import weigh_observations

CELLS_PLACE_KNOWN = 256
CELLS_PLACE_UNKNOWN = 96
"""Cells of an axis. Work grows with their square times the places a set may have, so with their cube where its
place is unknown; twice as many cells are meant to move no probability by more than 0.005 (see tests)."""

CELLS_ROUGH = 64
"""Cells of the first, rougher answer that says where the cells belong."""

FEW_PLACES = 4
"""A set with at most this many possible places in each line counts as one whose place is known."""


def identify(
    family: Family,
    bench_set: BenchSet,
    survivors: Survivors | None = None,
    *,
    assumptions: Assumptions | None = None,
    seed: int = 0,
    cells: int | None = None,
) -> Answer:
    """Which version the set is, what was altered, what to look at next.

    Survivors whose serial or line is not known are left out, and the answer's warnings say so. The verdict,
    the changes, the observations' weights and the condition are exact sums; `seed` only drives the misfit
    check and, in families with many open changes, the list of histories behind the next looks.
    `cells` overrides the number of cells of an axis.

    Raises ImpossibleHistory where the documents contradict each other or the set's serial fits no line, and
    NotationError where so little of the serial is legible that it fits hundreds of thousands of places.
    """
    survivors = no_survivors() if survivors is None else survivors
    assumptions = assumptions or Assumptions()
    history = read_history(family)
    axes, places = _axes_and_places(family, bench_set, survivors)
    seen = see(history.features, bench_set.latest, assumptions)
    drawing = Drawing(seed)
    lines = line_posteriors(
        family, history, axes, places, survivors, seen, assumptions, _cells(axes, places, cells), drawing
    )
    verdict, leading = _verdict(lines, seen)
    observations = weigh_observations(lines, seen, leading)
    by_condition = sum(line.entry_masses().sum(axis=0) for line in lines)
    condition = dict(zip(CONDITIONS, (float(p) for p in by_condition), strict=True))
    built = [sum(line.state_masses(s).sum(axis=0) for line in lines) for s in seen]
    factory = _factory_states(seen, built)
    rng = np.random.default_rng([seed, 1])
    histories = list_histories(lines, seen, assumptions, rng)
    looks, batches = next_looks(
        histories, seen, built, bench_set.open_to, family.access_minutes, assumptions, family.kind
    )
    p_value = misfit_p_value(histories, seen, assumptions, rng)
    level = assumptions.level
    return Answer(
        family=family.id,
        set=bench_set.id,
        verdict=verdict,
        changes=_changes(lines, level),
        observations=observations,
        condition=condition,
        predicted=tuple(Prediction(s.feature.id, factory[s.feature.id]) for s in seen if not s.informative),
        next=looks,
        batches=batches,
        serial=_serial(max(lines, key=lambda line: line.probability), level),
        misfit_p_value=p_value,
        axes=tuple(_axis_answer(line) for line in lines),
        explanations=explain(
            family, verdict, observations, bench_set.latest, factory, condition, looks, batches, p_value
        ),
        warnings=(*history.warnings, *_warnings(family, bench_set, survivors, axes)),
        method=Method("exact", None, None, seed, max(line.chain.cells for line in lines)),
    )


def _axes_and_places(
    family: Family, bench_set: BenchSet, survivors: Survivors
) -> tuple[dict[str, Axis], tuple[Place, ...]]:
    """Each line's axis, and every place on it that the bench set's serial fits."""
    axes: dict[str, Axis] = {}
    inside: list[Place] = []
    for number, line in enumerate(family.line_ids):
        possible = bench_set.line in (None, line)
        fits = locate(family, bench_set.serial, line) if possible else ()
        known = survivors.position[(survivors.line == number) & (survivors.position >= 0)]
        axes[line] = axis_with_set(family, line, known, bench_set.serial, fits)
        inside += on_axis(axes[line], fits)
    if not inside:
        where = "" if bench_set.line is None else f" of line {bench_set.line}"
        raise ImpossibleHistory(f"The set's serial {bench_set.serial} fits no serial number{where} of {family.name}.")
    return axes, tuple(inside)


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


def _verdict(
    lines: tuple[LinePosterior, ...], seen: list[SeenFeature]
) -> tuple[tuple[VerdictEntry, ...], tuple[int, int]]:
    """Entries most probable first, and (line, entry) of the leading one."""
    entries = []
    for number, line in enumerate(lines):
        masses = line.entry_masses().sum(axis=1)
        by_feature = {s.feature.id: (s, line.state_masses(s).sum(axis=1)) for s in seen}
        for entry, mass in enumerate(masses):
            states = {
                feature: s.feature.all_states[int(split[entry].argmax())] for feature, (s, split) in by_feature.items()
            }
            answer = _entry(line, entry, float(mass), states)
            if answer is not None:
                entries.append((answer, (number, entry)))
    entries.sort(key=lambda pair: -pair[0].probability)
    return tuple(answer for answer, _ in entries), entries[0][1]


def _entry(line: LinePosterior, entry: int, mass: float, states: dict[str, str]) -> VerdictEntry | None:
    """One verdict entry; None for the gap of a block with a single change, inside which no set can stand."""
    history, stages = line.history, len(line.history.stages)
    if entry < stages:
        stage = history.stages[entry]
        applied = {change.id: float(change.block < entry) for change in history.changes}
        return VerdictEntry(stage.label, history.line, stage.version or None, None, mass, applied, states)
    gap = entry - stages
    if len(history.blocks[gap]) == 1:
        return None
    before, after = history.stages[gap], history.stages[gap + 1]
    applied = {change.id: float(change.block < gap) for change in history.changes}
    inside = line.gap_made[gap].sum(axis=0) / mass if mass > 0.0 else np.full(len(history.blocks[gap]), 0.5)
    applied.update({c.id: float(p) for c, p in zip(history.blocks[gap], np.clip(inside, 0.0, 1.0), strict=True)})
    label = f"between {before.label} and {after.label}"
    return VerdictEntry(label, history.line, None, (before.version, after.version), mass, applied, states)


def _changes(lines: tuple[LinePosterior, ...], level: float) -> tuple[ChangeAnswer, ...]:
    answers = []
    for line in lines:
        for block, changes in enumerate(line.history.blocks):
            for change, mass, applied in zip(changes, line.cut_in[block], line.applied[block], strict=True):
                answers.append(
                    ChangeAnswer(
                        id=change.id,
                        feature=change.feature,
                        from_state=change.from_state,
                        to_state=change.to_state,
                        line=change.line,
                        block=line.history.version_gaps[block],
                        cut_in=interval(line.axis, line.chain.edges, mass, level),
                        applied_probability=float(applied),
                        mass=mass,
                    )
                )
    return tuple(answers)


def interval(
    axis: Axis, edges: np.ndarray, mass: np.ndarray, level: float, standable: StandablePlaces | None = None
) -> Interval:
    """Central range and median of a position whose probability per cell is `mass`.

    The smallest positions whose cumulative probability reaches (1 - level) / 2, 1 / 2 and the rest, the
    positions of one cell (of `standable`, if given) being equally likely; parts of the run where the axis
    has no serials.
    """
    cumulative = np.cumsum(mass)
    tail = (1.0 - level) / 2.0
    standable = standable or StandablePlaces(mass, mass, ((axis.first, axis.last),))

    def quantile(p: float) -> float:
        cell = min(int(np.searchsorted(cumulative, p * cumulative[-1] - 1e-12)), len(mass) - 1)
        before = cumulative[cell] - mass[cell]
        share = (p * cumulative[-1] - before) / mass[cell] if mass[cell] > 0.0 else 1.0
        position = standable.position(int(edges[cell]), int(edges[cell + 1]), float(np.clip(share, 0.0, 1.0)))
        return position / axis.last if axis.unit == FRACTION_UNIT else float(position)

    return Interval(quantile(tail), quantile(0.5), quantile(1.0 - tail), level)


def _serial(line: LinePosterior, level: float) -> Interval:
    """The set's place in its most probable line."""
    return interval(line.axis, line.chain.edges, line.in_cell, level, line.standable)


def _axis_answer(line: LinePosterior) -> AxisAnswer:
    return AxisAnswer(line.axis.line, line.axis.unit, line.chain.edges, line.probability, line.in_cell)


def _factory_states(seen: list[SeenFeature], built: list[np.ndarray]) -> dict[str, dict[str, float]]:
    """Probability of each factory state, by feature."""
    return {
        s.feature.id: dict(zip(s.feature.all_states, (float(p) for p in mass.sum(axis=0) / mass.sum()), strict=True))
        for s, mass in zip(seen, built, strict=True)
    }


def _warnings(family: Family, bench_set: BenchSet, survivors: Survivors, axes: dict[str, Axis]) -> tuple[str, ...]:
    warnings = []
    for axis in axes.values():
        if not axis.inferred:
            continue
        line = f" of line {axis.line}" if len(axes) > 1 else ""
        if axis.unit == FRACTION_UNIT:
            if any(bound.line == axis.line for bound in family.cut_in_bounds):
                warnings.append(
                    f"The documented cut-in bounds{line} are not used: without a serial they have no place."
                )
            if bench_set.serial is not None and bench_set.line in (None, axis.line):
                warnings.append(
                    f"The serial {bench_set.serial} is not used{line}: * leaves open how many digits it has, and "
                    "neither a last serial nor another set's serial limits them."
                )
            warnings.append(
                f"No serial{line} is known: places in the run are fractions of it, 0 the first set, 1 the last."
            )
        else:
            warnings.append(
                f"The last serial{line} is not documented; it was taken as {axis.last} from the serials known."
            )
    placeless = int((survivors.position < 0).sum())
    lineless = int(((survivors.line < 0) & (survivors.position >= 0)).sum())
    if placeless:
        warnings.append(
            f"Left out: {_count(placeless, 'survivor')} without a full serial, or whose serial fits several lines."
        )
    if lineless:
        warnings.append(f"Left out: {_count(lineless, 'survivor')} of unknown line.")
    for observation in bench_set.latest.values():
        if observation.drift:
            label = family.feature(observation.feature).label
            warnings.append(
                f"{label}: the measured {observation.written} matches no listed value. Parts drift with age, so it "
                "says nothing about the factory state; a marked value would."
            )
    return tuple(warnings)


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number:,} {noun}s"
