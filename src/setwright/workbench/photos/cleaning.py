"""What comes in as a photo leaves as a clean picture: upright, bounded, without anything but the picture.

JPEG and PNG that lie upright keep their very pixels and only lose what is not the picture; a JPEG that has to be
turned is encoded again with its own tables. HEIC and WebP become JPEG of quality 90. Colours of wider profiles are
brought to sRGB, which needs no profile. The place, the camera, comments and previews are gone; only the day and time
of the picture are read beforehand, as `taken`.
"""

from __future__ import annotations

import hashlib
import re
import struct
import threading
import zlib
from dataclasses import dataclass, field
from datetime import datetime
from io import BytesIO
from typing import Any

import pillow_heif
from PIL import Image, ImageCms, ImageOps, JpegImagePlugin, UnidentifiedImageError

from setwright.workbench.photos.stripping import jpeg_drawing, png_drawing

LARGEST_BYTES = 40_000_000
MOST_PIXELS = 60_000_000
QUALITY = 90

JPEG, PNG = "image/jpeg", "image/png"
SUFFIXES = {JPEG: ".jpg", PNG: ".png"}
"""What is kept, with the suffix of its file."""

_STRIPPED = {"JPEG": (JPEG, jpeg_drawing), "PNG": (PNG, png_drawing)}
_PLAIN = frozenset({"1", "L", "LA", "P", "PA", "RGB", "RGBA", "I;16"})
_DAMAGED = "is damaged or was not sent whole; send it again"
_FORMATS = ("JPEG", "PNG", "WEBP", "HEIF")
_ORIENTATION, _EXIF_IFD, _TAKEN, _OFFSET = 0x0112, 0x8769, 0x9003, 0x9011
# What Pillow and the libraries under it raise on files that are broken in one way or other.
_BROKEN = (OSError, ValueError, SyntaxError, TypeError, IndexError, KeyError, EOFError, struct.error, zlib.error)
_BROKEN_OPENING = (*_BROKEN, RuntimeError)

# A picture of 60 megapixels takes some hundred megabytes while it is worked on: two at a time are enough.
_at_work = threading.BoundedSemaphore(2)

pillow_heif.register_heif_opener(thumbnails=False, depth_images=False, aux_images=False)


class PhotoRefused(ValueError):
    """A file that is not taken in as a photo. `message` is one plain sentence that names the file."""

    def __init__(self, name: str, reason: str) -> None:
        self.name = name
        self.message = f"{name or 'The file'} {reason}"
        super().__init__(self.message)


@dataclass(frozen=True, slots=True)
class Cleaned:
    """A clean picture, ready to be kept.

    width, height : pixels as shown. taken : the day and time the camera wrote, ISO 8601; None where it wrote none.
    """

    name: str
    content: bytes = field(repr=False)
    media_type: str
    width: int
    height: int
    taken: str | None = None

    @property
    def sha256(self) -> str:
        """The name under which the picture is kept."""
        return hashlib.sha256(self.content).hexdigest()

    @property
    def suffix(self) -> str:
        """The suffix of its file."""
        return SUFFIXES[self.media_type]


def cleaned(content: bytes, name: str) -> Cleaned:
    """The clean copy of a photo that came in under a file name (only used to say which file is meant).

    What the file is, is decided by its content. Raises PhotoRefused for what is no JPEG, PNG, WebP or HEIC picture, is
    not whole, is larger than LARGEST_BYTES or shows more than MOST_PIXELS.
    """
    _check_size(content, name)
    with _at_work:
        image = _opened(content, name)
        try:
            return _clean(image, content, name)
        except PhotoRefused:
            raise
        except (*_BROKEN_OPENING, Image.DecompressionBombError) as problem:
            raise PhotoRefused(name, _DAMAGED) from problem


def checked(content: bytes, name: str) -> Cleaned:
    """A picture that was cleaned before, as it stands: looked through and measured, not changed.

    Raises PhotoRefused as `cleaned` does, and where the file holds more than the picture.
    """
    again = cleaned(content, name)
    if again.content != content:
        raise PhotoRefused(name, "is not a cleaned copy as Setwright keeps them")
    return again


def _check_size(content: bytes, name: str) -> None:
    if not content:
        raise PhotoRefused(name, "is empty")
    if len(content) > LARGEST_BYTES:
        raise too_large(name, len(content))


def too_large(name: str, size: int) -> PhotoRefused:
    """The refusal of a file of `size` bytes."""
    most = LARGEST_BYTES / 1e6
    return PhotoRefused(name, f"has {size / 1e6:,.1f} MB; a photo can have up to {most:.0f} MB")


def _opened(content: bytes, name: str) -> Image.Image:
    """The picture with its header read, nothing decoded yet."""
    try:
        image = Image.open(BytesIO(content), formats=_FORMATS)
        width, height = image.size
    except Image.DecompressionBombError as problem:
        raise PhotoRefused(name, _too_many_pixels()) from problem
    except UnidentifiedImageError as problem:
        raise PhotoRefused(name, "is not a photo in one of the formats JPEG, PNG, WebP and HEIC") from problem
    except _BROKEN_OPENING as problem:
        raise PhotoRefused(name, _DAMAGED) from problem
    _check_pixels(width, height, name)
    return image


def _check_pixels(width: int, height: int, name: str) -> None:
    if width * height > MOST_PIXELS:
        raise PhotoRefused(name, _too_many_pixels(width, height))


