"""The demonstration: documents, survivors and a set on the bench of every family, and the truth behind them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from errno import EEXIST
from functools import lru_cache
from importlib.resources import files
from pathlib import Path

import numpy as np

from setwright.demo import sedgewater, thimble
from setwright.demo.bench import Seen, observations_of, set_file
from setwright.demo.case import BenchCase, draw_case
from setwright.demo.plans import FamilyPlan
from setwright.demo.register import draw_survivors, register_file
from setwright.files import read_family
from setwright.identity.model import Family

PLANS: tuple[FamilyPlan, ...] = (sedgewater.PLAN, thimble.PLAN)
"""The families shown, the one to open first in front. A further one is a folder with its family.toml and its PLAN."""


@dataclass(frozen=True, slots=True)
class BenchTruth:
    """What the set on the bench truly is.

    position : on the axis of its line. serial : in full, where the file has an illegible character.
    between : the two versions it stands between, or None; version : the one it is, or None.
    states : every feature as it left the factory. altered : parts among those looked at that were altered.
    misread : the feature that was misread, or None. touched : features that look serviced and are the factory's.
    """

    id: str
    line: str
    position: int
    serial: str
    between: tuple[str, str] | None
    version: str | None
    states: Mapping[str, str]
    altered: tuple[str, ...]
    misread: str | None
    touched: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FamilyScenario:
    """One family: three files as text, and the truth.

    cut_ins : the position of every change, by change id. survivors : line and position by id.
    """

    family: Family
    family_file: str
    survivors_file: str
    set_file: str
    cut_ins: Mapping[str, int]
    survivors: Mapping[str, tuple[str, int]]
    bench: BenchTruth

    @property
    def files(self) -> dict[str, str]:
        """The files by name."""
        return {
            f"{self.family.id}.family.toml": self.family_file,
            f"{self.family.id}.survivors.csv": self.survivors_file,
            f"{self.bench.id}.set.toml": self.set_file,
        }


@dataclass(frozen=True, slots=True)
class DemoScenario:
    """Everything the demonstration shows, made from one seed."""

    seed: int
    families: tuple[FamilyScenario, ...]

    @property
    def files(self) -> dict[str, str]:
        """All files by name, in the order of the families."""
        return {name: text for family in self.families for name, text in family.files.items()}


def generate(seed: int) -> DemoScenario:
    """Make the demonstration; the same seed makes the same one."""
    return DemoScenario(seed, tuple(_family_scenario(plan, seed, i) for i, plan in enumerate(PLANS)))


def write(scenario: DemoScenario, folder: Path) -> tuple[Path, ...]:
    """Write the files into a folder, made if it is not there; returns their paths.

    Raises FileExistsError, with nothing written, where one of them is there already.
    """
    paths = tuple(folder / name for name in scenario.files)
    for path in paths:
        if path.exists():
            raise FileExistsError(EEXIST, "is there already; name another folder, or move it away", str(path))
    folder.mkdir(parents=True, exist_ok=True)
    for path, text in zip(paths, scenario.files.values(), strict=True):
        path.write_text(text, encoding="utf-8")
    return paths


@lru_cache
def _documents(folder: str) -> tuple[str, Family]:
    """The text of a family file and the family in it."""
    text = files("setwright.demo").joinpath(folder, "family.toml").read_text(encoding="utf-8")
    return text, read_family(text.encode("utf-8"), f"{folder}/family.toml").family


def _family_scenario(plan: FamilyPlan, seed: int, number: int) -> FamilyScenario:
    text, family = _documents(plan.folder)
    rng = np.random.default_rng([seed, number])
    case = draw_case(family, plan.bench, rng)
    draft = draw_survivors(plan, case.production, (case.line, case.position), rng)
    seen = observations_of(family, plan.bench, case)
    return FamilyScenario(
        family=family,
        family_file=text,
        survivors_file=register_file(plan, draft, rng),
        set_file=set_file(family, plan.bench, case, seen, rng),
        cut_ins=dict(case.production.cut_ins),
        survivors={
            set_id: (family.line_ids[line], int(position))
            for set_id, line, position in zip(draft.ids, draft.drawn.line, draft.drawn.position, strict=True)
        },
        bench=_truth(plan, case, seen),
    )


def _truth(plan: FamilyPlan, case: BenchCase, seen: tuple[Seen, ...]) -> BenchTruth:
    bench = plan.bench
    return BenchTruth(
        id=bench.id,
        line=case.line,
        position=case.position,
        serial=case.serial,
        between=bench.between,
        version=bench.version,
        states=case.states,
        altered=tuple(o.feature for o in seen if o.feature in bench.altered),
        misread=None if bench.misread is None else bench.misread.feature,
        touched=tuple(o.feature for o in seen if o.serviced),
    )
