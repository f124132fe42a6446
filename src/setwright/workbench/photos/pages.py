"""Pages of photos, put into reading order and words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from setwright.files.case import Photo, Region
from setwright.identity.model import BenchSet, Family
from setwright.workbench.photos import store
from setwright.workbench.photos.marks import THIRDS, PinForm, values_of
from setwright.workbench.photos.models import Blob
from setwright.workbench.photos.naming import photos_of_set
from setwright.workbench.services.records import bench_set_of, family_of
from setwright.workbench.sets.models import SetRecord

MOST_OTHERS = 60
"""So many other sets are looked through for photos of the same features."""

_ROOM = 0.6
"""How much of the picture around a marked place is shown with it, in sizes of that place."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A marked place in the picture's own pixels. `number`, among all that the picture shows, stands beside it.

    Names of features would run into each other.
    """

    x: float
    y: float
    width: float
    height: float
    number: int
    label_x: float
    label_y: float
    label_anchor: str


@dataclass(frozen=True, slots=True)
class Shown:
    """One picture with what is marked in it. `blob` is None where the picture itself is not kept here."""

    sha256: str
    name: str
    words: str
    caption: str
    about: str
    blob: Blob | None
    marks: tuple[Mark, ...]
    view: tuple[float, float, float, float] | None = None

    @property
    def detail(self) -> str:
        """Which copy is sharp enough for `view`."""
        return "whole" if self.blob and self.view and self.view[2] < self.blob.width / 2 else "large"

    @property
    def letters(self) -> float:
        """The size of letters in the picture, in its pixels."""
        return 0.0 if self.blob is None else round(_letters(self.blob), 1)


@dataclass(frozen=True, slots=True)
class Pin:
    """One entry of the set's file for a picture, with the form that changes it."""

    number: int
    heading: str
    caption: str
    marked: bool
    form: PinForm


@dataclass(frozen=True, slots=True)
class PhotoPage:
    """Everything the page of one picture shows."""

    shown: Shown
    facts: tuple[tuple[str, str], ...]
    pins: tuple[Pin, ...]
    fresh: PinForm
    parts: tuple[tuple[str, str], ...]
    others: tuple[Beside, ...]


@dataclass(frozen=True, slots=True)
class Beside:
    """Another set that has photos of the same features: its key and features, by id and label."""

    key: str
    name: str
    features: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Side:
    """One of two sets beside each other: what was seen of the feature, and its photos."""

    key: str
    name: str
    seen: str
    photos: tuple[Shown, ...]


@dataclass(frozen=True, slots=True)
class Comparison:
    """The same feature on two sets. `choices` are the features that both have photos of."""

    feature: str
    label: str
    sides: tuple[Side, Side]
    choices: tuple[tuple[str, str], ...] = field(default=())


def gallery(record: SetRecord) -> tuple[Shown, ...]:
    """The set's pictures, each once, newest last, with all their marks."""
    family, photos = family_of(record.family), photos_of_set(record)
    blobs = store.blobs_of([photo.sha256 for photo in photos])
    by_sum: dict[str, list[Photo]] = {}
    for photo in photos:
        by_sum.setdefault(photo.sha256, []).append(photo)
    return tuple(_shown(family, entries, blobs.get(sha256)) for sha256, entries in by_sum.items())


def photo_page(
    record: SetRecord, entries: Sequence[tuple[int, Photo]], wrong: tuple[int | None, PinForm] | None = None
) -> PhotoPage:
    """The page of one picture.

    wrong : a form that was sent and could not be taken, with the number of its entry, None for a new one.
    """
    family = family_of(record.family)
    photos = [photo for _, photo in entries]
    first = photos[0]
    blob = store.blobs_of([first.sha256]).get(first.sha256)
    forms = {number: PinForm(family, initial=values_of(photo), auto_id=f"pin-{number}-%s") for number, photo in entries}
    fresh = PinForm(family, auto_id="pin-new-%s")
    if wrong is not None:
        number, form = wrong
        if number is None:
            fresh = form
        else:
            forms[number] = form
    return PhotoPage(
        shown=_shown(family, photos, blob),
        facts=_facts(first, blob),
        pins=tuple(
            Pin(number, _label(family, photo), photo.caption, photo.region is not None, forms[number])
            for number, photo in entries
        ),
        fresh=fresh,
        parts=tuple((key, label) for key, (label, _) in THIRDS.items()),
        others=beside(record, {photo.feature for photo in photos if photo.feature}),
    )


def beside(record: SetRecord, features: Iterable[str] | None = None) -> tuple[Beside, ...]:
    """Other sets of the family with photos of the same features: of these, or of all that this set has photos of."""
    family = family_of(record.family)
    own = {photo.feature for photo in photos_of_set(record) if photo.feature}
    wanted = own if features is None else own & set(features)
    if not wanted:
        return ()
    records = SetRecord.objects.filter(family=record.family, text__contains="photo").exclude(pk=record.pk)
    found = []
    # With their texts: after a start, none of them is remembered, and each would be fetched by itself.
    for other in records.select_related("family").defer("family__text")[:MOST_OTHERS]:
        shared = wanted & {photo.feature for photo in photos_of_set(other)}
        if shared:
            found.append(Beside(other.key, str(other), _in_order(family, shared)))
    return tuple(found)


