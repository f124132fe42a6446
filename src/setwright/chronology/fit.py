"""A family's production dated by its survivors: one chain for each line, stock lags learnt from all."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType

import numpy as np

from setwright.chronology.answer import RunCurve
from setwright.chronology.chain import Chain, make_chain
from setwright.chronology.curves import curve_of
from setwright.chronology.evidence import EvidenceRows
from setwright.chronology.grid import grid_of_weeks
from setwright.chronology.lags import Lags, usual_lags
from setwright.chronology.likelihood import says_something, scattered
from setwright.chronology.model import Assumptions, DatedSet, Evidence, Production, Run
from setwright.chronology.pace import Paces
from setwright.chronology.settling import settled_places
from setwright.chronology.teaching import taught_lags
from setwright.chronology.weeks import Weeks
from setwright.notation import DateInterval

MOST_NODES = 320
"""So many nodes a chain has at most; in larger registers neighbours in serial share one."""

STEPS_A_NODE = 8
"""Shared nodes stand at multiples of so small a part of their mean distance."""

FEW_SETS, COARSE_NODES = 64, 16
"""Of a register of more sets than the one, so many are looked at first, to find the paces worth summing over."""

_FLOOR = 1e-60
"""A node's week keeps this much of its likelihood at least, against its best."""

_CROWD, _SUITS = 3, 0.2
"""On a node of more sets than this a stamp is doubted only if it agrees with it by less than this."""

_NEGLIGIBLE = 1e-10
"""Parameters of less weight than this in all of a chain are left out of it afterwards."""

Report = Callable[[str, float], None]
"""Told how far the work is: a text and a share from 0 to 1; raising in it cancels."""


def _silent(text: str, share: float) -> None:
    return


@dataclass(frozen=True)
class FittedLine:
    """One line with its chain. node_of : the chain's node of each set that stands on it, by the set's number."""

    run: Run
    chain: Chain
    node_of: Mapping[int, int]


@dataclass(frozen=True)
class Fitted:
    """A family's production with everything that its survivors tell of dates.

    The chain dates numbers; a set is finished a little before or after its number's turn, as `rows.kernel` says.
    """

    production: Production
    sets: tuple[DatedSet, ...]
    rows: EvidenceRows
    lines: Mapping[str, FittedLine]

    @property
    def weeks(self) -> Weeks:
        """The grid of weeks."""
        return self.rows.weeks

    @property
    def lags(self) -> Lags:
        """The stock lags learnt."""
        return self.rows.lags

    @property
    def assumptions(self) -> Assumptions:
        """What was assumed."""
        return self.rows.assumptions

    def numbered(self, line: str, position: int) -> np.ndarray:
        """(count,) probability of the week in which a position's turn came."""
        return self.lines[line].chain.week_at(position)

    def finished(self, line: str, position: int) -> np.ndarray:
        """(count,) probability of the week in which the set at a position was finished, nothing known of it itself."""
        return scattered(self.numbered(line, position), self.rows.kernel)

    def cavity(self, number: int) -> np.ndarray | None:
        """(count,) the same for one of the sets, its own evidence left out; None where it stands on no chain."""
        for fitted in self.lines.values():
            node = fitted.node_of.get(number)
            if node is not None:
                return scattered(_without(fitted.chain, node, self.rows, self.sets[number]), self.rows.kernel)
        return None

    def curves(self, level: float) -> tuple[RunCurve, ...]:
        """The date curve of every line."""
        if level not in self._curves:
            made = tuple(curve_of(line.run, line.chain, self.weeks, level) for line in self.lines.values())
            self._curves[level] = made
        return self._curves[level]

    @cached_property
    def _curves(self) -> dict[float, tuple[RunCurve, ...]]:
        return {}

    @cached_property
    def contradictions(self) -> tuple[tuple[int, float], ...]:
        """Number of stamped sets on a chain, and the probability, from the others, that its stamp is wrong.

        Of the many sets on a shared node only those that disagree with the rest of it are looked into.
        """
        return tuple(
            (number, self._wrong_stamp(number))
            for line in self.lines.values()
            for number in _worth_a_look(line, self.sets, self.rows)
        )

    def _wrong_stamp(self, number: int) -> float:
        evidence = self.sets[number].evidence
        stamp = np.exp(self.rows.stamps([item for item in evidence if item.kind == "stamp"][:1]))
        cavity = self.cavity(number)
        assert cavity is not None, "only sets on a chain are asked for"
        week = cavity * np.exp(self.rows.parts(evidence))
        return float(week.sum() * stamp.min() / (week @ stamp))


