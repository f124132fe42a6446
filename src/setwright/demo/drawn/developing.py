"""Drawings made into the files that a camera or a scanner would have left."""

from __future__ import annotations

import hashlib
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache, lru_cache
from importlib.resources import files
from io import BytesIO

import numpy as np
import numpy.typing as npt
import resvg_py
from PIL import Image

from setwright.demo.drawn.strokes import FACE, Drawing

QUALITY = 84
_FACES = ("SourceSerifPro-Regular.ttf", "SourceSerifPro-Bold.ttf", "SourceSerifPro-It.ttf")


@dataclass(frozen=True, slots=True)
class Look:
    """How a picture comes out. zoom : pixels for each unit of the drawing.

    grain : of the film, one standard deviation in shades of 255. falloff : how much darker its corners are, as a share.
    """

    zoom: float
    grain: float
    falloff: float


PHOTO = Look(zoom=0.64, grain=2.8, falloff=0.30)
"""Taken with a lamp to the side of the bench."""
SCAN = Look(zoom=0.8, grain=1.2, falloff=0.03)
"""Taken off a sheet of paper."""


@dataclass(frozen=True, slots=True)
class Developed:
    """A picture as a JPEG file; width and height in pixels."""

    content: bytes = field(repr=False)
    width: int
    height: int

    @property
    def sha256(self) -> str:
        """The name under which the picture is kept."""
        return hashlib.sha256(self.content).hexdigest()


@lru_cache(maxsize=64)
def developed(drawing: Drawing, look: Look = PHOTO) -> Developed:
    """The drawing as a JPEG file; the same drawing gives the same bytes with the same libraries."""
    png = resvg_py.svg_to_bytes(
        svg_string=drawing.svg, zoom=look.zoom, font_files=_font_files(), serif_family=FACE, skip_system_fonts=True
    )
    with Image.open(BytesIO(bytes(png))) as image:
        drawn = np.asarray(image.convert("RGB"), dtype=np.float32)
    picture = Image.fromarray(_with_light(drawn, look))
    out = BytesIO()
    picture.save(out, "JPEG", quality=QUALITY)
    return Developed(out.getvalue(), *picture.size)


def _with_light(drawn: npt.NDArray[np.float32], look: Look) -> npt.NDArray[np.uint8]:
    """The picture (height, width, 3) with dark corners and grain."""
    height, width, _ = drawn.shape
    light, grain = _light_and_grain(height, width, look)
    lit = drawn * light
    lit += grain
    shades: npt.NDArray[np.uint8] = np.clip(lit, 0, 255, out=lit).astype(np.uint8)
    return shades


@lru_cache(maxsize=4)
def _light_and_grain(height: int, width: int, look: Look) -> tuple[npt.NDArray[np.float32], npt.NDArray[np.float32]]:
    """What every picture of that size is multiplied with, and what is added to it: (height, width, 1) each."""
    y, x = np.ogrid[-1 : 1 : height * 1j, -1 : 1 : width * 1j]
    light = 1 - look.falloff * (np.clip((x + 0.15) ** 2 + (y + 0.15) ** 2 - 0.25, 0, None) / 2.4 + 0.3 * y)
    grain = np.random.default_rng(width * height).normal(0, look.grain, (height, width))
    return light.astype(np.float32)[..., None], grain.astype(np.float32)[..., None]


def pdf_of(pages: Sequence[Developed], title: str, made: tuple[int, int, int]) -> bytes:
    """Pictures as the pages of one PDF file. made : year, month and day that it says it was made on."""
    first, *rest = (Image.open(BytesIO(page.content)) for page in pages)
    moment = time.struct_time((*made, 12, 0, 0, 0, 0, 0))
    out = BytesIO()
    first.save(
        out, "PDF", save_all=True, append_images=rest, resolution=80.0, title=title,
        creationDate=moment, modDate=moment,
    )  # fmt: skip
    return out.getvalue()


@cache
def _font_files() -> list[str]:
    folder = files("font_source_serif_pro") / "files"
    return [str(folder / name) for name in _FACES]
