"""Productions and sets drawn at random, as the model has them: for calibration, benchmarks and demonstrations.

A production is one cut-in for every documented change. Sets are drawn from it in columns, so that a register
of a million costs little: where each stands, what left the factory, what was altered, what was read.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import comb

import numpy as np

from setwright.identity.assumptions import CONDITIONS, Assumptions
from setwright.identity.history import Change, History, LineHistory, read_history
from setwright.identity.likelihood import altered_to
from setwright.identity.model import (
    ABSENT,
    LOOKS_SERVICED,
    NOT_SEEN,
    SURENESSES,
    BenchSet,
    Family,
    Feature,
    ImpossibleHistory,
    Observation,
    Survivors,
)
from setwright.identity.places import SERIAL_UNIT, Axis, axis_of, describe

MOST_TRIES = 20_000
"""So often a line's cut-ins are drawn anew until they keep the documented bounds."""

OTHER_STATE = "something else"
"""What an altered item shows that is none of the listed states."""


@dataclass(frozen=True, slots=True)
class Production:
    """One production run of a family.

    cut_ins : the first position that has each change, by change id, on the axis of the change's line.
    settled : by line and feature, the state of a feature that the line's documents do not mention.
    """

    family: Family
    history: History
    axes: Mapping[str, Axis]
    cut_ins: Mapping[str, int]
    settled: Mapping[tuple[str, str], str]

    def line_history(self, line: str) -> LineHistory:
        """The documented history of one line."""
        return next(history for history in self.history.lines if history.line == line)


@dataclass(frozen=True, slots=True)
class DrawnSets:
    """Sets of one production, in columns of n; features by id.

    line : index into `Family.line_ids`. position : on the axis of that line. condition : index into CONDITIONS.
    built : index into the feature's all_states, as it left the factory.
    seen : `seen_code`, NOT_SEEN or LOOKS_SERVICED, as in `Survivors`.
    altered : the item was altered, looked at or not. misread : it was read as another listed state than it has.
    """

    production: Production
    line: np.ndarray
    position: np.ndarray
    condition: np.ndarray
    built: Mapping[str, np.ndarray]
    seen: Mapping[str, np.ndarray]
    altered: Mapping[str, np.ndarray]
    misread: Mapping[str, np.ndarray]

    def __len__(self) -> int:
        return len(self.line)


def draw_production(family: Family, rng: np.random.Generator, *, simultaneous: float | None = 0.5) -> Production:
    """Draw every cut-in of a family, line by line.

    simultaneous : probability that a block of changes is made at one stroke, each block for itself. None draws
        from the prior that identity computes with; ordered windows there leave less room to the others, so that
        with four blocks five in six are made at one stroke.

    Given which blocks are spread out, all ordered windows on the axis are equally likely, and so is every
    position of a window for each of its changes. Raises ImpossibleHistory where the documented bounds are
    hardly ever kept.
    """
    history = read_history(family)
    nowhere = np.empty(0, dtype=np.int64)
    axes = {line.line: axis_of(family, line.line, nowhere) for line in history.lines}
    cut_ins: dict[str, int] = {}
    settled: dict[tuple[str, str], str] = {}
    for line in history.lines:
        cut_ins |= _draw_line(line, axes[line.line], rng, simultaneous)
        for feature_id in line.undocumented:
            states = family.feature(feature_id).states
            settled[line.line, feature_id] = states[int(rng.integers(len(states)))]
    return Production(family, history, axes, cut_ins, settled)


def _draw_line(line: LineHistory, axis: Axis, rng: np.random.Generator, simultaneous: float | None) -> dict[str, int]:
    for _ in range(MOST_TRIES):
        windows = draw_windows(len(line.blocks), axis, rng, simultaneous)
        cut_ins: dict[str, int] = {}
        for block, (start, end) in zip(line.blocks, windows, strict=True):
            places = rng.integers(start, end + 1, size=len(block))
            cut_ins |= {change.id: int(place) for change, place in zip(block, places, strict=True)}
        if all(_within_bounds(change, cut_ins[change.id]) for change in line.changes):
            return cut_ins
    raise ImpossibleHistory(
        f"Line {line.line}: in {MOST_TRIES:,} random productions the documented bounds were never all kept. "
        "Check the bounds against each other and against the length of the run."
    )


def _within_bounds(change: Change, cut_in: int) -> bool:
    return (change.earliest is None or cut_in >= change.earliest) and (change.latest is None or cut_in <= change.latest)


