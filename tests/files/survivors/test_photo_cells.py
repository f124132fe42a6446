"""The photos of a survivor, in one cell."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setwright.files.case import Photo, Region
from setwright.files.survivors.photos import read_photos, write_photos
from setwright.notation import NotationError

A, B = "ab" * 32, "01" * 32


def test_photos_with_and_without_pins():
    cell = f"{A} {B}@converter {A}@finish:0.1,0.2,0.3,0.25"
    assert read_photos(cell) == (
        Photo(A),
        Photo(B, feature="converter"),
        Photo(A, feature="finish", region=Region(0.1, 0.2, 0.3, 0.25)),
    )
    assert write_photos(read_photos(cell)) == cell
    assert read_photos("") == read_photos("  ") == ()


@pytest.mark.parametrize(
    ("cell", "expected"),
    [
        ("one.jpg", '"one.jpg" names no photo; write the sum of each photo'),
        (A[:-1], "names no photo"),
        (f"{A}@", "names no photo"),
        (f"{A}@a:0.1,0.2,0.3", "is no region"),
        (f"{A}@a:0.1,.,0.3,0.4", "is no region"),
        (f"{A}@a:0.8,0.2,0.3,0.4", "beyond the picture"),
        (f"{A}@a:0.8,0.2,0,0.4", "no size"),
    ],
)
def test_what_names_no_photo_is_told(cell, expected):
    with pytest.raises(NotationError) as refused:
        read_photos(cell)
    assert expected in refused.value.message


shares = st.floats(0, 1, exclude_max=True)


@given(shares, shares, shares, shares)
def test_any_region_comes_back(x, y, width, height):
    region = Region(x, y, max(width * (1 - x), 1e-300), max(height * (1 - y), 1e-300))
    (photo,) = read_photos(write_photos([Photo(A, feature="f", region=region)]))
    assert photo.region is not None
    for name in ("x", "y", "width", "height"):
        assert getattr(photo.region, name) == pytest.approx(getattr(region, name), abs=2e-5)