def comparison(record: SetRecord, other: SetRecord, feature: str) -> Comparison | None:
    """One feature on two sets; with feature "" the first that both have photos of. None where there is no such."""
    family = family_of(record.family)
    own, theirs = ({photo.feature for photo in photos_of_set(one) if photo.feature} for one in (record, other))
    choices = _in_order(family, own & theirs)
    chosen = feature or (choices[0][0] if choices else "")
    known = next((item for item in family.features if item.id == chosen), None)
    if known is None:
        return None
    return Comparison(known.id, known.label, (_side(record, known.id), _side(other, known.id)), choices)


def _in_order(family: Family, features: Iterable[str | None]) -> tuple[tuple[str, str], ...]:
    wanted = set(features)
    return tuple((feature.id, feature.label) for feature in family.features if feature.id in wanted)


def _side(record: SetRecord, feature: str) -> Side:
    family = family_of(record.family)
    photos = [photo for photo in photos_of_set(record) if photo.feature == feature]
    blobs = store.blobs_of([photo.sha256 for photo in photos])
    shown = tuple(_shown(family, [photo], blobs.get(photo.sha256), close=True) for photo in photos)
    return Side(record.key, str(record), _seen(bench_set_of(record), feature), shown)


def _seen(bench_set: BenchSet, feature: str) -> str:
    """What was seen of a feature, in words."""
    observation = bench_set.latest.get(feature)
    if observation is None:
        return "not noted yet"
    if observation.cannot_tell:
        return "looked, cannot tell"
    state = observation.state or "looks serviced"
    return state if observation.sure == "certain" else f"{state} ({observation.sure})"


def _shown(family: Family, photos: Sequence[Photo], blob: Blob | None, *, close: bool = False) -> Shown:
    """One picture with the entries that stand for it. close : only the surroundings of the first marked place."""
    first = photos[0]
    regions = enumerate((photo.region for photo in photos), start=1)
    marks = tuple(_mark(region, blob, number) for number, region in regions if blob is not None and region is not None)
    captions = list(dict.fromkeys(photo.caption for photo in photos if photo.caption))
    labels = list(dict.fromkeys(_label(family, photo) for photo in photos if photo.feature))
    return Shown(
        sha256=first.sha256,
        name=first.name or "photo",
        words=_words(labels, captions, first),
        caption=_sentences(captions),
        about=_in_one(labels),
        blob=blob,
        marks=marks,
        view=_surroundings(marks[0], blob) if close and marks and blob is not None else None,
    )


def _words(labels: Sequence[str], captions: Sequence[str], photo: Photo) -> str:
    """What the picture shows, for those who do not see it."""
    what = ", ".join([*labels, *captions]) or f"photo {photo.name}".strip()
    return f"{what}, taken {photo.taken[:10]}" if photo.taken else what


def _label(family: Family, photo: Photo) -> str:
    return family.feature(photo.feature).label if photo.feature else "The whole set" if not photo.region else "Marked"


def _sentences(captions: Sequence[str]) -> str:
    """Captions one after the other; a single one as it stands.

    >>> _sentences(["As it came in"]), _sentences(["As it came in", "Dusty."])
    ('As it came in', 'As it came in. Dusty.')
    """
    return captions[0] if len(captions) == 1 else " ".join(f"{one.rstrip('.')}." for one in captions)


def _in_one(labels: Sequence[str]) -> str:
    """Names of features in one line, what follows the first as a sentence has it.

    >>> _in_one(["Knobs", "Dial glass", "FM scale"])
    'Knobs, dial glass, FM scale'
    """
    first, *rest = labels or [""]
    return ", ".join([first, *(one[:1].lower() + one[1:] if one[1:2].islower() else one for one in rest)])


def _mark(region: Region, blob: Blob, number: int) -> Mark:
    x, y = region.x * blob.width, region.y * blob.height
    width, height = region.width * blob.width, region.height * blob.height
    letters = _letters(blob)
    to_the_right = x + width / 2 < blob.width / 2
    # Above the place; below it where it begins at the top, inside where it fills the height.
    label_y = y - 0.35 * letters if y > 1.4 * letters else min(y + height + 1.1 * letters, blob.height - 0.4 * letters)
    return Mark(
        x=round(x, 1),
        y=round(y, 1),
        width=round(width, 1),
        height=round(height, 1),
        number=number,
        label_x=round(x if to_the_right else x + width, 1),
        label_y=round(label_y, 1),
        label_anchor="start" if to_the_right else "end",
    )


def _letters(blob: Blob) -> float:
    return max(blob.width, blob.height) / 28


def _surroundings(mark: Mark, blob: Blob) -> tuple[float, float, float, float]:
    """The part of the picture that shows a marked place with some room around it: left, top, width, height."""
    reach = _ROOM * max(mark.width, mark.height)
    left, top = max(mark.x - reach, 0.0), max(mark.y - reach, 0.0)
    right, bottom = min(mark.x + mark.width + reach, blob.width), min(mark.y + mark.height + reach, blob.height)
    return round(left, 1), round(top, 1), round(right - left, 1), round(bottom - top, 1)


def _facts(photo: Photo, blob: Blob | None) -> tuple[tuple[str, str], ...]:
    facts = [("File", photo.name or "no name")]
    if photo.taken:
        facts.append(("Taken", photo.taken.replace("T", " ")[:16]))
    if photo.added_at is not None:
        by = f" by {photo.added_by}" if photo.added_by else ""
        facts.append(("Added", f"{photo.added_at:%Y-%m-%d %H:%M} UTC{by}"))
    if blob is not None:
        facts.append(("Size", f"{blob.width:,} × {blob.height:,} points, {blob.size / 1e6:.1f} MB"))
    return tuple(facts)