def _too_many_pixels(width: int = 0, height: int = 0) -> str:
    size = f"shows {width:,} × {height:,} points" if width else "shows too many points"
    return f"{size}; a photo can have up to {MOST_PIXELS / 1e6:.0f} megapixels"


def _clean(image: Image.Image, content: bytes, name: str) -> Cleaned:
    kind = "JPEG" if image.format == "MPO" else image.format
    if kind in _STRIPPED:
        media_type, drawing = _STRIPPED[kind]
        stripped = drawing(content)
        drawn = Image.open(BytesIO(stripped), formats=(kind,))
        _check_pixels(*drawn.size, name)
        drawn.load()
        if _orientation(image) == 1 and image.mode in _PLAIN and not _has_wide_colours(image):
            return Cleaned(name, stripped, media_type, *drawn.size, _taken(image))
    image.load()
    picture = image if _orientation(image) == 1 else ImageOps.exif_transpose(image)
    if kind == "PNG":
        return _as_png(_in_srgb(in_eight_bits(picture)), name, _taken(image))
    settings = _own_tables(drawn) if kind == "JPEG" else {"quality": QUALITY}
    return _as_jpeg(_in_srgb(on_white(picture)), name, _taken(image), settings)


def _own_tables(image: Image.Image) -> dict[str, Any]:
    """The settings that encode a JPEG picture again as it was encoded before."""
    if not isinstance(image, JpegImagePlugin.JpegImageFile) or image.mode not in {"L", "RGB"}:
        return {"quality": QUALITY}
    tables = image.quantization
    if sorted(tables) != list(range(len(tables))):
        return {"quality": QUALITY}
    return {"qtables": tables, "subsampling": JpegImagePlugin.get_sampling(image)}


def _as_png(picture: Image.Image, name: str, taken: str | None) -> Cleaned:
    # Which colour of a palette is transparent is part of the picture; all other notes are not.
    picture.info = {key: value for key, value in picture.info.items() if key == "transparency"}
    out = BytesIO()
    picture.save(out, "PNG")
    return Cleaned(name, png_drawing(out.getvalue()), PNG, *picture.size, taken)


def _as_jpeg(picture: Image.Image, name: str, taken: str | None, settings: dict[str, Any]) -> Cleaned:
    picture.info = {}
    out = BytesIO()
    picture.save(out, "JPEG", **settings)
    return Cleaned(name, jpeg_drawing(out.getvalue()), JPEG, *picture.size, taken)


def in_eight_bits(image: Image.Image) -> Image.Image:
    """Grey of sixteen bits, which few programs show, in eight."""
    if image.mode.startswith("I"):
        return image.convert("I").point(lambda value: value / 257).convert("L")
    return image


def on_white(image: Image.Image) -> Image.Image:
    """The picture on white paper where it lets the ground show through."""
    if not image.has_transparency_data:
        return image if image.mode in {"L", "RGB"} else image.convert("RGB")
    layers = image.convert("RGBA")
    paper = Image.new("RGB", image.size, "white")
    paper.paste(layers, mask=layers.getchannel("A"))
    paper.info = dict(image.info)
    return paper


def _wide_profile(image: Image.Image) -> ImageCms.ImageCmsProfile | None:
    """The colour profile in the file that is not sRGB's; None where there is none or it cannot be read."""
    written = image.info.get("icc_profile")
    if not written:
        return None
    try:
        profile = ImageCms.ImageCmsProfile(BytesIO(written))
    except (OSError, ValueError):
        return None
    return None if "srgb" in (profile.profile.profile_description or "").lower() else profile


def _has_wide_colours(image: Image.Image) -> bool:
    return _wide_profile(image) is not None


def _in_srgb(image: Image.Image) -> Image.Image:
    """The picture with the colours every screen assumes; grey and palettes as they are."""
    if image.mode not in {"RGB", "RGBA", "CMYK"}:
        return image
    colours = image.convert("RGB") if image.mode == "RGBA" else image
    profile = _wide_profile(image)
    if profile is not None:
        try:
            turned = ImageCms.profileToProfile(colours, profile, ImageCms.createProfile("sRGB"), outputMode="RGB")
        except ImageCms.PyCMSError:
            # A profile that does not suit the picture says nothing about its colours.
            turned = None
        colours = colours if turned is None else turned
    if image.mode == "RGBA":
        colours.putalpha(image.getchannel("A"))
        return colours
    return colours.convert("RGB") if colours.mode == "CMYK" else colours


def _notes(image: Image.Image) -> Image.Exif | None:
    """What the camera wrote beside the picture; None where that is damaged, which the picture need not be."""
    try:
        return image.getexif()
    except _BROKEN:
        return None


def _orientation(image: Image.Image) -> int:
    notes = _notes(image)
    value = 1 if notes is None else notes.get(_ORIENTATION, 1)
    return value if value in range(1, 9) else 1


def _taken(image: Image.Image) -> str | None:
    """The day and time of the picture as the camera wrote it, in ISO 8601."""
    notes = _notes(image)
    if notes is None:
        return None
    try:
        camera = notes.get_ifd(_EXIF_IFD)
        moment = datetime.strptime(str(camera.get(_TAKEN, "")).strip(" \0"), "%Y:%m:%d %H:%M:%S")
    except _BROKEN:
        return None
    offset = str(camera.get(_OFFSET, "")).strip(" \0")
    return moment.isoformat() + (offset if re.fullmatch(r"[+-](0\d|1[0-4]):[0-5]\d", offset) else "")
