"""How long one full identity answer takes, next looks included: python benchmarks/identify.py

The standard case has 30 features, 5 versions and 40 survivors. Times are in-process, after import, the median over
sets of different productions, so that nothing is remembered from one to the next. The tables below it change one
size at a time.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable

import numpy as np
from common import about_the_machine, family_of_size, median_ms

from setwright.demo import generate
from setwright.files import read_set, read_survivors
from setwright.identity import identify
from setwright.identity.model import BenchSet, Family, Survivors
from setwright.identity.simulate import bench_set_of, draw_production, draw_sets, survivors_of

Run = Callable[[], object]


def cases(
    family: Family, survivors: int, with_serial: bool, count: int, lost: float = 0.0
) -> list[tuple[Family, BenchSet, Survivors]]:
    """Sets with 70 % of their features looked at, each from its own production; some survivors lost their serial."""
    made = []
    for seed in range(count):
        rng = np.random.default_rng([seed, survivors])
        production = draw_production(family, rng)
        others = survivors_of(draw_sets(production, survivors, rng))
        others.position[: round(lost * survivors)] = -1
        made.append((family, bench_set_of(draw_sets(production, 1, rng), 0, with_serial=with_serial), others))
    return made


def runs(
    features: int,
    versions: int,
    survivors: int,
    with_serial: bool,
    count: int,
    serials: int,
    cells: int | None = None,
    exact: bool = False,
    lost: float = 0.0,
) -> list[Run]:
    family = family_of_size(features, versions, serials)
    made = cases(family, survivors, with_serial, count, lost)
    return [lambda case=case: identify(*case, cells=cells, exact=exact) for case in made]  # type: ignore[misc]


def demo_runs(count: int) -> list[Run]:
    made: list[Run] = []
    for seed in range(count):
        part = generate(seed).families[0]
        bench = read_set(part.set_file.encode(), part.family).set
        survivors = read_survivors(part.survivors_file.encode(), part.family, bench=bench).survivors
        made.append(lambda case=(part.family, bench, survivors): identify(*case))  # type: ignore[misc]
    return made


def row(name: str, known: list[Run], unknown: list[Run]) -> None:
    (known_ms, known_least), (unknown_ms, unknown_least) = median_ms(known), median_ms(unknown)
    print(
        f"| {name:<38} | {known_ms:6.0f} ms ({known_least:5.0f}) | {unknown_ms:6.0f} ms ({unknown_least:5.0f}) |",
        flush=True,
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sets", type=int, default=21, help="sets per figure")
    count = parser.parse_args().sets
    print(about_the_machine())
    print("\nmedian (least) time of a full answer\n")
    print(f"| {'case':<38} | {'serial known':<17} | {'serial unknown':<17} |")
    print(f"|{'-' * 40}|{'-' * 19}|{'-' * 19}|")
    standard = {"features": 30, "versions": 5, "survivors": 40, "serials": 20_000}

    def line(name: str, fewer: int = 1, **changes: float | bool) -> None:
        known, unknown = (runs(**{**standard, **changes}, with_serial=w, count=count // fewer) for w in (True, False))
        row(name, known, unknown)

    line("30 features, 5 versions, 40 survivors")
    line("the same, 15 of them without serial", lost=15 / 40)
    line("the same, 30 of them without serial", fewer=3, lost=30 / 40)
    line("40 survivors item by item (exact)", exact=True)
    line("the same, 400 serials (one a cell)", exact=True, serials=400)
    line("the same, no survivors", survivors=0)
    for survivors in (400, 4000):
        line(f"the same, {survivors} survivors", fewer=3, survivors=survivors)
    line("20000 survivors", fewer=7, survivors=20_000)
    line("20000 survivors, 2000 without serial", fewer=7, survivors=20_000, lost=0.1)
    for features in (8, 15, 60, 120):
        line(f"{features} features, exact", fewer=2, features=features, exact=True)
        line(f"{features} features", fewer=3, features=features)
    for versions in (2, 3, 9, 16):
        line(f"{versions} versions, exact", fewer=2, versions=versions, exact=True)
    for cells in (64, 128, 256, 512):
        line(f"{cells} cells, exact", fewer=3, cells=cells, exact=True)
    demo = median_ms(demo_runs(count))
    print(f"\nDemonstration receiver, 44 features, two lines, partly legible serial: {demo[0]:.0f} ms ({demo[1]:.0f})")


if __name__ == "__main__":
    main()
