"""What the benchmarks share: families of a given size, clocks, and a line about the machine."""

from __future__ import annotations

import os
import platform
import statistics
import time
from collections.abc import Callable

import numpy as np

from setwright.identity.model import PERMANENCES, Family, Feature, Version

ACCESS_CYCLE = ("outside", "back off", "chassis out", "underside")


def family_of_size(features: int, versions: int, last_serial: int) -> Family:
    """One line; every feature changes once, the changes shared out evenly over the gaps between versions.

    Accesses take turns; permanences so that the mean rate of alteration is about 9 %.
    """
    kinds = ("stamped", "riveted", "soldered", "soldered", "plugged", "soldered", "riveted", "consumable")
    assert set(kinds) == set(PERMANENCES)
    made = tuple(
        Feature(
            f"f{i:02d}",
            f"Feature {i}",
            ("old", "new"),
            access=ACCESS_CYCLE[i % len(ACCESS_CYCLE)],
            permanence=kinds[i % len(kinds)],
        )
        for i in range(features)
    )
    gaps = versions - 1
    gap_of = {feature.id: i * gaps // features for i, feature in enumerate(made)}
    documents = tuple(
        Version(f"v{v}", f"Version {v}", states={f.id: "new" if gap_of[f.id] < v else "old" for f in made})
        for v in range(versions)
    )
    return Family("bench", "Benchmark family", made, documents, last_serial=last_serial)


def seconds(run: Callable[[], object]) -> float:
    """How long one run takes."""
    start = time.perf_counter()
    run()
    return time.perf_counter() - start


def median_ms(runs: list[Callable[[], object]]) -> tuple[float, float]:
    """Median and least time of the runs in milliseconds, one unmeasured run before them.

    The least is what the machine can do when nobody else uses it.
    """
    runs[0]()
    times = [1000.0 * seconds(run) for run in runs]
    return statistics.median(times), min(times)


def about_the_machine() -> str:
    """What a figure depends on."""
    return f"Python {platform.python_version()}, numpy {np.__version__}, {os.cpu_count()} cores, {platform.machine()}"
