"""Following the next look against looking in a fixed order: python benchmarks/looks.py

A set comes to the bench shut, nothing looked at. One person makes the look that the answer lists first, that with most
bits a minute, and asks again after every look; another looks at everything in order, by access and then as the family
file has it. Both stop once the leading verdict has nine tenths. Minutes count opening up once, as the looks do. Sets
whose verdict never gets there count with all their looks. With a serial and a register most sets are decided before
any look; the table is of the others, and says how many those were.
"""

from __future__ import annotations

import argparse
import statistics
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from multiprocessing import get_context

import numpy as np
from common import about_the_machine, family_of_size

from setwright.identity import Answer, BenchSet, Family, Survivors, identify
from setwright.identity.looks import opening_minutes
from setwright.identity.model import ACCESSES
from setwright.identity.simulate import bench_set_of, draw_production, draw_sets, survivors_of, true_entry

ENOUGH = 0.9
FEATURES, VERSIONS, SURVIVORS, SERIALS = 30, 5, 40, 20_000
OPENED = ("outside", "back off", "chassis out", "underside")
"""How far in a set is open after a look; powering it up opens no further than the back."""

NextLook = Callable[[Answer, BenchSet, list[str]], str]


@dataclass(frozen=True, slots=True)
class Course:
    """One set looked at in one way: looks and minutes until enough, and whether it came to that, rightly."""

    looks: int
    minutes: float
    reached: bool
    right: bool


@dataclass(frozen=True, slots=True)
class Case:
    """One simulated set, with everything that could be seen of it, and its register."""

    family: Family
    whole: BenchSet
    survivors: Survivors
    truth: str | tuple[str, str]


def draw_case(seed: int, with_serial: bool, lost: float) -> Case:
    """A production of its own for every set."""
    rng = np.random.default_rng([1950, seed])
    family = family_of_size(FEATURES, VERSIONS, SERIALS)
    production = draw_production(family, rng)
    survivors = survivors_of(draw_sets(production, SURVIVORS, rng), rng, lost=lost)
    drawn = draw_sets(production, 1, rng, not_seen=0.0)
    truth = true_entry(production, "main", int(drawn.position[0]))
    return Case(family, bench_set_of(drawn, 0, with_serial=with_serial), survivors, truth)


def proposed(answer: Answer, seen: BenchSet, left: list[str]) -> str:
    """The look listed first; the next in order where none is worth its while."""
    return answer.next[0].feature if answer.next else left[0]


def in_order(answer: Answer, seen: BenchSet, left: list[str]) -> str:
    """The easiest access first, and there the order of the family file."""
    return left[0]


def follow(case: Case, choose: NextLook, exact: bool) -> Course:
    """Look until the leading verdict has enough."""
    family, whole = case.family, case.whole.latest
    left = sorted(whole, key=lambda f: ACCESSES.index(family.feature(f).access))
    seen = replace(case.whole, observations=(), open_to="outside")
    looks, minutes = 0, 0.0
    while True:
        answer = identify(family, seen, case.survivors, exact=exact)
        first = answer.verdict[0]
        if first.probability >= ENOUGH or not left:
            right = (first.version or first.between) == case.truth
            return Course(looks, minutes, first.probability >= ENOUGH, right)
        feature = family.feature(choose(answer, seen, left))
        left.remove(feature.id)
        looks += 1
        minutes += opening_minutes(feature.access, seen.open_to, family.access_minutes) + feature.minutes
        furthest = max(seen.open_to, feature.access, key=OPENED.index)
        seen = replace(seen, open_to=furthest, observations=(*seen.observations, whole[feature.id]))


def courses(seed: int, *, with_serial: bool, lost: float, exact: bool) -> tuple[Course, Course]:
    """One set both ways: as proposed, in order."""
    case = draw_case(seed, with_serial, lost)
    return follow(case, proposed, exact), follow(case, in_order, exact)


def table(title: str, pairs: list[tuple[Course, Course]]) -> None:
    open_ones = [pair for pair in pairs if pair[0].looks > 0]
    print(f"\n{title}: {len(pairs)} sets, of which {len(pairs) - len(open_ones)} decided before any look\n")
    print("|             | looks, median (mean) | minutes, median (mean) | reached nine tenths | and rightly |")
    print("|-------------|----------------------|------------------------|---------------------|-------------|")
    for name, some in zip(("as proposed", "in order"), zip(*open_ones, strict=True), strict=True):
        looks, minutes = [c.looks for c in some], [c.minutes for c in some]
        there = [c for c in some if c.reached]
        print(
            f"| {name:<11} | {statistics.median(looks):11.1f} ({statistics.mean(looks):5.1f})  "
            f"| {statistics.median(minutes):13.1f} ({statistics.mean(minutes):5.1f})  "
            f"| {len(there) / len(some):19.3f} | {statistics.mean(c.right for c in there):11.3f} |"
        )
    ours, theirs = ([pair[i].minutes for pair in open_ones] for i in (0, 1))
    medians, means = ([average(some) for some in (ours, theirs)] for average in (statistics.median, statistics.mean))
    set_by_set = statistics.median(a.minutes / b.minutes for a, b in open_ones if a.reached and b.reached)
    print(
        f"\nminutes as proposed, of those in order: medians {medians[0] / medians[1]:.3f}, "
        f"means {means[0] / means[1]:.3f}; set by set, where both got there, median {set_by_set:.3f}"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sets", type=int, default=200, help="sets per table")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--lost", type=float, default=0.0, help="share of survivors without a serial")
    parser.add_argument("--exact", action="store_true", help="survivors at their marginal rates: six times as fast")
    options = parser.parse_args()
    print(about_the_machine())
    with get_context("spawn").Pool(options.workers) as pool:
        for with_serial in (True, False):
            one = partial(courses, with_serial=with_serial, lost=options.lost, exact=options.exact)
            pairs = pool.map(one, range(options.sets), chunksize=4)
            table("serial known" if with_serial else "serial unknown", pairs)


if __name__ == "__main__":
    main()
