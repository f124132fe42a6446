"""The demonstration: documents, survivors and a set on the bench of every family, and the truth behind them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from errno import EEXIST
from functools import lru_cache
from importlib.resources import files
from pathlib import Path

import numpy as np

from setwright.demo import lanternmoor, sedgewater, thimble
from setwright.demo.album import album_of, entered
from setwright.demo.bench import Seen, observations_of, set_file
from setwright.demo.case import BenchCase, draw_cases
from setwright.demo.library import shelf
from setwright.demo.plans import BenchPlan, FamilyPlan
from setwright.demo.register import RegisterDraft, draw_survivors, register_file
from setwright.files import read_family
from setwright.identity.assumptions import CONDITIONS
from setwright.identity.model import Family
from setwright.identity.simulate import NOT_MARRIED, FreeRun

PLANS: tuple[FamilyPlan, ...] = (sedgewater.PLAN, thimble.PLAN, lanternmoor.PLAN)
"""The families shown, the one to open first in front. A further one is a folder with its family.toml and its PLAN."""

PHOTOS, LITERATURE = "photos", "literature"
"""The folders of what is not a family's or a set's text."""


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """A group of a set's features that came from another set, and where that one stood."""

    group: str
    line: str
    position: int


@dataclass(frozen=True, slots=True)
class BenchTruth:
    """What a set on the bench truly is.

    position : on the axis of its line. serial : in full, where the file has an illegible character.
    between : the two versions it stands between, or None; version : the one it is, or None.
    states : every feature as it left the factory, of a group that came from elsewhere as that set left it.
    altered : parts among those looked at that were altered. misread : the feature that was misread, or None.
    touched : features that look serviced and are the factory's. married : what came from another set, or None.
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
    married: Elsewhere | None = None


@dataclass(frozen=True, slots=True)
class SetScenario:
    """One set on the bench: its file as text, and the truth."""

    file: str
    truth: BenchTruth


@dataclass(frozen=True, slots=True)
class FamilyScenario:
    """One family: its files as text, and the truth.

    sets : those on the bench, the one to open first in front. cut_ins : the position of every change, by change id.
    free : how every feature ran that the documents of a line do not mention, by line and feature.
    survivors : line and position by id. married : the survivors of which a group came from elsewhere, by id.
    rebuilt : ids of the heavily rebuilt ones. circuit_file, chart_file : the circuit and its printed chart, as texts.
    """

    family: Family
    family_file: str
    survivors_file: str
    sets: tuple[SetScenario, ...]
    cut_ins: Mapping[str, int]
    free: Mapping[tuple[str, str], FreeRun]
    survivors: Mapping[str, tuple[str, int]]
    married: Mapping[str, Elsewhere]
    rebuilt: tuple[str, ...]
    circuit_file: str = ""
    chart_file: str = ""

    @property
    def bench(self) -> BenchTruth:
        """What the first set on the bench truly is."""
        return self.sets[0].truth

    @property
    def set_file(self) -> str:
        """The file of the first set on the bench."""
        return self.sets[0].file

    @property
    def files(self) -> dict[str, str]:
        """The files by name."""
        return {
            f"{self.family.id}.family.toml": self.family_file,
            f"{self.family.id}.survivors.csv": self.survivors_file,
            **{f"{one.truth.id}.set.toml": one.file for one in self.sets},
        }

    @property
    def drawings(self) -> dict[str, str]:
        """The circuit and its printed chart by name."""
        return {f"{self.family.id}.circuit.toml": self.circuit_file, f"{self.family.id}.chart.csv": self.chart_file}


@dataclass(frozen=True, slots=True)
class DemoScenario:
    """Everything the demonstration shows, made from one seed."""

    seed: int
    families: tuple[FamilyScenario, ...]

    @property
    def files(self) -> dict[str, str]:
        """All files by name, in the order of the families."""
        return {name: text for family in self.families for name, text in family.files.items()}

    @property
    def drawings(self) -> dict[str, str]:
        """All circuits and printed charts by name."""
        return {name: text for family in self.families for name, text in family.drawings.items()}


def generate(seed: int) -> DemoScenario:
    """Make the demonstration; the same seed makes the same one."""
    return DemoScenario(seed, tuple(_family_scenario(plan, seed, i) for i, plan in enumerate(PLANS)))


def everything(scenario: DemoScenario) -> dict[str, bytes]:
    """All files by their path in a folder: texts, the literature shelf, photos and scans, which are drawn only now.

    A set's file names its photos; photos and scans are called by the SHA-256 of their content, as in a casebook.
    """
    texts = {**scenario.files, **scenario.drawings}
    photos: dict[str, bytes] = {}
    for family in scenario.families:
        for one in family.sets:
            tables, pictures = entered(album_of(one.truth.id, one.file, one.truth.serial))
            photos |= {f"{PHOTOS}/{sha256}.jpg": content for sha256, content in pictures.items()}
            if tables:
                texts[f"{one.truth.id}.set.toml"] += f"\n{tables}"
    documents, scans = shelf()
    texts |= {f"{LITERATURE}/{key}.toml": text for key, text in documents.items()}
    contents = {name: text.encode("utf-8") for name, text in texts.items()}
    return contents | photos | {f"{LITERATURE}/files/{name}": content for name, content in scans.items()}


def write(scenario: DemoScenario, folder: Path) -> tuple[Path, ...]:
    """Write everything into a folder, made if it is not there; returns the paths of the files.

    Raises FileExistsError, with nothing written, where one of them is there already.
    """
    contents = everything(scenario)
    paths = tuple(folder / name for name in contents)
    for path in paths:
        if path.exists():
            raise FileExistsError(EEXIST, "is there already; name another folder, or move it away", str(path))
    for path, content in zip(paths, contents.values(), strict=True):
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    return paths


@lru_cache
def _documents(folder: str) -> tuple[str, Family]:
    """The text of a family file and the family in it."""
    text = files("setwright.demo").joinpath(folder, "family.toml").read_text(encoding="utf-8")
    return text, read_family(text.encode("utf-8"), f"{folder}/family.toml").family


def _shipped(folder: str, name: str) -> str:
    return files("setwright.demo").joinpath(folder, name).read_text(encoding="utf-8")


def _family_scenario(plan: FamilyPlan, seed: int, number: int) -> FamilyScenario:
    text, family = _documents(plan.folder)
    rng = np.random.default_rng([seed, number])
    cases = draw_cases(family, plan.benches, rng, plan.free)
    draft = draw_survivors(plan, cases[0].production, [(case.line, case.position) for case in cases], rng)
    return FamilyScenario(
        family=family,
        family_file=text,
        circuit_file=_shipped(plan.folder, "circuit.toml"),
        chart_file=_shipped(plan.folder, "chart.csv"),
        survivors_file=register_file(plan, draft, rng),
        sets=tuple(_set_scenario(plan.folder, family, b, c, rng) for b, c in zip(plan.benches, cases, strict=True)),
        cut_ins=dict(cases[0].production.cut_ins),
        free=dict(cases[0].production.free),
        survivors={
            set_id: (family.line_ids[line], int(position))
            for set_id, line, position in zip(draft.ids, draft.drawn.line, draft.drawn.position, strict=True)
        },
        married=_married(family, draft),
        rebuilt=tuple(sorted(draft.ids[row] for row in np.flatnonzero(draft.drawn.condition == len(CONDITIONS) - 1))),
    )


def _set_scenario(
    folder: str, family: Family, plan: BenchPlan, case: BenchCase, rng: np.random.Generator
) -> SetScenario:
    seen = observations_of(family, plan, case)
    text = set_file(family, plan, case, seen, rng)
    if plan.case_file:
        text = f"{text}\n{_shipped(folder, plan.case_file)}"
    return SetScenario(text, _truth(plan, case, seen))


def _married(family: Family, draft: RegisterDraft) -> dict[str, Elsewhere]:
    married = draft.drawn.marriages
    return {
        draft.ids[row]: Elsewhere(
            married.groups[married.group[row]], family.line_ids[married.line[row]], int(married.position[row])
        )
        for row in np.flatnonzero(married.group != NOT_MARRIED)
    }


def _truth(bench: BenchPlan, case: BenchCase, seen: tuple[Seen, ...]) -> BenchTruth:
    married = None
    if bench.married is not None and case.married is not None:
        married = Elsewhere(bench.married.group, case.line, case.married)
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
        married=married,
    )
