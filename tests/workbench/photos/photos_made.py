"""Pictures made for the tests, as cameras, telephones and programs write them."""

from __future__ import annotations

from io import BytesIO
from typing import Any

import pillow_heif
from PIL import Image, ImageCms

PLACE = {1: "N", 2: (51.0, 30.0, 0.0), 3: "W", 4: (0.0, 7.0, 0.0)}
"""Somewhere, as a telephone writes where it is."""

CAMERA = "Invented Camera 3"
TAKEN = "2024:05:02 19:04:00"


def drawing(width: int = 96, height: int = 64) -> Image.Image:
    """Four corners of different colours, so that a turn shows."""
    image = Image.new("RGB", (width, height), (230, 225, 210))
    boxes = {(200, 30, 30): (0, 0), (30, 160, 30): (1, 0), (30, 30, 200): (0, 1), (220, 200, 40): (1, 1)}
    for colour, (x, y) in boxes.items():
        image.paste(colour, (x * width // 2, y * height // 2, (x + 1) * width // 2, (y + 1) * height // 2))
    return image


def notes(orientation: int = 1) -> Image.Exif:
    exif = Image.Exif()
    exif[0x0112] = orientation
    exif[0x010F] = CAMERA
    exif.get_ifd(0x8769).update({0x9003: TAKEN, 0x9011: "+01:00"})
    exif.get_ifd(0x8825).update(PLACE)
    return exif


def encoded(image: Image.Image, kind: str, **options: Any) -> bytes:
    out = BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


def with_everything(kind: str, orientation: int = 1, image: Image.Image | None = None) -> bytes:
    """A picture with all that should not stay: place, camera, comment, profile, text."""
    pillow_heif.register_heif_opener()
    options: dict[str, Any] = {"exif": notes(orientation).tobytes()}
    if kind == "JPEG":
        options |= {"comment": b"from my attic", "quality": 85, "xmp": b"<x:xmpmeta>attic</x:xmpmeta>"}
    if kind in {"JPEG", "PNG", "WEBP"}:
        options["icc_profile"] = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    return encoded(drawing() if image is None else image, kind, **options)


def corners(image: Image.Image) -> list[tuple[int, ...]]:
    """The colours in the middles of the four quarters, from the top left, row by row."""
    picture = image.convert("RGB")
    width, height = picture.size
    return [picture.getpixel((int(x * width), int(y * height))) for y in (0.25, 0.75) for x in (0.25, 0.75)]


def same_colours(found: list[tuple[int, ...]], wanted: list[tuple[int, ...]], within: int = 24) -> bool:
    return all(abs(a - b) <= within for f, w in zip(found, wanted, strict=True) for a, b in zip(f, w, strict=True))
