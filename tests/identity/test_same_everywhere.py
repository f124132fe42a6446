"""The same seed gives the same answer in another process, in which sets have another order."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

CAST = Path(__file__).parent.parent / "cast"

CODE = """
import sys
from setwright.files import read_family, read_set, read_survivors
from setwright.identity import identify
from setwright.identity.quick import quick_identify

family = read_family("heron.toml").family
bench = read_set("bench-1.toml", family).set
survivors = read_survivors("survivors.csv", family, bench=bench).survivors
for answer in (quick_identify(family, bench, survivors), identify(family, bench, survivors, draws=100)):
    print(answer.verdict, answer.observations, answer.next, answer.batches, answer.misfit_p_value)
"""


@pytest.mark.parametrize("order", ["1", "2", "3"])
def test_the_order_of_sets_makes_no_difference(order: str) -> None:
    def told(seed: str) -> str:
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        run = [sys.executable, "-c", CODE]
        return subprocess.run(run, cwd=CAST, env=environment, capture_output=True, text=True, check=True).stdout

    assert told(order) == told("0")
