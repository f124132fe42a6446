"""Production histories of the full identity model, listed one by one with their prior weights.

Written from the model's definition alone and sharing no computation with the package. A history is a combination of
one row of every component: a run of documented changes, or a feature that no document of a line mentions.
`enumeration_full` puts sets into these histories.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np
from enumeration import ordered_windows

ABSENT = "absent"
FREE_SHARES = (0.5, 0.25, 0.25)
"""A feature that no document mentions changes, stays, or is mixed throughout."""


@dataclass(frozen=True)
class Axis:
    """Positions first … last of one line; `stand` are those that hold sets."""

    first: int
    last: int
    stand: tuple[int, ...] = ()

    @property
    def positions(self):
        return np.arange(self.first, self.last + 1)

    @property
    def holding(self):
        return self.stand or tuple(range(self.first, self.last + 1))


@dataclass(frozen=True)
class Change:
    """One documented change of a line; `gaps` are the gaps between its versions that it may have been made in."""

    id: str
    line: str
    feature: str
    before: str
    after: str
    gaps: tuple[int, ...]

    @property
    def key(self):
        return self.feature, self.before, self.after


@dataclass(frozen=True)
class Documents:
    """What the versions of one line say: changes, the gaps that hold blocks, the states before the first change."""

    line: str
    versions: tuple
    changes: tuple[Change, ...]
    gaps: tuple[int, ...]
    start: dict
    free: tuple[str, ...]

    def entries(self):
        """Keys of the verdict entries, stages first and then the gaps between them."""
        if not self.versions:
            return [(self.line, None)]
        stages = [self.versions[0].id, *(self.versions[gap + 1].id for gap in self.gaps)]
        return [(self.line, stage) for stage in stages] + [(self.line, pair) for pair in itertools.pairwise(stages)]


def read_documents(family, line):
    """Changes between consecutive mentions. One that spans silent versions may belong to any block of the others."""
    versions = [v for v in family.versions if v.line == line]
    spans, start, free = [], {}, []
    for f in family.features:
        if f.role == "variant" or (f.lines is not None and line not in f.lines):
            continue
        said = [(i, v.states[f.id]) for i, v in enumerate(versions) if f.id in v.states]
        if not said:
            free.append(f.id)
            continue
        start[f.id] = said[0][1]
        changed = [(i, x, j, y) for (i, x), (j, y) in itertools.pairwise(said) if x != y]
        spans += [(f"{line}:{f.id}:{n}", f.id, x, y, range(i, j)) for n, (i, x, j, y) in enumerate(changed, start=1)]
    plain = {gaps[0] for *_, gaps in spans if len(gaps) == 1}
    changes = []
    for change_id, feature, before, after, gaps in spans:
        spanned = tuple(gap for gap in gaps if gap in plain)
        changes.append(Change(change_id, line, feature, before, after, spanned or (gaps[-1],)))
    made = {gap for change in changes for gap in change.gaps}
    silent = [gaps for *_, gaps in spans if len(gaps) > 1]
    if len(silent) > 1 and any(gap in made - plain for gaps in silent for gap in gaps):
        raise ValueError("two silences that make blocks of each other: the definition does not settle this")
    return Documents(line, tuple(versions), tuple(changes), tuple(sorted(made)), start, tuple(free))


@dataclass
class Component:
    """Rows of one independent part of a history with their weights (summing to 1).

    tables : for (line, feature) the factory states, (rows, positions of the line, states).
    """

    weight: np.ndarray
    tables: dict


@dataclass
class Run(Component):
    """A run of documented changes. taus : for every change id, (rows,). entries : for every line,
    (rows, positions) index into the line's `Documents.entries`."""

    taus: dict
    entries: dict


@dataclass
class Free(Component):
    """One free feature. kinds : a row's (kind, order of states). cuts : its cut-ins. shares : its mixture."""

    lines: tuple[str, ...]
    kinds: list
    cuts: list
    shares: list


