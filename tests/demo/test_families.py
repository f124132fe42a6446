"""The families of the demonstration hold what a restorer would learn the format from."""

from __future__ import annotations

from importlib.resources import files

import pytest

from setwright.demo.scenario import PLANS
from setwright.files import FamilyFile, read_family
from setwright.identity import identify
from setwright.identity.history import read_history
from setwright.identity.model import ABSENT, ACCESSES, PERMANENCES, BenchSet, Family


def read(folder: str) -> FamilyFile:
    return read_family(files("setwright.demo").joinpath(folder, "family.toml").read_bytes(), folder)


@pytest.fixture(scope="module")
def sedgewater() -> Family:
    return read("sedgewater").family


@pytest.mark.parametrize("folder", [plan.folder for plan in PLANS])
def test_family_files_are_read_and_nothing_in_them_is_left_out(folder: str) -> None:
    file = read(folder)
    assert read_history(file.family).lines
    assert file.text.count("#") > 20, "somebody should be able to learn the format from it"
    cited = {source for version in file.family.versions for source in version.sources}
    cited |= {bound.source for bound in file.family.cut_in_bounds if bound.source}
    assert {source.id for source in file.family.sources} == cited


def test_the_table_receiver_has_two_lines_and_five_versions(sedgewater: Family) -> None:
    assert sedgewater.line_ids == ("main", "export")
    assert len(sedgewater.versions_of("main")) == 5
    assert len(sedgewater.versions_of("export")) == 3
    assert len(sedgewater.features) >= 30
    assert {block.prefix for block in sedgewater.serial_blocks} == {"S", "T", "SX"}


def test_every_access_and_permanence_occurs(sedgewater: Family) -> None:
    assert {feature.access for feature in sedgewater.features} == set(ACCESSES)
    assert {feature.permanence for feature in sedgewater.features} == set(PERMANENCES)


def test_the_format_is_used_to_the_full(sedgewater: Family) -> None:
    features = sedgewater.features
    history = read_history(sedgewater).lines[0]
    changes_of = [[c for c in history.changes if c.feature == f.id] for f in features]
    assert any(len(changes) == 2 and changes[1].to_state == changes[0].from_state for changes in changes_of)
    assert any(len(changes) == 2 and changes[1].to_state != changes[0].from_state for changes in changes_of)
    assert all(len(block) > 1 for block in history.blocks)
    assert any(f.unit is not None and ABSENT in f.states for f in features)
    assert any(f.role == "variant" for f in features)
    assert any(f.lines is not None for f in features)
    assert any(f.altered is not None for f in features)
    assert any(f.overlap > 0 for f in features)
    documented = {f for version in sedgewater.versions_of("main") for f in version.states}
    free = {f.id for f in features if f.role == "change" and f.in_line("main")} - documented
    assert free == {"inspection-stamp", "speaker-frame"}
    assert len({f.group for f in features}) > 1
    assert any(f.tolerance != 0.2 for f in features)
    assert any(c.earliest is not None and c.latest is not None for c in history.changes)


def test_the_table_radio_has_three_versions_and_is_line_connected() -> None:
    family = read("thimble").family
    assert len(family.versions) == 3
    assert len(family.features) >= 14
    assert "line-connected" in family.name
    # What opens it up carries the caution about live chassis.
    answer = identify(family, BenchSet("fresh", family.id))
    opened = [batch for batch in answer.batches if batch.access in ("back off", "underside")]
    assert opened
    assert all(any("line-connected" in caution for caution in batch.cautions) for batch in opened)
