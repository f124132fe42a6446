"""How long dating takes: python benchmarks/chronology.py

Goals: 10,000 dated survivors over eight years of weeks under 1 s; one set against a fitted family under 50 ms; growth
near linear. Half of the survivors have a stamp (a day, a week or a month), half of them a part code with one figure
for the year, all a serial. Times are in-process, after import; the least of several runs is what the machine can do
when nobody else uses it.
"""

from __future__ import annotations

import argparse
from datetime import date, timedelta

import numpy as np
from common import about_the_machine, median_ms, seconds

from setwright.chronology import (
    Block,
    DatedSet,
    Evidence,
    Fitted,
    Place,
    Production,
    Run,
    date_set,
    fit,
    leave_one_out,
    usual_epochs,
)
from setwright.notation import parse_date

LAST = 400_000
START, YEARS = date(1946, 1, 7), 8


def production() -> Production:
    run = Run(
        "main", 1, LAST, first_documented=True, last_documented=True, blocks=(Block("", 1, LAST, 1),),
        epochs=usual_epochs(1, LAST, least=LAST // 64),
    )  # fmt: skip
    return Production((run,), parse_date("1946"), parse_date("1953"))


def survivors(count: int, seed: int = 0) -> list[DatedSet]:
    rng = np.random.default_rng(seed)
    positions = np.sort(rng.choice(np.arange(1, LAST + 1), count, replace=False))
    return [one(int(position), rng) for position in positions]


def one(position: int, rng: np.random.Generator) -> DatedSet:
    day = START + timedelta(days=YEARS * 364 * position / LAST + rng.normal(0.0, 5.0))
    evidence = []
    if rng.random() < 0.5:
        year, week, _ = day.isocalendar()
        texts = (day.isoformat(), f"{year}-W{week:02d}", f"{day:%Y-%m}")
        evidence.append(Evidence("stamp", parse_date(str(rng.choice(texts)))))
    if not evidence or rng.random() < 0.5:
        year, week, _ = (day - timedelta(weeks=int(rng.integers(2, 14)))).isocalendar()
        evidence.append(Evidence("part", code=f"{year % 10}{week:02d}", scheme="year-week", part="speaker"))
    return DatedSet(f"s{position}", (Place("main", position, position),), tuple(evidence))


def bench(fitted: Fitted, kind: str, position: int) -> DatedSet:
    places = {
        "serial known": (Place("main", position, position),),
        "last three figures known": tuple(Place("main", p, p) for p in range(position % 1000, LAST, 1000) if p),
        "no serial": (Place("main", 1, LAST),),
    }[kind]
    part = Evidence("part", code="933", scheme="year-week", part="speaker")
    return DatedSet("bench", places, (part,))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=3, help="runs per figure")
    runs = parser.parse_args().runs
    print(about_the_machine())
    print("\n| dated survivors | fit, median (least) | leave one out | error, median days |")
    print("|---|---|---|---|")
    for count in (10, 30, 100, 300, 1000, 3000, 10_000, 30_000):
        sets = survivors(count)
        family = production()
        median, least = median_ms([lambda sets=sets, family=family: fit(family, sets)] * runs)  # type: ignore[misc]
        fitted = fit(family, sets)
        taken = seconds(lambda fitted=fitted: leave_one_out(fitted))  # type: ignore[misc]
        trust = leave_one_out(fitted)
        error = "" if trust is None else f"{trust.median_days:.0f}"
        print(f"| {count:,} | {median:.0f} ms ({least:.0f}) | {1000 * taken:.0f} ms | {error} |", flush=True)
    fitted = fit(production(), survivors(100))
    print("\none set against a family fitted to 100 survivors, median (least)\n")
    for kind in ("serial known", "last three figures known", "no serial"):
        sets = [bench(fitted, kind, position) for position in (150_321, 250_321, 350_321)]
        date_set(fitted, sets[0])
        median, least = median_ms([lambda s=s: date_set(fitted, s) for s in sets for _ in range(runs)])  # type: ignore[misc]
        print(f"{kind}: {median:.0f} ms ({least:.0f})", flush=True)


if __name__ == "__main__":
    main()