def run_blocks(leader, followers):
    """Changes of a run as (key, lines' changes, its possible blocks), and every line's own block of each run block."""
    members = {c.key: ([c], tuple(leader.gaps.index(gap) for gap in c.gaps)) for c in leader.changes}
    own_blocks = {leader.line: {j: j for j in range(len(leader.gaps))}}
    for docs in followers:
        shared = [c for c in docs.changes if c.key in members]
        stand = {}
        for change in shared:
            blocks = members[change.key][1]
            if len(blocks) != len(change.gaps):
                raise ValueError("lines that share a change date it differently: the definition does not settle this")
            for block, gap in zip(blocks, change.gaps, strict=True):
                if stand.setdefault(gap, block) != block:
                    raise ValueError("one step of a follower holds changes of several blocks: not settled")
            members[change.key][0].append(change)
        for change in docs.changes:
            if change not in shared:
                members[(docs.line, *change.key)] = ([change], tuple(stand[gap] for gap in change.gaps))
        own_blocks[docs.line] = {block: docs.gaps.index(gap) for gap, block in stand.items()}
    return list(members.values()), own_blocks


def list_run(family, leader, followers, axis):
    """Every assignment of silent changes to blocks and every combination of cut-ins, with its prior weight.

    The weight of a combination is the sum over all windows around it of the windows' weight over their combinations.
    """
    members, own_blocks = run_blocks(leader, followers)
    windows = list(ordered_windows(len(leader.gaps), axis.first, axis.last))
    total = sum(weight for _, weight in windows)
    count, size = len(members), axis.last - axis.first + 1
    blocks, taus, weights = [], [], []
    assignments = list(itertools.product(*[possible for _, possible in members]))
    for assigned in assignments:
        table = np.zeros((size,) * count)
        for window, weight in windows:
            inside = [window[j] for j in assigned]
            stretch = tuple(slice(s - axis.first, t - axis.first + 1) for s, t in inside)
            table[stretch] += weight / total / math.prod(t - s + 1 for s, t in inside)
        rows = np.argwhere(table > 0.0)
        blocks.append(np.tile(np.array(assigned, dtype=int), (len(rows), 1)))
        taus.append(rows + axis.first)
        weights.append(table[table > 0.0] / len(assignments))
    blocks, taus, weight = np.concatenate(blocks), np.concatenate(taus), np.concatenate(weights)
    keep = np.ones(len(weight), dtype=bool)
    for n, (changes, _) in enumerate(members):
        for change in changes:
            low, high = bounds_of(family, change)
            keep &= (taus[:, n] >= low) & (taus[:, n] <= high)
    return blocks[keep], taus[keep], weight[keep] / weight[keep].sum(), members, own_blocks


def bounds_of(family, change):
    low, high = -math.inf, math.inf
    for b in family.cut_in_bounds:
        if (b.line, b.feature, b.from_state, b.to_state) == (change.line, *change.key):
            low = max(low, -math.inf if b.after is None else b.after + 1)
            high = min(high, math.inf if b.before is None else b.before)
    return low, high


def documented_run(family, documents, axes, leader):
    """The component of one line's run and of the lines that share it."""
    followers = [documents[li.id] for li in family.lines if li.shares_cutins_with == leader]
    docs = documents[leader]
    blocks, taus, weight, members, own_blocks = list_run(family, docs, followers, axes[leader])
    by_id, tables, entries = {}, {}, {}
    for line in (docs, *followers):
        positions = axes[line.line].positions
        columns = [next(n for n, (same, _) in enumerate(members) if change in same) for change in line.changes]
        by_id |= {change.id: taus[:, n] for change, n in zip(line.changes, columns, strict=True)}
        for feature in line.start:
            f = family.feature(feature)
            path = [(c.after, by_id[c.id]) for c in line.changes if c.feature == feature]
            tables[line.line, feature] = states_between(f, line.start[feature], path, positions, len(weight))
        own = own_blocks[line.line]
        in_block = [[own[b] for b in row] for row in blocks[:, columns].tolist()]
        in_block = np.array(in_block, dtype=int).reshape(len(weight), len(columns))
        entries[line.line] = entry_numbers(in_block, taus[:, columns], positions, line)
    return Run(weight, tables, by_id, entries)


