"""A data folder as a club's may become: families, registers of survivors, sets under study, photos of them.

Productions, survivors and sets are drawn from the model, so that answers are as sharp as real ones; the words are made
up. Everything goes in the way files and photos do.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from io import BytesIO

import numpy as np
from common import family_of_size

from setwright.identity import BenchSet, Family
from setwright.identity.simulate import bench_set_of, draw_production, draw_sets

FAMILIES, SURVIVORS_EACH, SETS_EACH, PHOTOS_EACH = 50, 400, 10, 10
"""Photos to each set; the others to each family."""

FEATURES, VERSIONS, SERIALS = 20, 5, 40_000
WORDS = (
    *("mill", "estate", "attic", "barn", "walnut", "veneer", "knob", "dial", "lamp", "cord", "speaker", "cone"),
    *("paper", "label", "stamp", "rust", "mouse", "hum"),
)
PARTS = (
    *("Converter", "Grille", "Dial", "Rectifier", "Filter", "Output", "Tuner", "Knob", "Lamp", "Socket", "Choke"),
    *("Coupling", "Mount"),
)
UNSEEN = 0.35
"""The share of its features that nobody has looked at yet, of a survivor and of a set."""


def words(draw: random.Random, count: int) -> str:
    """Some words as notes hold them."""
    return " ".join(draw.choice(WORDS) for _ in range(count))


def family_text(family: Family) -> str:
    """The family as its file has it."""
    top = (
        f'format = "setwright-family/1"\nid = "{family.id}"\nname = "{family.name}"\nkind = "radio"\n'
        f'last_serial = {family.last_serial}\n[[source]]\nid = "manual"\ntitle = "Service manual of {family.name}"\n'
    )
    features = "".join(
        f'[[feature]]\nid = "{f.id}"\nlabel = "{f.label}"\naccess = "{f.access}"\npermanence = "{f.permanence}"\n'
        f"states = {list(f.states)}\n"
        for f in family.features
    )
    versions = "".join(
        f'[[version]]\nid = "{v.id}"\nlabel = "{v.label}"\nsources = ["manual"]\nstates = {{ '
        + ", ".join(f'{feature} = "{state}"' for feature, state in v.states.items())
        + " }\n"
        for v in family.versions
    )
    return top + features + versions


def survivors_text(family: Family, sets: list[BenchSet], draw: random.Random) -> str:
    """The register of these sets, with a note on each."""
    features = [feature.id for feature in family.features]
    lines = [",".join(["id", "serial", "note", *features])]
    for number, one in enumerate(sets):
        seen = {observation.feature: observation.state for observation in one.observations}
        cells = [str(seen.get(feature) or "") for feature in features]
        lines.append(",".join([f"{family.id}-S{number:03d}", one.serial or "", words(draw, 6), *cells]))
    return "\n".join(lines) + "\n"


def set_text(family: Family, one: BenchSet, name: str, draw: random.Random) -> str:
    """A set half looked at, with what its owner wrote down."""
    seen = "".join(
        f'[[observation]]\nfeature = "{o.feature}"\nstate = "{o.state}"\nnote = "{words(draw, 4)}"\n'
        for o in one.observations
    )
    return (
        f'format = "setwright-set/1"\nid = "{name}"\nname = "The one from the {words(draw, 2)}"\n'
        f'family = "{family.id}"\nserial = "{one.serial}"\nopen_to = "underside"\n'
        f'[intake]\nfrom = "{words(draw, 3)}"\nprice = "40"\n{seen}'
        f'[[condition]]\narea = "cabinet"\ntext = "{words(draw, 6)}"\n[[note]]\ntext = "{words(draw, 20)}"\n'
    )


def picture(draw: random.Random) -> bytes:
    """A small JPEG like no other."""
    from PIL import Image

    image = Image.frombytes("RGB", (24, 16), draw.randbytes(24 * 16 * 3)).resize((240, 160))
    out = BytesIO()
    image.save(out, "JPEG", quality=70)
    return out.getvalue()


def families() -> Iterator[tuple[Family, list[BenchSet]]]:
    """The families, each with its survivors and then its sets."""
    plain = family_of_size(FEATURES, VERSIONS, SERIALS)
    features = tuple(
        replace(f, label=f"{PARTS[i % len(PARTS)]} {i}", states=(f"6SB{i}", f"6BE{i}"))
        for i, f in enumerate(plain.features)
    )
    renamed = {f.id: dict(zip(("old", "new"), f.states, strict=True)) for f in features}
    versions = tuple(
        replace(v, states={name: renamed[name][state] for name, state in v.states.items()}) for v in plain.versions
    )
    for number in range(FAMILIES):
        family = replace(plain, id=f"family-{number}", name=f"Family {number} table set", features=features)
        family = replace(family, versions=versions)
        rng = np.random.default_rng([1950, number])
        drawn = draw_sets(draw_production(family, rng), SURVIVORS_EACH + SETS_EACH, rng, not_seen=UNSEEN)
        yield family, [bench_set_of(drawn, row) for row in range(SURVIVORS_EACH + SETS_EACH)]


def fill() -> None:
    """Take everything in; Django has to stand, with its tables."""
    from django.db import transaction

    from setwright.workbench.services.imports import Incoming, import_contents
    from setwright.workbench.sets.models import SetRecord
    from setwright.workbench.sets.shelf_lines import line_of

    draw = random.Random(11)
    for family, made in families():
        survivors, sets = made[:SURVIVORS_EACH], made[SURVIVORS_EACH:]
        incoming = [
            Incoming("family.toml", family_text(family).encode()),
            Incoming("survivors.csv", survivors_text(family, survivors, draw).encode(), family.id),
        ]
        for number, one in enumerate(sets):
            text = set_text(family, one, f"{family.id}-bench-{number}", draw)
            incoming.append(Incoming(f"set-{number}.toml", text.encode()))
        of_family = SetRecord.objects.select_related("family__register").filter(family__key=family.id)
        with transaction.atomic():
            import_contents(incoming)
            for record in of_family:
                add_photos(record, draw)
            # What whoever looks at each set once leaves behind: its line on the shelf.
            for record in of_family.all():
                line_of(record)


def add_photos(record: object, draw: random.Random) -> None:
    """Photos of a set, as they are sent to it: half of them of one feature."""
    from django.core.files.uploadedfile import SimpleUploadedFile

    from setwright.workbench.photos.incoming import take

    half = PHOTOS_EACH // 2
    for feature, count in ((None, half), ("f00", PHOTOS_EACH - half)):
        files = [SimpleUploadedFile(f"IMG_{number}.jpg", picture(draw), "image/jpeg") for number in range(count)]
        taken = take(record, files, by=None, feature=feature)
        assert len(taken.added) == count, taken
