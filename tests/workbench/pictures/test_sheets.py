"""Sheets to save: whole files on their own, whatever is written on them, the same on every machine."""

from __future__ import annotations

import base64
import hashlib
import re
from io import BytesIO
from xml.etree import ElementTree

import pytest
import resvg_py
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageChops

from setwright.workbench.families.grid import Column, Grid, GridRow, SetCell, Span
from setwright.workbench.pictures import sheet as sheets
from setwright.workbench.pictures.bars import shares_picture, weights_picture
from setwright.workbench.pictures.features import USUAL_WIDTH, features_picture
from setwright.workbench.pictures.sheet import Sheet, content_security_policy, png_of, svg_of
from setwright.workbench.pictures.text import width_of, wrapped

SVG = "{http://www.w3.org/2000/svg}"


def grid(versions: int = 3, label: str = "Converter tube", note: str = "fits") -> Grid:
    columns = tuple(Column("ABCDEFGHIJ"[i % 10], f"Printing {i + 1}", f"v{i}", i == 1) for i in range(versions))
    kinds = ("fits", "before", "after", "conflict", "seen", "predicted", "nothing")
    rows = tuple(
        GridRow(
            feature=f"f{i}",
            label=f"{label} {i}",
            role="change",
            access="outside",
            spans=(Span("6SB7Y", versions - 1, False, kind == "fits", "A"), Span("not said", 1, True, False, "B")),
            cell=SetCell("6SB7Y", kind, note),  # type: ignore[arg-type]
        )
        for i, kind in enumerate(kinds)
    )
    return Grid("main", columns, rows, "bench-1")


def sheet(**changes: object) -> Sheet:
    values = {
        "heading": "bench-1, Heron 6",
        "drawing": features_picture(grid(), "Feature by feature"),
        "caption": ("Set bench-1.", "2024-05-02, made with Setwright"),
    }
    return Sheet(**{**values, **changes})  # type: ignore[arg-type]


def words_of(svg: str) -> list[str]:
    return ["".join(node.itertext()).strip() for node in ElementTree.fromstring(svg).iter(f"{SVG}text")]


def test_a_sheet_says_what_it_shows_when_and_with_what() -> None:
    words = words_of(svg_of(sheet()))
    assert words[:2] == ["bench-1, Heron 6", "Feature by feature"]
    assert words[-2:] == ["Set bench-1.", "2024-05-02, made with Setwright"]


def test_a_sheet_needs_nothing_beside_it() -> None:
    svg = svg_of(sheet())
    assert re.findall(r"(?:href|src|url\(|@import)", svg) == []
    assert 'xmlns="http://www.w3.org/2000/svg"' in svg
    assert "<style>" in svg


def test_its_styles_are_all_that_may_run_in_it() -> None:
    style = re.search(r"<style>(.*?)</style>", svg_of(sheet()), re.S)
    assert style is not None
    digest = base64.b64encode(hashlib.sha256(style[1].encode()).digest()).decode()
    assert content_security_policy() == f"default-src 'none'; style-src 'sha256-{digest}'; sandbox"


# What XML can hold at all; files are refused before anything else could get here.
TEXT = st.text(st.characters(exclude_categories=("Cs", "Cc"), exclude_characters="\ufffe\uffff"), max_size=60)


@settings(max_examples=40)
@given(TEXT, TEXT, TEXT)
def test_whatever_is_written_stays_words(heading: str, label: str, caption: str) -> None:
    drawing = features_picture(grid(label=label), heading)
    root = ElementTree.fromstring(svg_of(sheet(heading=heading, drawing=drawing, caption=(caption,))))
    assert {node.tag.removeprefix(SVG) for node in root.iter()} <= {
        *("svg", "title", "style", "rect", "text", "line", "g", "path")
    }


