"""Pictures are kept by what they hold, and small copies are made on demand."""

from __future__ import annotations

import hashlib
from io import BytesIO
from pathlib import Path

import photos_made as made
import pytest
from PIL import Image

from setwright.workbench.blobs import BlobDamaged, BlobMissing
from setwright.workbench.photos import store, thumbnails
from setwright.workbench.photos.cleaning import PhotoRefused, cleaned
from setwright.workbench.photos.models import Blob
from setwright.workbench.photos.thumbnails import LONG_SIDE, sweep, thumbnail

pytestmark = pytest.mark.django_db


def kept(width: int = 900, height: int = 600, kind: str = "JPEG") -> Blob:
    return store.keep(cleaned(made.with_everything(kind, image=made.drawing(width, height)), "a"))


def file_of(blob: Blob) -> Path:
    suffix = {"image/jpeg": ".jpg", "image/png": ".png"}[blob.media_type]
    return store.files().path_of(blob.sha256, suffix)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF"])
def test_a_picture_is_kept_under_its_hash(kind: str, data_folder: Path) -> None:
    blob = kept(kind=kind)
    content = file_of(blob).read_bytes()
    assert hashlib.sha256(content).hexdigest() == blob.sha256
    assert (blob.width, blob.height, blob.size) == (900, 600, len(content))
    assert file_of(blob).is_relative_to(data_folder / "photos")
    assert store.content_of(blob.sha256) == content


def test_the_same_picture_is_kept_once() -> None:
    assert kept() == kept()
    assert Blob.objects.count() == 1
    assert len(list(store.files().paths())) == 1


def test_a_picture_that_is_gone_or_changed_is_told() -> None:
    blob = kept()
    file_of(blob).write_bytes(b"something else")
    with pytest.raises(BlobDamaged):
        store.content_of(blob.sha256)
    file_of(blob).unlink()
    with pytest.raises(BlobMissing):
        store.content_of(blob.sha256)
    with pytest.raises(BlobMissing):
        store.content_of("0" * 64)


def test_sending_it_again_mends_a_damaged_picture() -> None:
    blob = kept()
    file_of(blob).write_bytes(b"something else")
    assert kept() == blob
    assert store.content_of(blob.sha256)


def test_a_cleaned_picture_of_another_place_keeps_its_name() -> None:
    photo = cleaned(made.with_everything("HEIF"), "a")
    assert store.take_over(photo.content, photo.sha256).sha256 == photo.sha256


def test_only_cleaned_pictures_are_taken_over() -> None:
    coming = made.with_everything("JPEG")
    with pytest.raises(PhotoRefused, match="not a cleaned copy"):
        store.take_over(coming, hashlib.sha256(coming).hexdigest())
    photo = cleaned(coming, "a")
    with pytest.raises(PhotoRefused, match="SHA-256 differs"):
        store.take_over(photo.content, "0" * 64)
    assert not Blob.objects.exists()


@pytest.mark.parametrize("size", LONG_SIDE)
@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_small_copies_show_the_same_picture(size: str, kind: str) -> None:
    blob = kept(1800, 1200, kind)
    image = Image.open(BytesIO(thumbnail(blob, size)))
    assert image.format == "JPEG"
    assert max(image.size) == LONG_SIDE[size]
    assert made.same_colours(made.corners(image), made.corners(made.drawing()))


def test_a_small_picture_is_not_blown_up() -> None:
    assert Image.open(BytesIO(thumbnail(kept(90, 60), "large"))).size == (90, 60)


def test_a_small_copy_of_deep_grey_keeps_its_tones() -> None:
    grey = made.encoded(Image.new("I;16", (640, 480), 0x8000), "PNG")
    blob = store.keep(cleaned(grey, "a"))
    assert Image.open(BytesIO(thumbnail(blob, "small"))).convert("L").getpixel((5, 5)) == pytest.approx(127, abs=2)


def test_a_small_copy_is_drawn_once(monkeypatch: pytest.MonkeyPatch) -> None:
    blob = kept()
    first = thumbnail(blob, "small")
    monkeypatch.setattr(thumbnails, "_drawn", lambda *values: pytest.fail("drawn again"))
    assert thumbnail(blob, "small") == first


def test_a_small_copy_half_written_is_drawn_again() -> None:
    blob = kept()
    first = thumbnail(blob, "small")
    (path,) = thumbnails.folder().glob("small/*/*.jpg")
    path.write_bytes(first[: len(first) // 2])
    assert thumbnail(blob, "small") == first
    assert path.read_bytes() == first


def test_without_room_a_small_copy_is_drawn_all_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    def no_room(*values: object) -> None:
        raise OSError(28, "No space left on device")

    blob = kept()
    monkeypatch.setattr(thumbnails, "_write", no_room)
    assert Image.open(BytesIO(thumbnail(blob, "small"))).size == (320, 213)


def test_the_folder_of_small_copies_stays_bounded() -> None:
    blobs = [kept(400 + 10 * i, 300) for i in range(5)]
    held = [len(thumbnail(blob, "small")) for blob in blobs]
    sweep(sum(held))
    assert len(list(thumbnails.folder().glob("*/*/*.jpg"))) == 5
    sweep(sum(held) - 1)
    left = list(thumbnails.folder().glob("*/*/*.jpg"))
    assert sum(path.stat().st_size for path in left) <= 0.8 * sum(held)
    assert len(left) >= 3