def fit(
    production: Production,
    sets: Sequence[DatedSet] = (),
    assumptions: Assumptions | None = None,
    *,
    also: Sequence[Evidence] = (),
    nodes: int = MOST_NODES,
    progress: Report = _silent,
) -> Fitted:
    """Date a family's production from its survivors.

    also : evidence of a set that is to be dated, which counts for the length of the grid of weeks only.
    nodes : most nodes of a chain; of more dated survivors neighbours in serial share a node, and count as of one week.
    progress : told how far it is.

    Raises NothingDated where there is no date at all.
    """
    assumed = assumptions or Assumptions()
    given = tuple(sets)
    weeks = grid_of_weeks(production, [*(item for one in given for item in one.evidence), *also], assumed)
    progress("Learning stock lags", 0.0)
    # At first only stamps teach; then the chain that came of it does.
    untaught = EvidenceRows(weeks, usual_lags(), assumed)
    rows = untaught.with_lags(taught_lags(given, untaught, _nothing))
    progress("Dating the run", 0.2)
    large = len(given) > nodes
    first = _chains(production, given, rows, nodes, sample=COARSE_NODES) if len(given) > FEW_SETS else None
    if first is None or not large:
        first = _chains(production, given, rows, nodes, known=_paces(first))
    unplaced = any(one.position is None for one in given)
    if not (large or unplaced or any(item.kind == "part" for one in given for item in one.evidence)):
        return Fitted(production, given, rows, MappingProxyType(first))
    progress("Dating the run", 0.6)
    so_far = Fitted(production, given, rows, MappingProxyType(first))
    settled = settled_places(so_far) if unplaced else {}
    rows = rows.with_lags(taught_lags(given, rows, so_far.cavity))
    lines = _chains(production, given, rows, nodes, known=_paces(first), settled=settled)
    progress("Dating the run", 1.0)
    return Fitted(production, given, rows, MappingProxyType(lines))


def _paces(lines: Mapping[str, FittedLine] | None) -> dict[str, Paces] | None:
    """The paces left to sum over, by line."""
    return None if lines is None else {name: line.chain.paces for name, line in lines.items()}


def _worth_a_look(line: FittedLine, sets: Sequence[DatedSet], rows: EvidenceRows) -> list[int]:
    """Stamped sets of a line, by number; of crowded nodes only those whose stamp does not suit the node."""
    members = Counter(line.node_of.values())
    weeks: dict[int, np.ndarray] = {}
    found = []
    for number, node in line.node_of.items():
        stamp = next((item for item in sets[number].evidence if item.kind == "stamp"), None)
        if stamp is None:
            continue
        if members[node] > _CROWD:
            if node not in weeks:
                weeks[node] = scattered(line.chain.week(node), rows.kernel)
            likelihood = np.exp(rows.stamps((stamp,)))
            if weeks[node] @ (likelihood > 2.0 * likelihood.min()) > _SUITS:
                continue
        found.append(number)
    return found


def _nothing(number: int) -> None:
    return None


def _chains(
    production: Production,
    sets: Sequence[DatedSet],
    rows: EvidenceRows,
    nodes: int,
    *,
    sample: int | None = None,
    known: Mapping[str, Paces] | None = None,
    settled: Mapping[int, tuple[str, int]] = MappingProxyType({}),
) -> dict[str, FittedLine]:
    """The chain of every line. sample : take only so many of its sets. known : paces worth summing over, by line.

    settled : line and position of sets without a full serial whose place is clear all the same, by number.
    """
    standing: dict[str, list[tuple[int, int]]] = defaultdict(list)
    for number, one in enumerate(sets):
        place = one.position or settled.get(number)
        if place is not None and any(says_something(item, rows.assumptions) for item in one.evidence):
            standing[place[0]].append((place[1], number))
    fitted = {}
    for run in production.runs:
        here = sorted(standing[run.line])
        if sample is not None and len(here) > sample:
            here = [here[i] for i in np.linspace(0, len(here) - 1, sample).round().astype(int)]
        fitted[run.line] = _chain(production, run, here, sets, rows, nodes, None if known is None else known[run.line])
    return fitted


