"""Other known sets beside the one on the bench: which are most like it, and what to ask their owners."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from setwright.identity.answer import Difference, Question, Sister
from setwright.identity.drawn.bench import Cases, changes_made, entries_of, mixes_at, own_blocks
from setwright.identity.drawn.engine import Register, Weighed
from setwright.identity.drawn.known import marginal_tables
from setwright.identity.drawn.marginal import draw_latents
from setwright.identity.drawn.responsibilities import states_at
from setwright.identity.model import LOOKS_SERVICED, SURENESSES

WORLDS = 600
"""Cases of the bench set drawn for comparing it with others."""

MOST_SISTERS = 40
MOST_PLACELESS = 100
MOST_COMPARED = 400
MOST_QUESTIONS = 60
LEAST_BITS = 0.005
GRID = 64


@dataclass(frozen=True, slots=True)
class _Worlds:
    """Cases of equal weight: (WORLDS,) the history, the bench set's line and place, and the verdict entry."""

    draw: np.ndarray
    line: np.ndarray
    position: np.ndarray
    entry: np.ndarray


@dataclass(frozen=True, slots=True)
class _Other:
    """One other set in those worlds: (WORLDS,) its line and place."""

    row: int
    name: str
    line: np.ndarray
    position: np.ndarray


class Neighbours:
    """The bench set's relations to the survivors whose own unknowns were drawn."""

    def __init__(
        self, register: Register, weighed: Weighed, cases: Cases, names: Sequence[str], rng: np.random.Generator
    ) -> None:
        self.register, self.weighed = register, weighed
        self.worlds = self._draw_worlds(cases, rng)
        self._made = {
            view.number: changes_made(
                view,
                weighed,
                self.worlds.draw[self.worlds.line == view.number],
                self.worlds.position[self.worlds.line == view.number],
            )
            for view in register.views
        }
        self.line_chance = np.bincount(cases.line, weights=cases.mass.sum(axis=(1, 2)), minlength=len(register.views))
        self.others = self._others(names, rng)
        self._tables = marginal_tables(register.tables)
        self._run_shares = self._shares_over_run()

    def _draw_worlds(self, cases: Cases, rng: np.random.Generator) -> _Worlds:
        mass = np.cumsum(cases.mass.sum(axis=(1, 2)))
        picked = np.searchsorted(mass, (np.arange(WORLDS) + rng.random()) / WORLDS * mass[-1])
        picked = np.minimum(picked, len(cases) - 1)
        draw, line, position = cases.draw[picked], cases.line[picked], cases.first[picked]
        entry = np.zeros(WORLDS, dtype=np.int64)
        for view in self.register.views:
            here = np.flatnonzero(line == view.number)
            made = changes_made(view, self.weighed, draw[here], position[here])
            block = own_blocks(view, self.register.runs[view.run].fixed, self.weighed, draw[here])
            entry[here] = entries_of(view, made, block) + 1000 * view.number
        return _Worlds(draw, line, position, np.unique(entry, return_inverse=True)[1])

    def _others(self, names: Sequence[str], rng: np.random.Generator) -> list[_Other]:
        sets, others, placeless = self.register.sets, [], 0
        near = self._near()
        # Only the histories of the worlds matter, a fraction of all.
        drawn, world = np.unique(self.worlds.draw, return_inverse=True)
        marginal = self.register.marginal(self.weighed.draws.rows(drawn))
        for row, name in enumerate(names):
            if row not in near:
                continue
            if sets.line[row] >= 0:
                line, position = np.full(WORLDS, sets.line[row]), np.full(WORLDS, sets.position[row])
            else:
                placeless += 1
                if placeless > MOST_PLACELESS:
                    continue
                latents = draw_latents(marginal, row, rng)
                line, position = latents.line[world], latents.position[world]
            others.append(_Other(row, name, line, position))
        return others

    def _near(self) -> set[int]:
        """The rows compared: all, or in large registers those that stand nearest and those of no known place."""
        sets = self.register.sets
        rows = np.arange(self.register.bench)
        if len(rows) <= MOST_COMPARED:
            return set(rows.tolist())
        line = int(np.bincount(self.worlds.line).argmax())
        middle = np.median(self.worlds.position[self.worlds.line == line].clip(0))
        far = np.abs(sets.position[rows] - middle) + np.where(sets.line[rows] == line, 0.0, 1e12)
        near = rows[np.argsort(np.where(sets.line[rows] >= 0, far, np.inf), kind="stable")[:MOST_COMPARED]]
        return {*near.tolist(), *rows[sets.line[rows] < 0].tolist()}

    def _shares_over_run(self) -> list[tuple[np.ndarray, ...]]:
        """Per line and feature (states,) share of each state over the whole run."""
        shares = []
        for view in self.register.views:
            grid = np.linspace(view.axis.first, view.axis.last, GRID).astype(np.int64)
            chances = states_at(self.weighed.marginal.events[view.number], grid)
            shares.append(tuple(chance.mean(axis=0) for chance in chances))
        return shares

    def sisters(self) -> tuple[Sister, ...]:
        """The sets most like the one on the bench, fewest changes apart first."""
        found = sorted(((self._apart(other), number) for number, other in enumerate(self.others)))
        answers = []
        for apart, number in found[:MOST_SISTERS]:
            other = self.others[number]
            differences = self._differences(other)
            same_line = float(np.bincount(other.line, minlength=len(self.line_chance)) / WORLDS @ self.line_chance)
            total = sum(difference.decibans for difference in differences)
            answers.append(Sister(other.name, apart, same_line, total, differences))
        return tuple(answers)

    def _apart(self, other: _Other) -> float:
        """Expected number of documented changes one has and the other has not; all of the line's in another line."""
        total = 0.0
        for view in self.register.views:
            here = np.flatnonzero(self.worlds.line == view.number)
            if len(here) == 0:
                continue
            mine = self._made[view.number]
            theirs = changes_made(view, self.weighed, self.worlds.draw[here], other.position[here])
            differ = (mine != theirs).sum(axis=1)
            total += float(np.where(other.line[here] == view.number, differ, len(view.changes)).sum())
        return total / WORLDS

    def _differences(self, other: _Other) -> tuple[Difference, ...]:
        sets, bench = self.register.sets, self.register.bench
        line = int(np.bincount(other.line).argmax())
        found = []
        for number, feature in enumerate(self.register.features):
            mine, theirs = int(sets.codes[bench, number]), int(sets.codes[other.row, number])
            if mine < 0 or theirs < 0:
                continue
            share = self._run_shares[line][number]
            one, two = self._tables[number][mine], self._tables[number][theirs]
            ratio = (share * one * two).sum() / ((share * one).sum() * (share * two).sum())
            names = (*feature.all_states, "something else")
            found.append(
                Difference(
                    feature.id,
                    names[mine // len(SURENESSES)],
                    names[theirs // len(SURENESSES)],
                    10.0 * float(np.log10(ratio)),
                )
            )
        found.sort(key=lambda difference: difference.decibans)
        return tuple(found)

    def questions(self) -> tuple[Question, ...]:
        """Looks at other owners' sets, those that tell most of this set's verdict first."""
        count = int(self.worlds.entry.max()) + 1
        if count < 2:
            return ()
        one_hot = np.zeros((count, WORLDS))
        one_hot[self.worlds.entry, np.arange(WORLDS)] = 1.0 / WORLDS
        near = sorted(self.others, key=self._apart)[: 5 * MOST_SISTERS]
        found = []
        for other in near:
            for number, feature in enumerate(self.register.features):
                asked = self.register.sets.codes[other.row, number]
                if asked >= 0 or asked == LOOKS_SERVICED or feature.role == "variant":
                    continue
                if feature.access in ("lead lifted", "powered"):
                    continue
                bits = _information(one_hot, self._outcomes(number, other))
                if bits >= LEAST_BITS:
                    found.append(Question(other.name, feature.id, bits, feature.access))
        found.sort(key=lambda question: (-question.bits, question.set, question.feature))
        return tuple(found[:MOST_QUESTIONS])

    def _outcomes(self, number: int, other: _Other) -> np.ndarray:
        """(WORLDS, states + 1) chance of what a certain look at another set would show."""
        states = len(self.register.features[number].all_states)
        mix = np.zeros((WORLDS, states))
        for line in np.unique(other.line):
            here = np.flatnonzero(other.line == line)
            events = self.weighed.marginal.events[line]
            mix[here] = mixes_at(events, number, self.worlds.draw[here], other.position[here])
        certain = self._tables[number][: (states + 1) * len(SURENESSES) : len(SURENESSES)]
        outcomes: np.ndarray = mix @ certain.T
        return outcomes


def _information(one_hot: np.ndarray, outcomes: np.ndarray) -> float:
    """Bits that the outcome tells of the entry. one_hot : (entries, worlds) weights; outcomes : (worlds, n)."""
    joint = one_hot @ outcomes
    apart = joint.sum(axis=1, keepdims=True) * joint.sum(axis=0, keepdims=True)
    ratio = np.divide(joint, apart, out=np.ones_like(joint), where=(joint > 0.0) & (apart > 0.0))
    return float((joint * np.log2(ratio)).sum())
