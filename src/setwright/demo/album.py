"""Photographs of the sets on the bench: drawn, as nobody could have taken them."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from zlib import crc32

from setwright.demo.drawn import PHOTO, Drawing, developed
from setwright.demo.drawn.cabinet import front, knobs, tube_label
from setwright.demo.drawn.chassis import hung_capacitor, rear_apron, speaker

HEADING = "# The pictures are drawn for the demonstration: no camera saw these sets."


@dataclass(frozen=True, slots=True)
class Pin:
    """What a photo shows. feature : None for nothing in particular. place : of its drawing; None means all of it."""

    caption: str
    feature: str | None = None
    place: str | None = None


@dataclass(frozen=True, slots=True)
class Shot:
    """One photo of a set. taken : the day. pins : what it shows, at least one."""

    name: str
    taken: str
    drawing: Drawing
    pins: tuple[Pin, ...]


@dataclass(frozen=True, slots=True)
class SetInWords:
    """What a set's file says that a picture has to show.

    serial : in full, as it is struck into the chassis. states : what was seen, by feature. codes : date codes, by part.
    """

    id: str
    serial: str
    states: Mapping[str, str]
    codes: Mapping[str, str]

    def seed(self, name: str) -> int:
        """What sets the strokes of one drawing."""
        return crc32(f"{self.id} {name}".encode())


def album_of(set_id: str, file: str, serial: str) -> tuple[Shot, ...]:
    """The photos of a set on the bench; none of one that nobody drew. file : its TOML text."""
    if set_id not in _ALBUMS:
        return ()
    keys = tomllib.loads(file)
    states = {one["feature"]: one["state"] for one in keys["observation"] if "state" in one}
    codes = {one["part"]: one["code"] for one in keys.get("date_evidence", []) if "code" in one}
    return tuple(_ALBUMS[set_id](SetInWords(set_id, serial, states, codes)))


def entered(shots: tuple[Shot, ...]) -> tuple[str, dict[str, bytes]]:
    """The photos as tables of the set's file, and their files by the SHA-256 of their content."""
    pictures = {shot: developed(shot.drawing, PHOTO) for shot in shots}
    tables = ["\n".join(_table(shot, pin, pictures[shot].sha256)) for shot in shots for pin in shot.pins]
    text = "\n\n".join([HEADING, *tables]) + "\n" if tables else ""
    return text, {picture.sha256: picture.content for picture in pictures.values()}


def _table(shot: Shot, pin: Pin, sha256: str) -> Iterator[str]:
    yield "[[photo]]"
    yield f'sha256 = "{sha256}"'
    yield f"name = {json.dumps(shot.name)}"
    yield f"caption = {json.dumps(pin.caption, ensure_ascii=False)}"
    if pin.feature is not None:
        yield f"feature = {json.dumps(pin.feature)}"
    if pin.place is not None:
        yield f"region = {list(shot.drawing.place(pin.place))}"
    yield f'taken = "{shot.taken}"'
    yield 'added_by = "you"'


def _sedgewater_bench(seen: SetInWords) -> Iterator[Shot]:
    """As it came in: rusted, dusty, with knobs of another set."""
    states, day = seen.states, "2024-05-05"
    finish = states["cabinet-finish"]
    yield Shot(
        "rear apron (drawn).jpg",
        day,
        rear_apron(states["model-stamp"], seen.serial, ink=None, rusted=True, seed=seen.seed("apron")),
        (
            Pin("Struck rather shallow; the lamp held low, from the left", "model-stamp", "model-stamp"),
            Pin("Under the rust: the inspector's stamp, if there is one", "inspection-stamp", "serial"),
        ),
    )
    yield Shot(
        "cabinet (drawn).jpg",
        "2024-05-04",
        front(finish, states["escutcheon"], states["knobs"], cloth=None, crazed=True, seed=seen.seed("front")),
        (
            Pin("As it came in, nothing wiped", "cabinet-finish"),
            Pin("Four screws, none of them ever turned", "escutcheon", "escutcheon"),
        ),
    )
    yield Shot(
        "knobs (drawn).jpg",
        "2024-05-04",
        knobs(states["knobs"], finish, cracked=True, seed=seen.seed("knobs")),
        (Pin("Push-on, from some other set; the right one has a hairline crack", "knobs", "knobs"),),
    )
    yield Shot(
        "tube label (drawn).jpg",
        day,
        tube_label(states["tube-label"], nailed=False, rf_amplifier="6AG5", seed=seen.seed("label")),
        (Pin("The form number, at its lower edge", "tube-label", "form"),),
    )
    yield Shot(
        "speaker (drawn).jpg",
        day,
        speaker(states["speaker-frame"], seen.codes.get("speaker"), from_the_side=False, seed=seen.seed("speaker")),
        (
            Pin("Straight from behind", "speaker-frame", "speaker-frame"),
            Pin("The date code, in red on the pot", None, "code"),
        ),
    )


def _sedgewater_swapped(seen: SetInWords) -> Iterator[Shot]:
    """The second one: the same places, so that the two can be held side by side."""
    states, day = seen.states, "2024-06-15"
    finish = states["cabinet-finish"]
    yield Shot(
        "rear apron, second set (drawn).jpg",
        day,
        rear_apron(
            states["model-stamp"], seen.serial, ink=states["inspection-stamp"], rusted=False, seed=seen.seed("apron")
        ),
        (
            Pin("Clean and deep", "model-stamp", "model-stamp"),
            Pin("Still wet-looking after all these years", "inspection-stamp", "inspection-stamp"),
        ),
    )
    yield Shot(
        "knobs, second set (drawn).jpg",
        day,
        knobs(states["knobs"], finish, cracked=False, seed=seen.seed("knobs")),
        (Pin("All four the same, worn alike", "knobs", "knobs"),),
    )
    yield Shot(
        "tube label, second set (drawn).jpg",
        day,
        tube_label(states["tube-label"], nailed=True, rf_amplifier=states["rf-amplifier"], seed=seen.seed("label")),
        (Pin("All of it there, the corners nailed", "tube-label", "form"),),
    )
    yield Shot(
        "speaker, second set (drawn).jpg",
        day,
        speaker(states["speaker-frame"], None, from_the_side=True, seed=seen.seed("speaker")),
        (Pin("From the side, past the output transformer", "speaker-frame", "speaker-frame"),),
    )


def _thimble_bench(seen: SetInWords) -> Iterator[Shot]:
    """One part from below."""
    yield Shot(
        "coupling capacitor (drawn).jpg",
        "2024-07-20",
        hung_capacitor(seen.states["coupling-capacitor"], seed=seen.seed("capacitor")),
        (Pin("A film capacitor, its leads wrapped round the stubs of the old one", "coupling-capacitor", "capacitor"),),
    )


_ALBUMS: Mapping[str, Callable[[SetInWords], Iterator[Shot]]] = {
    "sedgewater-bench": _sedgewater_bench,
    "sedgewater-swapped": _sedgewater_swapped,
    "thimble-bench": _thimble_bench,
}
"""Who draws what, by the id of the set."""