def _chain(
    production: Production,
    run: Run,
    here: Sequence[tuple[int, int]],
    sets: Sequence[DatedSet],
    rows: EvidenceRows,
    nodes: int,
    paces: Paces | None,
) -> FittedLine:
    """The chain of one line. here : position and number of the sets that stand on it, ascending."""
    position, place_of = _node_places([place for place, _ in here], nodes)
    total = np.zeros((len(position), rows.weeks.count))
    for start, log_likelihood in rows.numbered([sets[number] for _, number in here]):
        nodes_here, begins = np.unique(place_of[start : start + len(log_likelihood)], return_index=True)
        total[nodes_here] += np.add.reduceat(log_likelihood, begins, axis=0)
    nodes_placed, total = _with_ends(production, run, rows, position, total)
    # Below the floor nothing is left to tell apart, and numbers near the smallest there are cost the most time.
    likelihood = np.maximum(np.exp(total - total.max(axis=1, keepdims=True)), _FLOOR) if len(total) else total
    grid = paces or Paces.around(_mean_pace(run, nodes_placed, likelihood, rows.weeks))
    chain = _pruned(make_chain(grid, nodes_placed, likelihood, run.epochs))
    # The ends of the run and the epochs became nodes too, so the sets' own have moved.
    node = np.searchsorted(chain.position, position)[place_of] if len(here) else place_of
    return FittedLine(run, chain, {number: int(at) for (_, number), at in zip(here, node, strict=True)})


def _node_places(places: Sequence[int], most: int) -> tuple[np.ndarray, np.ndarray]:
    """Positions of at most so many nodes for sets at these places (ascending), and each one's node."""
    distinct, which = np.unique(np.array(places, dtype=np.int64), return_inverse=True)
    count = min(most, len(distinct))
    node_of_distinct = np.arange(len(distinct)) * count // max(len(distinct), 1)
    # A node that several places share stands in their middle, if it can at a multiple of a step: equal gaps cost once.
    first = np.searchsorted(node_of_distinct, np.arange(count))
    last = np.searchsorted(node_of_distinct, np.arange(count), side="right") - 1
    middle = distinct[(first + last) // 2]
    step = max(int(np.ptp(distinct)) // (count * STEPS_A_NODE), 1) if count else 1
    even = (middle + step // 2) // step * step
    inside = (distinct[first] <= even) & (even <= distinct[last])
    return np.where(inside, even, middle), node_of_distinct[which]


def _with_ends(
    production: Production, run: Run, rows: EvidenceRows, position: np.ndarray, total: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """The nodes with the first and last position of a documented run among them, dated by the documents."""
    ends = []
    if run.first_documented and production.introduced is not None:
        ends.append((run.first, _after(production.introduced, rows)))
    if run.last_documented and production.discontinued is not None:
        ends.append((run.last, _after(production.discontinued, rows, back=True)))
    for place, row in ends:
        at = int(np.searchsorted(position, place))
        if at < len(position) and position[at] == place:
            total[at] += row
        else:
            position, total = np.insert(position, at, place), np.insert(total, at, row, axis=0)
    return position, total


def _after(interval: DateInterval, rows: EvidenceRows, *, back: bool = False) -> np.ndarray:
    """(count,) log-likelihood of the week of the first set after an introduction, or of the last one before the end."""
    inside = rows.weeks.share_inside(interval)
    keep = np.exp(-rows.weeks.step / rows.assumptions.start_weeks)
    decay = keep ** np.arange(rows.weeks.count)
    moved = np.convolve(inside[::-1] if back else inside, decay)[: rows.weeks.count]
    return np.log(np.maximum(moved[::-1] if back else moved, 1e-6 * moved.max()))


def _mean_pace(run: Run, position: np.ndarray, likelihood: np.ndarray, weeks: Weeks) -> float:
    """Steps of the grid a position: between the first and the last dated set, or of the whole run."""
    if len(position) > 1:
        middle = likelihood @ np.arange(weeks.count) / likelihood.sum(axis=1)
        return max(float(np.ptp(middle)), 1.0) / float(position[-1] - position[0])
    return weeks.count / max(run.last - run.first, 1)


def _pruned(chain: Chain) -> Chain:
    """The chain without the parameters that carry no weight anywhere in it."""
    if len(chain.position) == 0:
        return chain
    weight = np.max([chain.pace_weight(node) for node in range(len(chain.position))], axis=0)
    clump, pace = (np.flatnonzero(weight.max(axis=axis) > _NEGLIGIBLE) for axis in (1, 0))
    return Chain(
        chain.paces.only(clump, pace),
        chain.epochs,
        chain.position,
        chain.likelihood,
        chain.before[:, clump][:, :, pace],
        chain.after[:, clump][:, :, pace],
        chain.weight[clump] / chain.weight[clump].sum(),
    )


def _without(chain: Chain, node: int, rows: EvidenceRows, one: DatedSet) -> np.ndarray:
    """(count,) probability of a node's week without what one of the sets on it says."""
    own = rows.scattered(rows.finished(one.evidence)[None, :])[0]
    log_others = np.log(np.maximum(chain.likelihood[node], 1e-300)) - own
    week = chain.cavity(node) * np.exp(log_others - log_others.max())
    return np.asarray(week / week.sum())
