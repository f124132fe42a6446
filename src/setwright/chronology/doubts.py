"""Where the assumptions of a serial-number estimate fail: rounds, gaps, blocks, several plants."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

_ROUND = (100_000, 10_000, 1_000, 100)
_RARE = 0.01


def doubts_of_serials(numbers: Sequence[int], first: int | None) -> Iterator[str]:
    """Plain warnings about serials known in full, distinct and ascending.

    They are a sample of equally likely numbers from one row without gaps, or else the estimate is wrong.
    """
    if len(numbers) < 3:
        yield "with fewer than three serials known this is little more than a guess"
        return
    if first is None:
        yield from _round_start(numbers)
    yield from _gap(numbers)
    yield from _uneven(numbers)


def _round_start(numbers: Sequence[int]) -> Iterator[str]:
    """A smallest serial just above a round number, where nothing smaller is known."""
    smallest, spread = numbers[0], numbers[-1] - numbers[0] + 1
    usual_gap = spread / (len(numbers) - 1)
    for unit in _ROUND:
        start = smallest // unit * unit
        if start > 0 and unit > 4 * usual_gap / len(numbers) and 0 <= smallest - start <= 3 * usual_gap:
            yield (
                f"no serial below {start:,} is known: numbering may have begun there, and not at 1; "
                "say so with first_serial, or a serial block, if it is documented"
            )
            return


def _gap(numbers: Sequence[int]) -> Iterator[str]:
    """One gap far wider than chance allows: P(some gap > share g of the spread) ≤ k (1 - g)^(k - 1), k gaps."""
    gaps = np.diff(numbers)
    count, spread = len(gaps), float(numbers[-1] - numbers[0])
    if count < 3 or spread <= 0.0:
        return
    widest = int(np.argmax(gaps))
    chance = count * (1.0 - gaps[widest] / spread) ** (count - 1)
    if chance < _RARE:
        yield (
            f"no set is known between {numbers[widest]:,} and {numbers[widest + 1]:,}, a gap that chance seldom "
            "leaves: these numbers may never have been used (blocks allotted to lines or plants)"
        )


def _uneven(numbers: Sequence[int]) -> Iterator[str]:
    """Serials crowded together: the Kolmogorov-Smirnov distance from an even spread, by Stephens' approximation
    (from memory)."""
    inner = np.array(numbers[1:-1], dtype=float)
    if len(inner) < 5:
        return
    place = (inner - numbers[0]) / (numbers[-1] - numbers[0])
    count = len(place)
    steps = np.arange(count + 1) / count
    distance = max(float((steps[1:] - place).max()), float((place - steps[:-1]).max()))
    scaled = distance * (np.sqrt(count) + 0.12 + 0.11 / np.sqrt(count))
    chance = 2.0 * np.exp(-2.0 * scaled**2)
    if chance < _RARE:
        yield (
            "the serials known crowd together in one part of the row: survivors are no fair sample of it, or several "
            "plants or models share the numbers"
        )