def test_what_looks_like_markup_is_written_out() -> None:
    svg = svg_of(sheet(heading="<script>alert(1)</script> & more"))
    assert words_of(svg)[0] == "<script>alert(1)</script> & more"


def test_everything_lies_on_the_sheet() -> None:
    for versions in (1, 3, 14):
        drawing = features_picture(grid(versions), "t")
        assert drawing.width >= USUAL_WIDTH - 1e-6
        for field in drawing.fields:
            assert field.x + field.width <= drawing.width + 0.5
            assert field.y + field.height <= drawing.height
            for line in field.lines:
                assert field.x <= line.x
                assert line.y <= field.y + field.height
        root = ElementTree.fromstring(svg_of(sheet(drawing=drawing)))
        assert float(root.get("width", "0")) == pytest.approx(drawing.width + 2 * sheets.MARGIN)
        last = max(float(node.get("y", "0")) for node in root.findall(f"{SVG}text"))
        assert last < float(root.get("height", "0"))


def test_bars_lie_within_their_scale() -> None:
    shares = shares_picture([("A", 100.0, "100 %", True), ("B", 0.0, "0 %", False)], "t")
    assert [bar.width for bar in shares.bars] == [shares.right - shares.left, 0.0]
    weights = weights_picture([("A", "x", 100.0, True, "against"), ("B", "y", 50.0, False, "for")], "t")
    first, second = weights.bars
    assert (first.x, first.x + first.width) == (weights.left, weights.middle)
    assert (second.x, second.width) == (weights.middle, (weights.right - weights.left) / 4)


@given(TEXT, st.floats(40, 400), st.integers(1, 4))
def test_wrapped_text_fits_and_loses_nothing_while_there_is_room(text: str, room: float, most: int) -> None:
    lines = wrapped(text, 14.0, room, most)
    assert 1 <= len(lines) <= most
    assert all(width_of(line, 14.0) <= room for line in lines)
    if not any(line.endswith("…") for line in lines):
        assert " ".join(lines) == re.sub(" +", " ", text).strip(" ")


def test_a_figure_and_its_sign_stay_on_one_line() -> None:
    assert wrapped("altered (64\N{NO-BREAK SPACE}%)", 14.0, 80.0) == ("altered", "(64\N{NO-BREAK SPACE}%)")


# PNG


def drawn(png: bytes) -> Image.Image:
    image = Image.open(BytesIO(png))
    assert image.format == "PNG"
    return image.convert("RGB")


def test_a_png_shows_the_sheet_at_twice_its_size() -> None:
    root = ElementTree.fromstring(svg_of(sheet()))
    image = drawn(png_of(sheet()))
    assert image.width == pytest.approx(2 * float(root.get("width", "0")), abs=2)
    assert image.height == pytest.approx(2 * float(root.get("height", "0")), abs=2)
    assert image.getpixel((2, 2)) == (0xFB, 0xF8, 0xF0)


def test_a_png_shows_words() -> None:
    with_words, without = (drawn(png_of(sheet(heading=heading))) for heading in ("bench-1", ""))
    changed = ImageChops.difference(with_words, without).getbbox()
    assert changed is not None
    left, top, right, bottom = changed
    assert left >= 2 * sheets.MARGIN - 8
    assert bottom <= 2 * 66
    assert right - left > 80
    assert bottom - top > 20


def test_a_png_is_the_same_whatever_letters_a_machine_has(monkeypatch: pytest.MonkeyPatch) -> None:
    here = png_of(sheet())
    render = resvg_py.svg_to_bytes
    monkeypatch.setattr(resvg_py, "svg_to_bytes", lambda **options: render(**options, skip_system_fonts=True))
    assert png_of(sheet()) == here


def test_a_huge_sheet_is_not_blown_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sheets, "MOST_PIXELS", 1000)
    root = ElementTree.fromstring(svg_of(sheet()))
    assert drawn(png_of(sheet())).width == pytest.approx(float(root.get("width", "0")), abs=1)
