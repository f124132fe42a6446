"""A picture on a sheet of its own: heading, drawing, caption, and the styles it needs, as one SVG file or as PNG."""

from __future__ import annotations

import base64
import hashlib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import resvg_py
from django.template.loader import render_to_string
from django.utils.safestring import mark_safe

from setwright.workbench.pictures.axis import AxisPicture
from setwright.workbench.pictures.bars import BarsPicture
from setwright.workbench.pictures.date_curve import DateCurvePicture
from setwright.workbench.pictures.features import FeaturesPicture
from setwright.workbench.pictures.pace import PacePicture
from setwright.workbench.pictures.ribbon import RibbonPicture
from setwright.workbench.pictures.serial_line import SerialLine
from setwright.workbench.pictures.socket import SocketPicture
from setwright.workbench.pictures.text import wrapped

MARGIN = 36.0
_HEAD, _CAPTION_SIZE, _CAPTION_LINE = 106.0, 13.5, 20.0

FACES = 'Charter, "Bitstream Charter", "Source Serif Pro", Palatino, Georgia, "Liberation Serif", serif'
PNG_FACE = "Source Serif Pro"
"""The face in PNG files; it comes with Setwright, so they look the same wherever they are made."""

PNG_ZOOM = 2
MOST_PIXELS = 40_000_000
_FONT_FILES = tuple(f"SourceSerifPro-{cut}.ttf" for cut in ("Regular", "It", "Bold", "BoldIt"))

Drawing = (
    SerialLine
    | AxisPicture
    | FeaturesPicture
    | BarsPicture
    | DateCurvePicture
    | PacePicture
    | RibbonPicture
    | SocketPicture
)
_TEMPLATES: dict[type, str] = {
    SerialLine: "pictures/serial_line.svg",
    AxisPicture: "pictures/axis.svg",
    FeaturesPicture: "pictures/features.svg",
    BarsPicture: "pictures/bars.svg",
    DateCurvePicture: "pictures/date_curve.svg",
    PacePicture: "pictures/pace.svg",
    RibbonPicture: "pictures/ribbon.svg",
    SocketPicture: "pictures/socket.svg",
}


@dataclass(frozen=True, slots=True)
class Sheet:
    """What is saved. caption : sentences under the drawing; the last says when and with what it was made."""

    heading: str
    drawing: Drawing
    caption: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Frame:
    """Where the drawing lies on the sheet."""

    x: float
    y: float
    width: float
    height: float


def svg_of(sheet: Sheet, faces: str = FACES) -> str:
    """The sheet as an SVG file that needs nothing beside it."""
    drawing = sheet.drawing
    drawn_width = drawing.layout.width if isinstance(drawing, SerialLine) else drawing.width
    frame = Frame(MARGIN, _HEAD, drawn_width, drawing.height)
    caption = [line for text in sheet.caption for line in wrapped(text, _CAPTION_SIZE, drawn_width, 3)]
    rule_y = round(_HEAD + drawing.height + 22, 1)
    context = {
        "sheet": sheet,
        "faces": faces,
        "frame": frame,
        "width": round(drawn_width + 2 * MARGIN, 1),
        "height": round(rule_y + 8 + len(caption) * _CAPTION_LINE + MARGIN - 8, 1),
        "heading": wrapped(sheet.heading, 25, drawn_width, 1)[0],
        "title": wrapped(drawing.title, 17, drawn_width, 1)[0],
        "rule_y": rule_y,
        "caption": [(rule_y + 24 + i * _CAPTION_LINE, line) for i, line in enumerate(caption)],
        "drawing": render_to_string(_TEMPLATES[type(drawing)], {"picture": drawing, "frame": frame}),
        "styles": mark_safe(styles()),
    }
    return render_to_string("pictures/sheet.svg", context)


def png_of(sheet: Sheet) -> bytes:
    """The sheet as a PNG file, two points for each of the SVG's units unless that were too many."""
    svg = svg_of(sheet, f'"{PNG_FACE}", serif')
    drawing = sheet.drawing
    width = drawing.layout.width if isinstance(drawing, SerialLine) else drawing.width
    zoom = PNG_ZOOM if width * drawing.height * PNG_ZOOM**2 <= MOST_PIXELS else 1
    return bytes(resvg_py.svg_to_bytes(svg_string=svg, zoom=zoom, font_files=_font_files(), serif_family=PNG_FACE))


@cache
def _font_files() -> list[str]:
    folder = files("font_source_serif_pro") / "files"
    return [str(folder / name) for name in _FONT_FILES]


@cache
def styles() -> str:
    """The style sheet inside every saved SVG."""
    return render_to_string("pictures/sheet.css")


@cache
def content_security_policy() -> str:
    """What a saved SVG may do when it is opened on its own: show itself with just these styles."""
    digest = base64.b64encode(hashlib.sha256(styles().encode()).digest()).decode()
    return f"default-src 'none'; style-src 'sha256-{digest}'; sandbox"
