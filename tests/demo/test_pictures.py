"""The demonstration's photographs and literature: drawn from what the files say, named by them, the same each time."""

from __future__ import annotations

import tomllib
from io import BytesIO
from typing import Any

import pytest
from PIL import Image
from pypdf import PdfReader

from setwright.demo import DemoScenario, everything, generate
from setwright.demo.album import album_of
from setwright.demo.drawn import SCAN, Drawing, developed
from setwright.demo.drawn.chassis import rear_apron
from setwright.demo.library import shelf
from setwright.files import SetFile, read_family, read_set
from setwright.files.literature import read_literature

SEED = 1951


@pytest.fixture(scope="module")
def scenario() -> DemoScenario:
    return generate(SEED)


@pytest.fixture(scope="module")
def written(scenario: DemoScenario) -> dict[str, bytes]:
    return everything(scenario)


@pytest.fixture(scope="module")
def sets(scenario: DemoScenario, written: dict[str, bytes]) -> dict[str, SetFile]:
    return {
        one.truth.id: read_set(written[f"{one.truth.id}.set.toml"], family.family, one.truth.id)
        for family in scenario.families
        for one in family.sets
    }


def tables(written: dict[str, bytes], name: str) -> list[dict[str, Any]]:
    return [
        row
        for path, content in written.items()
        if path.endswith(".toml")
        for row in tomllib.loads(content.decode()).get(name, [])
    ]


def test_drawn_again_every_file_is_the_same(written: dict[str, bytes]) -> None:
    developed.cache_clear()
    shelf.cache_clear()
    assert everything(generate(SEED)) == written


def test_what_is_named_is_there_and_nothing_else(written: dict[str, bytes]) -> None:
    photos = {f"photos/{row['sha256']}.jpg" for row in tables(written, "photo")}
    ending = {"application/pdf": ".pdf", "image/jpeg": ".jpg"}
    scans = {f"literature/files/{r['sha256']}{ending[r['media_type']]}" for r in tables(written, "attachment")}
    assert len(photos) >= 8
    assert len(scans) == 2
    assert photos | scans == {path for path in written if not path.endswith((".toml", ".csv"))}


def test_photos_are_pictures_of_a_size_to_look_at(written: dict[str, bytes]) -> None:
    for path, content in written.items():
        if path.startswith("photos/"):
            with Image.open(BytesIO(content)) as image:
                image.load()
                assert image.size == (768, 576)
                low, high = image.convert("L").getextrema()
                assert high - low > 100, "there is something in it"
            assert len(content) < 150_000


def test_two_sets_show_the_same_features_in_marked_places(sets: dict[str, SetFile]) -> None:
    marked = [
        {photo.feature for photo in sets[name].case.photos if photo.feature and photo.region is not None}
        for name in ("sedgewater-bench", "sedgewater-swapped")
    ]
    assert len(marked[0] & marked[1]) >= 2
    assert {"model-stamp", "knobs", "tube-label"} <= marked[0] & marked[1]


@pytest.mark.parametrize("seed", [SEED, 7, 1952])
def test_a_picture_shows_what_its_file_says(seed: int) -> None:
    for one in generate(seed).families[0].sets:
        states = {row["feature"]: row.get("state", "") for row in tomllib.loads(one.file)["observation"]}
        shots = {pin.feature: shot for shot in album_of(one.truth.id, one.file, one.truth.serial) for pin in shot.pins}
        assert f">{states['model-stamp']}</text>" in shots["model-stamp"].drawing.svg
        assert f">{one.truth.serial}</text>" in shots["model-stamp"].drawing.svg
        form = states["tube-label"]
        assert f">{form[:1].upper()}{form[1:]}</text>" in shots["tube-label"].drawing.svg


def test_the_inspectors_ink_is_seen_where_there_is_no_rust() -> None:
    clean = rear_apron("1148", "T8819", ink="green", rusted=False, seed=1)
    rusty = rear_apron("1148", "T8819", ink="green", rusted=True, seed=1)
    assert "INSP." in clean.svg
    assert "INSP." not in rusty.svg
    assert "inspection-stamp" in dict(clean.places)
    assert "inspection-stamp" not in dict(rusty.places)


def test_a_place_covers_what_is_drawn_there() -> None:
    """Against the pixels: a drawing of one black square on white, its place found again in the picture."""
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="400" height="300">'
        '<rect width="400" height="300" fill="#fff"/><rect x="100" y="60" width="80" height="120"/></svg>'
    )
    with Image.open(BytesIO(developed(Drawing(svg), SCAN).content)) as image:
        dark = image.convert("L").point(lambda shade: 255 if shade < 128 else 0).getbbox()
        assert dark is not None
        shares = [dark[0] / image.width, dark[1] / image.height, dark[2] / image.width, dark[3] / image.height]
    assert shares == pytest.approx([100 / 400, 60 / 300, 180 / 400, 180 / 300], abs=0.01)


def test_the_shelf_is_read_and_its_scans_have_the_pages_it_says(written: dict[str, bytes]) -> None:
    entries = [
        read_literature(content, path).entry
        for path, content in written.items()
        if path.startswith("literature/") and path.endswith(".toml")
    ]
    assert len({entry.id for entry in entries}) == len(entries) >= 8
    assert {entry.owned for entry in entries} == {True, False}
    assert any(entry.volume for entry in entries)
    for entry in entries:
        for scan in entry.attachments:
            content = written[f"literature/files/{scan.sha256}{scan.suffix}"]
            if scan.suffix == ".pdf":
                assert len(PdfReader(BytesIO(content)).pages) == scan.pages == 2
            else:
                assert scan.pages == 1
    assert sum(bool(entry.attachments) for entry in entries) == 2


def test_versions_and_observations_cite_documents_that_are_there(
    scenario: DemoScenario, written: dict[str, bytes], sets: dict[str, SetFile]
) -> None:
    shelved = {path[11:-5] for path in written if path.startswith("literature/") and path.endswith(".toml")}
    file = read_family(written["sedgewater-11.family.toml"], "family")
    assert set(file.literature.values()) <= shelved
    assert {file.literature[name] for version in file.family.versions for name in version.sources} <= shelved
    sources = {family.family.id: {source.id for source in family.family.sources} for family in scenario.families}
    cited = {(one.set.family, seen.source) for one in sets.values() for seen in one.set.observations if seen.source}
    assert len(cited) >= 4
    assert all(source in shelved or source in sources[family] for family, source in cited)
