"""The sets that take part in the joint histories, as columns: survivors, and the set on the bench last."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from setwright.identity.assumptions import CONDITIONS, Assumptions
from setwright.identity.likelihood import table_for
from setwright.identity.model import (
    LOOKS_SERVICED,
    NOT_SEEN,
    SURENESSES,
    BenchSet,
    Family,
    Feature,
    Survivors,
    seen_code,
)
from setwright.identity.places import Axis, Place, locate, on_axis

Ranges = tuple[tuple[int, int], ...]

MANY_KNOWN = 1000
MOST_UNCERTAIN = 100


@dataclass(frozen=True, slots=True)
class Sets:
    """n sets.

    line, position : (n,) where both are known; -1 where there are several places, listed in `places`.
    places : by row, line number -> the positions the set may have there.
    codes : (n, features) `seen_code`, NOT_SEEN or LOOKS_SERVICED.
    left_out : rows of the survivors that do not take part.
    """

    line: np.ndarray
    position: np.ndarray
    places: Mapping[int, Mapping[int, Ranges]]
    codes: np.ndarray
    left_out: tuple[int, ...] = ()

    def __len__(self) -> int:
        return len(self.line)

    def places_of(self, row: int) -> Mapping[int, Ranges]:
        """Line number -> positions a set may have, one of them where its place is known."""
        if self.line[row] >= 0:
            position = int(self.position[row])
            return {int(self.line[row]): ((position, position),)}
        return self.places[row]


def gather_sets(
    family: Family,
    survivors: Survivors,
    bench_set: BenchSet,
    axes: Mapping[str, Axis],
    bench_places: tuple[Place, ...],
    take_survivors: bool,
) -> Sets:
    """The survivors (if taken) and the bench set as one table.

    Left out are survivors that fit no place, and where over `MANY_KNOWN` have a known one, all but
    `MOST_UNCERTAIN` of the others, those of which most was seen: they would cost most and add least.
    """
    count = len(survivors) if take_survivors else 0
    features = family.features
    codes = np.full((count + 1, len(features)), NOT_SEEN, dtype=np.int32)
    line = np.full(count + 1, -1, dtype=np.int64)
    position = np.full(count + 1, -1, dtype=np.int64)
    places: dict[int, Mapping[int, Ranges]] = {}
    if count:
        for column, feature in enumerate(features):
            seen = survivors.seen.get(feature.id)
            if seen is not None:
                codes[:-1, column] = seen
        known = (survivors.line >= 0) & (survivors.position >= 0)
        for number, line_id in enumerate(family.line_ids):
            here = known & (survivors.line == number)
            axis = axes[line_id]
            on_it = here & (survivors.position >= axis.first) & (survivors.position <= axis.last)
            line[:-1][on_it], position[:-1][on_it] = number, survivors.position[on_it]
            known &= ~here | on_it
        for row in np.flatnonzero(~known).tolist():
            places[row] = _places_of_survivor(family, survivors, row, axes)
    codes[-1] = _bench_codes(features, bench_set)
    places[count] = _by_line(family, bench_places, axes)
    for row in [row for row, where in places.items() if _is_one(where)]:
        ((number, ((first, _),)),) = places.pop(row).items()
        line[row], position[row] = number, first
    return _kept(Sets(line, position, places, codes))


def _is_one(places: Mapping[int, Ranges]) -> bool:
    return sum(high - low + 1 for ranges in places.values() for low, high in ranges) == 1


def _kept(sets: Sets) -> Sets:
    """Without survivors that fit no place, and in large registers without most of those of uncertain place."""
    bench = len(sets) - 1
    uncertain = [row for row, where in sets.places.items() if where and row != bench]
    left_out = [row for row, where in sets.places.items() if not where]
    if bench - len(sets.places) > MANY_KNOWN and len(uncertain) > MOST_UNCERTAIN:
        uncertain.sort(key=lambda row: (-int((sets.codes[row] >= 0).sum()), row))
        left_out += uncertain[MOST_UNCERTAIN:]
    if not left_out:
        return sets
    keep = np.setdiff1d(np.arange(len(sets)), left_out)
    moved = {int(old): new for new, old in enumerate(keep)}
    places = {moved[row]: where for row, where in sets.places.items() if row in moved}
    return Sets(sets.line[keep], sets.position[keep], places, sets.codes[keep], tuple(left_out))


def _places_of_survivor(
    family: Family, survivors: Survivors, row: int, axes: Mapping[str, Axis]
) -> Mapping[int, Ranges]:
    number = int(survivors.line[row])
    line = None if number < 0 else family.line_ids[number]
    if survivors.position[row] >= 0:  # the position is known, the line is not
        position = int(survivors.position[row])
        fits = tuple(Place(line_id, position, position) for line_id in family.line_ids)
    else:
        fits = locate(family, survivors.serial.get(row), line)
    kept = [place for line_id in family.line_ids for place in on_axis(axes[line_id], _of(fits, line_id))]
    return _by_line(family, tuple(kept), axes)


def _of(places: tuple[Place, ...], line: str) -> list[Place]:
    return [place for place in places if place.line == line]


def _by_line(family: Family, places: tuple[Place, ...], axes: Mapping[str, Axis] | None = None) -> dict[int, Ranges]:
    """Line number -> the stretches of places, where axes are given only what holds sets."""
    found: dict[int, Ranges] = {}
    for number, line in enumerate(family.line_ids):
        stretches = [(place.first, place.last) for place in places if place.line == line]
        if axes is not None:
            stretches = intersect(stretches, axes[line].stretches)
        if stretches:
            found[number] = tuple(stretches)
    return found


def intersect(ranges: list[tuple[int, int]] | Ranges, others: Ranges) -> list[tuple[int, int]]:
    """The positions that lie in both."""
    both = [(max(a, c), min(b, d)) for a, b in ranges for c, d in others]
    return sorted((low, high) for low, high in both if low <= high)


def places_before(ranges: Ranges, position: np.ndarray) -> np.ndarray:
    """How many positions of the ranges, ascending and apart, lie before each position; as floats."""
    low = np.array([first for first, _ in ranges])
    high = np.array([last for _, last in ranges])
    counted = np.append(0, np.cumsum(high - low + 1))
    which = np.searchsorted(high, position, side="left")
    inside = np.maximum(position - np.append(low, np.iinfo(np.int64).max)[which], 0)
    return (counted[which] + inside).astype(float)


def _bench_codes(features: tuple[Feature, ...], bench_set: BenchSet) -> np.ndarray:
    codes = np.full(len(features), NOT_SEEN, dtype=np.int32)
    latest = bench_set.latest
    for column, feature in enumerate(features):
        observation = latest.get(feature.id)
        if observation is None:
            continue
        if observation.serviced:
            codes[column] = LOOKS_SERVICED
        elif observation.state is not None:
            states = feature.all_states
            state = states.index(observation.state) if observation.state in states else len(states)
            codes[column] = seen_code(state, SURENESSES.index(observation.sure))
    return codes


@dataclass(frozen=True, slots=True)
class Tables:
    """What each code of each feature says, by condition.

    seen : per feature (codes, 3, states) P(seen | condition, factory state).
    log_rates : per feature (3,) log probability of alteration.
    """

    features: tuple[Feature, ...]
    seen: tuple[np.ndarray, ...]
    log_rates: tuple[np.ndarray, ...]
    log_condition: np.ndarray


def make_tables(features: tuple[Feature, ...], assumptions: Assumptions) -> Tables:
    """Likelihood tables of all features under the assumptions."""
    seen, log_rates = [], []
    for feature in features:
        rates = assumptions.rates_by_condition(assumptions.alteration_rate(feature))
        states = len(feature.all_states)
        tables = np.stack(
            [[table_for(feature, sure, rate, assumptions) for rate in rates] for sure in SURENESSES]
        )  # (sure, 3, states + 1, states)
        by_code = np.moveaxis(tables, 2, 0).reshape((states + 1) * len(SURENESSES), len(CONDITIONS), states)
        seen.append(np.ascontiguousarray(by_code))
        with np.errstate(divide="ignore"):
            log_rates.append(np.log(np.array(rates)))
    with np.errstate(divide="ignore"):
        log_condition = np.log(np.array(assumptions.condition_prior))
    return Tables(features, tuple(seen), tuple(log_rates), log_condition)
