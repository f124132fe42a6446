"""What draws the picture in a JPEG or PNG file, and nothing else, taken out without decoding.

JPEG: the markers of ITU-T T.81, annex B. APP0 with "JFIF" and APP14 with "Adobe" say how the colours are to be
understood, so they stay (JFIF without its thumbnail). Comments, EXIF, XMP, colour profiles, previews and whatever
stands behind the end of the picture go. PNG: the chunks of its specification that hold pixels, palette and
transparency stay; text, times, profiles, EXIF and further frames go.
"""

from __future__ import annotations

import re
import struct

PNG_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_PNG_DRAWING = frozenset({b"IHDR", b"PLTE", b"tRNS", b"IDAT", b"IEND"})

_START, _END, _SCAN = 0xD8, 0xD9, 0xDA
# Huffman and quantisation tables, number of lines, restart interval, frame headers (C8 and CC are neither).
_JPEG_DRAWING = frozenset({0xC4, 0xDB, 0xDC, 0xDD, *range(0xC0, 0xD0)} - {0xC8, 0xCC})
# In a scan, FF 00 is a data byte, FF D0 … FF D7 are restart marks, and FF may be repeated before a marker.
_MARKER_IN_SCAN = re.compile(rb"\xff+[^\x00\xd0-\xd7\xff]")
_JFIF_BYTES, _ADOBE_BYTES = 14, 12


class NotWhole(ValueError):
    """A JPEG or PNG file that does not go from its beginning to its end."""


def jpeg_drawing(content: bytes) -> bytes:
    """The JPEG file with nothing in it but what draws its (first) picture; the picture itself is not touched.

    Raises NotWhole where the markers do not follow each other or the end marker is missing.
    """
    if content[:2] != bytes([0xFF, _START]):
        raise NotWhole("it does not begin like a JPEG file")
    kept, place = [content[:2]], 2
    while True:
        marker, place = _next_marker(content, place)
        if marker == _END:
            return b"".join([*kept, bytes([0xFF, _END])])
        body, place = _segment(content, place)
        if marker == _SCAN:
            end = _end_of_scan(content, place)
            kept.append(_written(marker, body) + content[place:end])
            place = end
        elif (wanted := _wanted(marker, body)) is not None:
            kept.append(_written(marker, wanted))


def _wanted(marker: int, body: bytes) -> bytes | None:
    if marker in _JPEG_DRAWING:
        return body
    if marker == 0xE0 and body.startswith(b"JFIF\x00") and len(body) >= _JFIF_BYTES:
        # The last two bytes are the size of a thumbnail.
        return body[: _JFIF_BYTES - 2] + b"\x00\x00"
    if marker == 0xEE and body.startswith(b"Adobe") and len(body) >= _ADOBE_BYTES:
        return body[:_ADOBE_BYTES]
    return None


def _next_marker(content: bytes, place: int) -> tuple[int, int]:
    start = place
    while content[place : place + 1] == b"\xff":
        place += 1
    if place == start or place >= len(content):
        raise NotWhole("a part of it is missing")
    return content[place], place + 1


def _segment(content: bytes, place: int) -> tuple[bytes, int]:
    """The body of the segment whose length stands at `place`, and where it ends."""
    length = int.from_bytes(content[place : place + 2], "big")
    if length < 2 or place + length > len(content):
        raise NotWhole("it breaks off")
    return content[place + 2 : place + length], place + length


def _end_of_scan(content: bytes, place: int) -> int:
    found = _MARKER_IN_SCAN.search(content, place)
    if found is None:
        raise NotWhole("it breaks off")
    return found.start()


def _written(marker: int, body: bytes) -> bytes:
    return struct.pack(">BBH", 0xFF, marker, len(body) + 2) + body


def png_drawing(content: bytes) -> bytes:
    """The PNG file with nothing in it but what draws its (first) picture. Raises NotWhole where its end is missing."""
    if not content.startswith(PNG_SIGNATURE):
        raise NotWhole("it does not begin like a PNG file")
    kept, place = [PNG_SIGNATURE], len(PNG_SIGNATURE)
    while True:
        length, kind = int.from_bytes(content[place : place + 4], "big"), content[place + 4 : place + 8]
        end = place + 12 + length
        if end > len(content):
            raise NotWhole("it breaks off")
        if kind in _PNG_DRAWING:
            kept.append(content[place:end])
        if kind == b"IEND":
            return b"".join(kept)
        place = end
