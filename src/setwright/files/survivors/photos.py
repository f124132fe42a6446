"""The column `x-photos` of a survivors file: the photos of each set, by the sums of their contents.

    <sha256> <sha256>@converter <sha256>@converter:0.1,0.2,0.3,0.25

A photo may be pinned to a feature, and there to a region: left, top, width and height as shares of the picture.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from setwright.files.case import Photo, Region
from setwright.files.case_reading import region_of
from setwright.files.problems import quoted
from setwright.notation import NotationError

COLUMN = "x-photos"

_STEP = 1e-5
_PHOTO = re.compile(r"([0-9a-f]{64})(?:@([A-Za-z0-9_-]{1,100})(?::([0-9.,]+))?)?")
_FORM = "write the sum of each photo, with @feature or @feature:x,y,width,height behind it, and spaces between them"


def read_photos(cell: str) -> tuple[Photo, ...]:
    """The photos that a cell names; NotationError where it cannot be read.

    >>> read_photos("ab" * 32 + "@converter:0.1,0.2,0.3,0.25")[0].region
    Region(x=0.1, y=0.2, width=0.3, height=0.25)
    """
    return tuple(_photo(word) for word in cell.split())


def _photo(word: str) -> Photo:
    match = _PHOTO.fullmatch(word)
    if match is None:
        raise NotationError(f"{quoted(word)} names no photo; {_FORM}")
    region = None
    if match[3] is not None:
        try:
            shares = [float(share) for share in match[3].split(",")]
        except ValueError:
            shares = []
        if len(shares) != 4:
            raise NotationError(f"{quoted(match[3])} is no region; {_FORM}")
        region = region_of(shares)
    return Photo(match[1], feature=match[2], region=region)


def write_photos(photos: Iterable[Photo]) -> str:
    """The cell that names these photos: their sums, features and regions; what else is known of them is left out."""
    return " ".join(_word(photo) for photo in photos)


def _word(photo: Photo) -> str:
    if photo.feature is None:
        return photo.sha256
    return f"{photo.sha256}@{photo.feature}{_region(photo.region)}"


def _region(region: Region | None) -> str:
    if region is None:
        return ""
    x, width = _rounded(region.x, region.width)
    y, height = _rounded(region.y, region.height)
    return ":" + ",".join(f"{share:.5f}".rstrip("0").rstrip(".") for share in (x, y, width, height))


def _rounded(start: float, length: float) -> tuple[float, float]:
    """A stretch of the picture in steps of _STEP, which are finer than any picture; still in it, and of some length."""
    start = min(round(start, 5), 1 - _STEP)
    return start, min(max(round(length, 5), _STEP), round(1 - start, 5))