def states_between(f, start, path, positions, rows):
    """(rows, positions, states): sharp at each cut-in, or half and half within the overlap around it.

    Where two overlaps meet, the earlier change's ends and the later one's begins at max(tau_1, tau_2 - o + 1).
    """
    states = f.all_states
    table = np.zeros((rows, len(positions), len(states)))
    table[:, :, states.index(start)] = 1.0
    before, tau_before = start, None
    for after, tau in path:
        old, new = np.eye(len(states))[states.index(before)], np.eye(len(states))[states.index(after)]
        apart = positions[None, :] - tau[:, None]
        share = np.where(np.abs(apart) < f.overlap, 0.5, apart >= 0)[:, :, None]
        begins = tau - f.overlap + 1 if f.overlap else tau
        if tau_before is not None and f.overlap:
            begins = np.maximum(tau_before, begins)
        table = np.where((positions[None, :] >= begins[:, None])[:, :, None], share * new + (1 - share) * old, table)
        before, tau_before = after, tau
    return table


def entry_numbers(in_block, taus, positions, docs):
    """(rows, positions) the first block that is not complete: its stage if nothing of it is made, else its gap."""
    made = positions[None, :, None] >= taus[:, None, :]
    numbers = np.full(made.shape[:2], len(docs.gaps))
    for j in reversed(range(len(docs.gaps))):
        own = (in_block == j)[:, None, :]
        lacking, having = (own & ~made).any(axis=2), (own & made).any(axis=2)
        numbers = np.where(lacking, np.where(having, len(docs.gaps) + 1 + j, j), numbers)
    return numbers


def free_feature(f, lines, axis, sets):
    """The component of one free feature in lines that share their run (usually one)."""
    rows, kinds, cuts, shares, weights = [], [], [], [], []

    def add(kind, order, cut, share, weight, table):
        rows.append(np.broadcast_to(table, (len(axis.positions), len(f.all_states))))
        kinds.append((kind, order))
        cuts.append(cut)
        shares.append(share)
        weights.append(weight)

    k = len(f.states)
    listed = np.array([[x == state for x in f.all_states] for state in f.states], dtype=float)
    orders = list(itertools.permutations(f.states))
    tuples = list(itertools.combinations_with_replacement(axis.positions, k - 1))
    for order, cut in itertools.product(orders, tuples):
        path = [(after, np.array([tau])) for after, tau in zip(order[1:], cut, strict=True)]
        table = states_between(f, order[0], path, axis.positions, 1)[0]
        add("changes", order, cut, None, FREE_SHARES[0] / len(orders) / len(tuples), table)
    for state, table in zip(f.states, listed, strict=True):
        add("throughout", (state,), None, None, FREE_SHARES[1] / k, table)
    for share, weight in shares_with_weights(k, sets):
        add("mixed", (), None, share, FREE_SHARES[2] * weight, share @ listed)
    table = np.stack(rows)
    tables = {(line, f.id): table for line in lines}
    return Free(np.array(weights), tables, tuple(lines), kinds, cuts, shares)


def shares_with_weights(k, sets):
    """Gauss nodes for shares uniform on the simplex: v_i ~ Beta(1, k - i) of what is left goes to state i.

    Every set's likelihood is linear in the shares, so with the density of v_1 the integrand has degree `sets` + k - 2.
    """
    count = (sets + k) // 2
    nodes, weights = np.polynomial.legendre.leggauss(count)
    nodes, weights = (nodes + 1.0) / 2.0, weights / 2.0
    for chosen in itertools.product(range(count), repeat=k - 1):
        left, weight, share = 1.0, 1.0, []
        for i, node in enumerate(chosen, start=1):
            weight *= weights[node] * (k - i) * (1.0 - nodes[node]) ** (k - i - 1)
            share.append(left * nodes[node])
            left *= 1.0 - nodes[node]
        yield np.array([*share, left]), weight


def list_productions(family, axes, sets):
    """All components of a family's history, fine enough for so many sets, and each line's documents."""
    documents = {line.id: read_documents(family, line.id) for line in family.lines}
    leader_of = {line.id: line.shares_cutins_with or line.id for line in family.lines}
    components = []
    for leader in dict.fromkeys(leader_of.values()):
        components.append(documented_run(family, documents, axes, leader))
        lines = [line for line in documents if leader_of[line] == leader]
        for f in family.features:
            free = [line for line in lines if f.id in documents[line].free]
            together = [free] if leader in free else [[line] for line in free]
            components += [free_feature(f, some, axes[some[0]], sets) for some in together if some]
    return components, documents
