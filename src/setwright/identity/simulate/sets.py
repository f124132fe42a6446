"""Sets of a production drawn at random, in columns."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from setwright.identity.assumptions import CONDITIONS, Assumptions
from setwright.identity.model import LOOKS_SERVICED, NOT_SEEN, SURENESSES
from setwright.identity.simulate.built import draw_built, rows_by_line
from setwright.identity.simulate.marriages import Marriages, draw_marriages, draw_positions
from setwright.identity.simulate.production import Production
from setwright.identity.simulate.reading import observe


@dataclass(frozen=True, slots=True)
class DrawnSets:
    """Sets of one production, in columns of n; features by id.

    line : index into `Family.line_ids`. position : on the axis of that line. condition : index into CONDITIONS.
    built : index into the feature's all_states, as it left the factory: the set's own, or for a married group that
        of the set it came from.
    seen : `seen_code`, NOT_SEEN or LOOKS_SERVICED, as in `Survivors`.
    altered : the item was altered, looked at or not. misread : it was read as another listed state than it has.
    marriages : which group of each came from elsewhere; `line` and `position` are those of its main group.
    """

    production: Production
    line: np.ndarray
    position: np.ndarray
    condition: np.ndarray
    built: Mapping[str, np.ndarray]
    seen: Mapping[str, np.ndarray]
    altered: Mapping[str, np.ndarray]
    misread: Mapping[str, np.ndarray]
    marriages: Marriages

    def __len__(self) -> int:
        return len(self.line)


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
    married: float = 0.0,
) -> DrawnSets:
    """Draw sets of a production: where they stand, in which condition they are, what they show.

    not_seen : probability that nobody looked at a feature, one for all or by access.
    sureness : shares of certain, likely and guess.
    noticed : share of altered items that look serviced and are noted as that.
    line : one line for all, or each set's own (default: every line equally likely). position : (count,) places
        on the axes of those lines (default: every place that holds sets equally likely); needs `line`.
    married : probability that one other group of a set's features came from elsewhere.
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
        for i, rows in rows_by_line(in_line, lines):
            position[rows] = draw_positions(production.axes[lines[i]], len(rows), rng)
    condition = rng.choice(len(CONDITIONS), size=count, p=assumptions.condition_prior)
    axes = {number: production.axes[line_id] for number, line_id in enumerate(lines)}
    marriages = draw_marriages(production.history.features, axes, in_line, position, married, rng)
    built, seen, altered, misread = {}, {}, {}, {}
    for feature in production.history.features:
        elsewhere = marriages.from_elsewhere(feature.group)
        its_line = np.where(elsewhere, marriages.line, in_line)
        its_position = np.where(elsewhere, marriages.position, position)
        states = draw_built(production, feature, its_line, its_position, rng)
        rates = np.array(assumptions.rates_by_condition(assumptions.alteration_rate(feature)))[condition]
        sure = rng.choice(len(SURENESSES), size=count, p=sureness).astype(np.int16)
        shown = observe(feature, states, rates, sure, rng, assumptions)
        code = np.where(shown.altered & (rng.random(count) < noticed), LOOKS_SERVICED, shown.code)
        unseen = not_seen if isinstance(not_seen, float) else not_seen[feature.access]
        hidden = rng.random(count) < unseen
        built[feature.id], altered[feature.id] = states, shown.altered
        seen[feature.id] = np.where(hidden, NOT_SEEN, code).astype(np.int16)
        misread[feature.id] = shown.misread & (seen[feature.id] >= 0)
    return DrawnSets(production, in_line, position, condition, built, seen, altered, misread, marriages)