def draw_windows(
    blocks: int, axis: Axis, rng: np.random.Generator, simultaneous: float | None = 0.5, one_stroke: float = 0.5
) -> list[tuple[int, int]]:
    """First and last position of every block's window, in order; equal for a block made at one stroke.

    one_stroke : the prior's kappa, used where `simultaneous` is None.
    """
    if blocks == 0:
        return []
    spread = _draw_spread(blocks, axis.count, rng, simultaneous, one_stroke)
    # Ends in weak order (between blocks) become distinct places once block j is moved up by j.
    ends = blocks + int(spread.sum())
    places = np.sort(rng.choice(axis.count + blocks - 1, size=ends, replace=False))
    windows = []
    used = 0
    for block, wide in enumerate(spread):
        start = int(places[used]) - block + axis.first
        used += int(wide)
        windows.append((start, int(places[used]) - block + axis.first))
        used += 1
    return windows


def _draw_spread(
    blocks: int, positions: int, rng: np.random.Generator, simultaneous: float | None, one_stroke: float
) -> np.ndarray:
    """(blocks,) which blocks are spread out; of `positions` places at most positions - 1 can be."""
    most = min(blocks, positions - 1)
    if simultaneous is not None:
        for _ in range(MOST_TRIES):
            spread = rng.random(blocks) >= simultaneous
            if spread.sum() <= most:
                return spread
        raise ValueError(f"{blocks} blocks cannot be spread out over {positions} positions; at most {most} can")
    # All orders with k spread blocks: comb(positions + blocks - 1, blocks + k) each for comb(blocks, k) choices.
    step = (1.0 - one_stroke) / max(positions - 1, 1)
    weights = np.array(
        [
            float(comb(blocks, k) * comb(positions + blocks - 1, blocks + k)) * one_stroke ** (blocks - k) * step**k
            for k in range(most + 1)
        ]
    )
    count = int(rng.choice(most + 1, p=weights / weights.sum()))
    spread = np.zeros(blocks, dtype=bool)
    spread[rng.choice(blocks, size=count, replace=False)] = True
    return spread


def factory_states(production: Production, line: str, position: int) -> dict[str, str]:
    """The state of every feature of a set as it left the factory, by feature id.

    Variants are left out where the line has them: they follow no cut-in.
    """
    where = np.array([position])
    states = {}
    for feature in production.history.features:
        if feature.role == "variant" and feature.in_line(line):
            continue
        states[feature.id] = feature.all_states[int(_built_without_variants(production, feature, line, where)[0])]
    return states


def _built_without_variants(production: Production, feature: Feature, line: str, position: np.ndarray) -> np.ndarray:
    """(n,) index into all_states at each position of one line, for a feature that does not vary there."""
    index = {state: i for i, state in enumerate(feature.all_states)}
    if not feature.in_line(line):
        return np.full(len(position), index[ABSENT], dtype=np.int16)
    settled = production.settled.get((line, feature.id))
    if settled is not None:
        return np.full(len(position), index[settled], dtype=np.int16)
    history = production.line_history(line)
    built = np.full(len(position), index[history.stages[0].states[feature.id]], dtype=np.int16)
    for change in history.changes:
        if change.feature == feature.id:
            built[position >= production.cut_ins[change.id]] = index[change.to_state]
    return built


def draw_sets(
    production: Production,
    count: int,
    rng: np.random.Generator,
    *,
    assumptions: Assumptions | None = None,
    not_seen: float | Mapping[str, float] = 0.3,
    sureness: Sequence[float] = (1.0, 0.0, 0.0),
    noticed: float = 0.0,
    line: str | Sequence[str] | None = None,
    position: np.ndarray | None = None,
) -> DrawnSets:
    """Draw sets of a production: where they stand, in which condition they are, what they show.

    not_seen : probability that nobody looked at a feature, one for all or by access.
    sureness : shares of certain, likely and guess.
    noticed : share of altered items that look serviced and are noted as that.
    line : one line for all, or each set's own (default: every line equally likely). position : (count,) places
        on the axes of those lines (default: every place that holds sets equally likely); needs `line`.
    """
    assumptions = Assumptions() if assumptions is None else assumptions
    lines = production.family.line_ids
    if position is not None and line is None:
        raise ValueError("positions need the lines on whose axes they stand")
    if line is None:
        in_line = rng.integers(len(lines), size=count)
    else:
        in_line = np.array([lines.index(one) for one in ([line] * count if isinstance(line, str) else line)])
    if position is None:
        position = np.zeros(count, dtype=np.int64)
        for i, rows in _rows_by_line(in_line, lines):
            position[rows] = _draw_positions(production.axes[lines[i]], len(rows), rng)
    condition = rng.choice(len(CONDITIONS), size=count, p=assumptions.condition_prior)
    built, seen, altered, misread = {}, {}, {}, {}
    for feature in production.history.features:
        states = _draw_built(production, feature, in_line, position, rng)
        rates = np.array(assumptions.rates_by_condition(assumptions.alteration_rate(feature)))[condition]
        sure = rng.choice(len(SURENESSES), size=count, p=sureness).astype(np.int16)
        shown = observe(feature, states, rates, sure, rng, assumptions)
        code = np.where(shown.altered & (rng.random(count) < noticed), LOOKS_SERVICED, shown.code)
        unseen = not_seen if isinstance(not_seen, float) else not_seen[feature.access]
        hidden = rng.random(count) < unseen
        built[feature.id], altered[feature.id] = states, shown.altered
        seen[feature.id] = np.where(hidden, NOT_SEEN, code).astype(np.int16)
        misread[feature.id] = shown.misread & (seen[feature.id] >= 0)
    return DrawnSets(production, in_line, position, condition, built, seen, altered, misread)


