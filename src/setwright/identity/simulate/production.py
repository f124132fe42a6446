"""Production runs drawn at random: a cut-in for every change, a history for every feature without documents."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np

from setwright.identity.assumptions import Assumptions
from setwright.identity.drawn.runs import LineView, Run, build_runs
from setwright.identity.history import Change, History, LineHistory, read_history
from setwright.identity.model import Family, ImpossibleHistory
from setwright.identity.places import Axis, axis_of
from setwright.identity.simulate.free import FreeKind, FreeRun, draw_free_run
from setwright.identity.simulate.windows import MOST_TRIES, draw_windows


@dataclass(frozen=True, slots=True)
class Production:
    """One production run of a family.

    cut_ins : the first position that has each change, by change id, on the axis of the change's line.
    free : by line and feature, how a feature ran that the line's documents do not mention.
    silent_blocks : the block, of those a silent change may belong to, that it was made in; by change id.
    """

    family: Family
    history: History
    axes: Mapping[str, Axis]
    cut_ins: Mapping[str, int]
    free: Mapping[tuple[str, str], FreeRun]
    silent_blocks: Mapping[str, int] = field(default_factory=dict)

    def line_history(self, line: str) -> LineHistory:
        """The documented history of one line."""
        return next(history for history in self.history.lines if history.line == line)

    def blocks(self, line: str) -> tuple[tuple[Change, ...], ...]:
        """The changes of each block of a line, silent ones where they were made."""
        history = self.line_history(line)
        blocks = [list(block) for block in history.blocks]
        for change in history.silent:
            blocks[self.silent_blocks[change.id]].append(change)
        return tuple(tuple(block) for block in blocks)


def draw_production(
    family: Family,
    rng: np.random.Generator,
    *,
    simultaneous: float | None = 0.5,
    assumptions: Assumptions | None = None,
    free: Mapping[str, FreeKind] | None = None,
) -> Production:
    """Draw every cut-in of a family, line by line; lines that share their cut-ins have the same ones.

    simultaneous : probability that a block of changes is made at one stroke, each block for itself. None draws
        from the prior that identity computes with; ordered windows there leave less room to the others, so that
        with four blocks five in six are made at one stroke.
    free : how features that no document mentions ran, by id; the others as likely as the assumptions have it.

    Given which blocks are spread out, all ordered windows on the axis are equally likely, and so is every
    position of a window for each of its changes. Raises ImpossibleHistory where the documented bounds are
    hardly ever kept.
    """
    return next(draw_productions(family, rng, simultaneous=simultaneous, assumptions=assumptions, free=free))


def draw_productions(
    family: Family,
    rng: np.random.Generator,
    *,
    simultaneous: float | None = 0.5,
    assumptions: Assumptions | None = None,
    free: Mapping[str, FreeKind] | None = None,
) -> Iterator[Production]:
    """One production after the other, without end, as `draw_production` draws them; the family is read only once."""
    assumptions = Assumptions() if assumptions is None else assumptions
    kinds = {} if free is None else free
    history = read_history(family)
    nowhere = np.empty(0, dtype=np.int64)
    axes = {line.line: axis_of(family, line.line, nowhere) for line in history.lines}
    runs, views = build_runs(family, history, axes)
    while True:
        cut_ins: dict[str, int] = {}
        silent_blocks: dict[str, int] = {}
        free_runs: dict[tuple[str, str], FreeRun] = {}
        for number, run in enumerate(runs):
            followers = [view for view in views if view.run == number]
            made = _draw_run(run, followers, rng, simultaneous)
            for view in followers:
                cut_ins |= {c.id: made.cut_ins[column] for c, column in zip(view.changes, view.columns, strict=True)}
                silent_blocks |= _own_blocks(view, made)
            drawn = {
                key: draw_free_run(family.feature(key[1]), run.axis, rng, assumptions.free_shares, kinds.get(key[1]))
                for key in run.free
            }
            free_runs |= {(v.history.line, feature): drawn[key] for v in followers for feature, key in v.free.items()}
        yield Production(family, history, axes, cut_ins, free_runs, silent_blocks)


@dataclass(frozen=True, slots=True)
class _Made:
    """A run's cut-ins and the block of each, in the order of its changes."""

    cut_ins: list[int]
    blocks: list[int]


def _draw_run(run: Run, views: list[LineView], rng: np.random.Generator, simultaneous: float | None) -> _Made:
    bounded = [(c, column) for view in views for c, column in zip(view.changes, view.columns, strict=True)]
    for _ in range(MOST_TRIES):
        windows = draw_windows(run.blocks, run.axis, rng, simultaneous)
        blocks = [change.block for change in run.changes[: run.fixed]]
        cut_ins: list[int] = []
        for size, (start, end) in zip(run.block_sizes, windows, strict=True):
            cut_ins += [int(place) for place in rng.integers(start, end + 1, size=size)]
        for change in run.changes[run.fixed :]:
            blocks.append(change.spans[int(rng.integers(len(change.spans)))])
            start, end = windows[blocks[-1]]
            cut_ins.append(int(rng.integers(start, end + 1)))
        if all(_within_bounds(change, cut_ins[column]) for change, column in bounded):
            return _Made(cut_ins, blocks)
    names = " and ".join(view.history.line for view in views)
    raise ImpossibleHistory(
        f"Line {names}: in {MOST_TRIES:,} random productions the documented bounds were never all kept. "
        "Check the bounds against each other and against the length of the run."
    )


def _within_bounds(change: Change, cut_in: int) -> bool:
    return (change.earliest is None or cut_in >= change.earliest) and (change.latest is None or cut_in <= change.latest)


def _own_blocks(view: LineView, made: _Made) -> dict[str, int]:
    """The line's own block of each change of which its documents leave that open."""
    first = len(view.history.changes)
    open_ones = zip(view.changes[first:], view.columns[first:], strict=True)
    return {change.id: view.own_block.get(made.blocks[column], change.block) for change, column in open_ones}
