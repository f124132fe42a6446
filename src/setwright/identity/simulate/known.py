"""Drawn sets as what is known of them: a register of survivors, a set on the bench."""

from __future__ import annotations

import numpy as np

from setwright.identity.model import (
    LOOKS_SERVICED,
    NOT_SEEN,
    SURENESSES,
    BenchSet,
    Observation,
    Survivors,
)
from setwright.identity.places import SERIAL_UNIT, describe, locate
from setwright.identity.simulate.reading import OTHER_STATE
from setwright.identity.simulate.sets import DrawnSets


def survivors_of(
    drawn: DrawnSets,
    rng: np.random.Generator | None = None,
    *,
    lost: float = 0.0,
    partial: float = 0.0,
    lineless: float = 0.0,
) -> Survivors:
    """The drawn sets as other known examples.

    lost : share of them without a serial. partial : share with some digits illegible. lineless : share of all of
    which nobody noted the line. Shares are rounded to whole sets, chosen with `rng`; without any of them every
    serial and line is known. A full serial tells the line where only one line has it.

    Raises ValueError where shares leave 0 to 1, or something is to be lost without `rng`.
    """
    count = len(drawn)
    line, position = drawn.line.astype(np.int64), drawn.position.astype(np.int64)
    serial: dict[int, str] = {}
    if lost or partial or lineless:
        if rng is None or min(lost, partial, lineless) < 0.0 or lost + partial > 1.0 or lineless > 1.0:
            raise ValueError("serials and lines are lost by shares from 0 to 1, lost and partial together, with rng")
        order = rng.permutation(count)
        without, illegible = np.split(order, [round(lost * count), round((lost + partial) * count)])[:2]
        unknown = rng.permutation(count)[: round(lineless * count)]
        serial = {int(row): _partly_legible(_serial_of(drawn, int(row)), rng) for row in illegible}
        line[unknown] = -1
        for row in np.setdiff1d(unknown, [*without, *illegible]):
            full = _serial_of(drawn, int(row))
            if len(locate(drawn.production.family, full)) == 1:
                line[row] = drawn.line[row]
            else:
                serial[int(row)] = full
        position[[*without, *serial]] = -1
    return Survivors(tuple(f"set-{i + 1}" for i in range(count)), line, position, drawn.seen, serial)


def _serial_of(drawn: DrawnSets, row: int) -> str:
    family = drawn.production.family
    return describe(family, family.line_ids[drawn.line[row]], int(drawn.position[row]))


def _partly_legible(serial: str, rng: np.random.Generator) -> str:
    """The serial with one digit illegible and each other one with probability 1/3."""
    digits = [i for i, character in enumerate(serial) if character.isdigit()]
    hidden = {digits[int(rng.integers(len(digits)))]} | {i for i in digits if rng.random() < 1 / 3}
    return "".join("?" if i in hidden else character for i, character in enumerate(serial))


def bench_set_of(
    drawn: DrawnSets, row: int, *, with_serial: bool = True, with_line: bool = True, open_to: str = "outside"
) -> BenchSet:
    """One of the drawn sets as the set on the bench, with every observation made of it."""
    family = drawn.production.family
    line = family.line_ids[drawn.line[row]]
    serial = None
    if with_serial and drawn.production.axes[line].unit == SERIAL_UNIT:
        serial = _serial_of(drawn, row)
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
        open_to=open_to,
        observations=tuple(observations),
    )
