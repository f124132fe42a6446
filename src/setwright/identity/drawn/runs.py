"""Production runs: one chain of changes each, which one line follows, or several that share their cut-ins."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from setwright.identity.history import Change, History, LineHistory
from setwright.identity.model import Family, ImpossibleHistory
from setwright.identity.places import FRACTION_UNIT, Axis


@dataclass(frozen=True, slots=True)
class RunChange:
    """One change of a run: `block` where it belongs, or -1 and in `spans` the blocks it may belong to.

    id : of the change in the leading line, or in the line that alone has it.
    """

    id: str
    feature: str
    from_state: str
    to_state: str
    block: int
    spans: tuple[int, ...] = ()
    earliest: int | None = None
    latest: int | None = None


@dataclass(frozen=True, slots=True)
class Run:
    """A chain of `blocks` blocks. Changes of known block come first, block by block, then those that span several.

    lines : numbers of the lines that follow it. free : (line number, feature) whose history is learnt from sets;
        lines of one run share it, so it stands here once, under the run's leading line if that has it.
    """

    lines: tuple[int, ...]
    axis: Axis
    blocks: int
    changes: tuple[RunChange, ...]
    free: tuple[tuple[int, str], ...]

    @property
    def block_sizes(self) -> tuple[int, ...]:
        """How many changes of known block each block has."""
        return tuple(sum(change.block == block for change in self.changes) for block in range(self.blocks))

    @property
    def fixed(self) -> int:
        """How many changes have a known block."""
        return sum(change.block >= 0 for change in self.changes)


@dataclass(frozen=True, slots=True)
class LineView:
    """One line as it follows its run.

    changes : the line's changes, those of known block first. columns : the run's number of each of them.
    own_block : (run block -> the line's own block) for changes that span several.
    free : feature -> (line number, feature), the run's key of its history.
    """

    number: int
    run: int
    history: LineHistory
    axis: Axis
    changes: tuple[Change, ...]
    columns: tuple[int, ...]
    own_block: Mapping[int, int]
    free: Mapping[str, tuple[int, str]]


def build_runs(
    family: Family, history: History, axes: Mapping[str, Axis]
) -> tuple[tuple[Run, ...], tuple[LineView, ...]]:
    """The runs of a family and every line's view of its run, in the order of the lines.

    Raises ImpossibleHistory where lines that share their cut-ins state them in contradicting orders.
    """
    leaders = _leaders(family)
    runs: list[Run] = []
    views: dict[int, LineView] = {}
    for root in sorted(set(leaders)):
        members = [root, *(n for n, leader in enumerate(leaders) if leader == root and n != root)]
        merged = _Merging(history.lines[root])
        for member in members[1:]:
            merged.follow(history.lines[member])
        shared = _shared_axes([axes[history.lines[m].line] for m in members])
        order = merged.order()
        free: list[tuple[int, str]] = []
        for member, axis in zip(members, shared, strict=True):
            line = history.lines[member]
            keys = {f: (root if f in history.lines[root].undocumented else member, f) for f in line.undocumented}
            free += [key for key in keys.values() if key not in free]
            changes = (*line.changes, *line.silent)
            columns = tuple(order[_key(change)] for change in changes)
            views[member] = LineView(member, len(runs), line, axis, changes, columns, merged.own_blocks(line), keys)
        axis = replace(shared[0], first=min(a.first for a in shared), last=max(a.last for a in shared), stretches=())
        axis = replace(axis, stretches=((axis.first, axis.last),))
        runs.append(Run(tuple(members), axis, len(merged.blocks), merged.changes(), tuple(free)))
    return tuple(runs), tuple(views[number] for number in sorted(views))


def _leaders(family: Family) -> list[int]:
    """For every line the number of the line whose run it follows: its own, unless it shares another's cut-ins."""
    numbers = {line.id: number for number, line in enumerate(family.lines)}
    leaders = []
    for number, line in enumerate(family.lines):
        seen = {number}
        while line.shares_cutins_with is not None and numbers[line.shares_cutins_with] not in seen:
            seen.add(numbers[line.shares_cutins_with])
            line = family.lines[numbers[line.shares_cutins_with]]
        # A ring of lines that share with each other is led by its first.
        leaders.append(min(seen) if line.shares_cutins_with is not None else numbers[line.id])
    return leaders


def _shared_axes(axes: list[Axis]) -> list[Axis]:
    """The axes of lines that share positions: a line without any serial takes the positions of one that has them."""
    known = [axis for axis in axes if axis.unit != FRACTION_UNIT]
    if not known:
        return axes
    first = known[0]
    return [
        replace(axis, first=first.first, last=first.last, unit=first.unit, stretches=first.stretches)
        if axis.unit == FRACTION_UNIT
        else axis
        for axis in axes
    ]


_Key = tuple[str, str, str, int]


def _key(change: Change) -> _Key:
    """What makes changes of two lines the same: feature, states, and which of several alike it is."""
    return change.feature, change.from_state, change.to_state, int(change.id.rsplit(":", 1)[1])


@dataclass(slots=True)
class _Merging:
    """A leading line's blocks, into which lines that share its cut-ins put their own changes."""

    leader: LineHistory
    blocks: list[dict[_Key, Change]] = field(default_factory=list)
    spanning: dict[_Key, tuple[Change, list[dict[_Key, Change]]]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.blocks = [{_key(change): change for change in block} for block in self.leader.blocks]
        for change in self.leader.silent:
            self.spanning[_key(change)] = (change, [self.blocks[block] for block in change.spans])

    def _block_of(self, key: _Key) -> int | None:
        return next((number for number, block in enumerate(self.blocks) if key in block), None)

    def _tighten(self, key: _Key, change: Change) -> None:
        """The bounds that either line documents hold for a shared change."""
        at = self._block_of(key)
        if at is None:
            return
        shared = self.blocks[at][key]
        earliest = [c.earliest for c in (shared, change) if c.earliest is not None]
        latest = [c.latest for c in (shared, change) if c.latest is not None]
        self.blocks[at][key] = replace(shared, earliest=max(earliest, default=None), latest=min(latest, default=None))

    def follow(self, line: LineHistory) -> None:
        """Put a line's own changes beside those it shares."""
        reached = -1
        homes: list[list[dict[_Key, Change]]] = []
        for block in line.blocks:
            shared = sorted({at for change in block if (at := self._block_of(_key(change))) is not None})
            if shared and shared[0] < reached:
                raise ImpossibleHistory(
                    f"Line {line.line} is documented as sharing its cut-ins with {self.leader.line}, but states "
                    f"{', '.join(change.id for change in block)} in another order. Correct the versions' order, or "
                    "leave shares_cutins_with out."
                )
            if not shared:
                shared = [reached + 1]
                self.blocks.insert(reached + 1, {})
            reached = shared[-1]
            homes.append([self.blocks[at] for at in shared])
            for change in block:
                key = _key(change)
                self._tighten(key, change)
                if self._block_of(key) is None and key not in self.spanning:
                    if len(shared) == 1:
                        self.blocks[shared[0]][key] = change
                    else:
                        self.spanning[key] = (change, homes[-1])
        for change in line.silent:
            if self._block_of(_key(change)) is None and _key(change) not in self.spanning:
                self.spanning[_key(change)] = (change, [home for span in change.spans for home in homes[span]])

    def _numbers(self, homes: list[dict[_Key, Change]]) -> tuple[int, ...]:
        return tuple(sorted({n for n, block in enumerate(self.blocks) if any(block is home for home in homes)}))

    def order(self) -> dict[_Key, int]:
        """The run's number of each change."""
        keys = [key for block in self.blocks for key in block] + list(self.spanning)
        return {key: number for number, key in enumerate(keys)}

    def changes(self) -> tuple[RunChange, ...]:
        """Changes of known block, block by block, then those that span several."""
        fixed = [(change, number, ()) for number, block in enumerate(self.blocks) for change in block.values()]
        spanning = [(change, -1, self._numbers(homes)) for change, homes in self.spanning.values()]
        return tuple(
            RunChange(c.id, c.feature, c.from_state, c.to_state, block, spans, c.earliest, c.latest)
            for c, block, spans in [*fixed, *spanning]
        )

    def own_blocks(self, line: LineHistory) -> dict[int, int]:
        """Run block -> block of the line, for blocks that hold changes of both."""
        own: dict[int, int] = {}
        for number, block in enumerate(line.blocks):
            for change in block:
                at = self._block_of(_key(change))
                if at is not None:
                    own.setdefault(at, number)
        return own