def _rows_by_line(in_line: np.ndarray, lines: Sequence[str]) -> Iterator[tuple[int, np.ndarray]]:
    for i in range(len(lines)):
        rows = np.flatnonzero(in_line == i)
        if len(rows):
            yield i, rows


def _draw_positions(axis: Axis, count: int, rng: np.random.Generator) -> np.ndarray:
    """Places of the axis that hold sets, each equally likely."""
    sizes = np.array([last - first + 1 for first, last in axis.stretches])
    firsts = np.array([first for first, _ in axis.stretches])
    ends = np.cumsum(sizes)
    rank = rng.integers(ends[-1], size=count)
    stretch = np.searchsorted(ends, rank, side="right")
    positions: np.ndarray = firsts[stretch] + rank - (ends - sizes)[stretch]
    return positions


def _draw_built(
    production: Production, feature: Feature, in_line: np.ndarray, position: np.ndarray, rng: np.random.Generator
) -> np.ndarray:
    built = np.zeros(len(in_line), dtype=np.int16)
    lines = production.family.line_ids
    for i, rows in _rows_by_line(in_line, lines):
        if feature.role == "variant" and feature.in_line(lines[i]):
            # Sets of a line that has the variant are never built without it.
            listed = np.array([feature.all_states.index(state) for state in feature.states])
            built[rows] = listed[rng.integers(len(listed), size=len(rows))]
        else:
            built[rows] = _built_without_variants(production, feature, lines[i], position[rows])
    return built


@dataclass(frozen=True, slots=True)
class Shown:
    """What items show and what was read: columns of n. `code` is the `seen_code`."""

    code: np.ndarray
    altered: np.ndarray
    misread: np.ndarray


def observe(
    feature: Feature,
    built: np.ndarray,
    rates: np.ndarray,
    sure: np.ndarray,
    rng: np.random.Generator,
    assumptions: Assumptions,
) -> Shown:
    """Alter items and read them.

    built : (n,) index into all_states. rates : (n,) probability that each was altered. sure : (n,) index into
    SURENESSES. An altered item shows what `altered_to` says, the factory state included, and is read as it is;
    an unaltered one is misread as any other listed state, at the rate of its sureness.
    """
    count, states = len(built), len(feature.all_states)
    altered = rng.random(count) < rates
    replacement = rng.choice(states + 1, size=count, p=altered_to(states, assumptions.listed_share))
    slips = np.array([assumptions.misread[name] for name in SURENESSES])[sure]
    misread = (rng.random(count) < slips) & ~altered & (states > 1)
    another = (built + rng.integers(1, max(states, 2), size=count)) % states
    read = np.where(altered, replacement, np.where(misread, another, built))
    return Shown(read * len(SURENESSES) + sure, altered, misread)


def survivors_of(drawn: DrawnSets) -> Survivors:
    """The drawn sets as other known examples, every serial and line known."""
    return Survivors(
        ids=tuple(f"set-{i + 1}" for i in range(len(drawn))),
        line=drawn.line.astype(np.int64),
        position=drawn.position.astype(np.int64),
        seen=drawn.seen,
    )


def bench_set_of(drawn: DrawnSets, row: int, *, with_serial: bool = True, with_line: bool = True) -> BenchSet:
    """One of the drawn sets as the set on the bench, with every observation made of it."""
    family = drawn.production.family
    line = family.line_ids[drawn.line[row]]
    serial = None
    if with_serial and drawn.production.axes[line].unit == SERIAL_UNIT:
        serial = describe(family, line, int(drawn.position[row]))
    observations = []
    for feature_id, codes in drawn.seen.items():
        code = int(codes[row])
        if code == NOT_SEEN:
            continue
        states = family.feature(feature_id).all_states
        if code == LOOKS_SERVICED:
            observations.append(Observation(feature_id, states[int(drawn.built[feature_id][row])], serviced=True))
            continue
        state, sure = divmod(code, len(SURENESSES))
        text = states[state] if state < len(states) else OTHER_STATE
        observations.append(Observation(feature_id, text, sure=SURENESSES[sure], written=text))
    return BenchSet(
        id=f"drawn-{row + 1}",
        family=family.id,
        serial=serial,
        line=line if with_line else None,
        observations=tuple(observations),
    )
