"""Small copies of pictures, made when they are first asked for and kept in a folder of bounded size."""

from __future__ import annotations

import logging
import os
import tempfile
import threading
from io import BytesIO
from itertools import count
from pathlib import Path

from django.conf import settings
from PIL import Image

from setwright.workbench.photos import store
from setwright.workbench.photos.cleaning import in_eight_bits, on_white
from setwright.workbench.photos.models import Blob

LONG_SIDE = {"small": 320, "large": 1280}
"""Names of the small copies with the length of their longer side in pixels."""

QUALITY = 82
MOST_BYTES = 500_000_000
"""How much the folder may hold; beyond it the copies that were made longest ago go."""

_SWEEP_EVERY = 200
_log = logging.getLogger(__name__)
_at_work = threading.BoundedSemaphore(2)
_made = count()


def folder() -> Path:
    """Where small copies are kept. It may be emptied at any time: they are made again."""
    return Path(settings.DATA_DIR) / "thumbnails"


def thumbnail(blob: Blob, size: str) -> bytes:
    """The JPEG file of a small copy; the picture in its own size where that is smaller.

    size : a key of LONG_SIDE. Raises BlobMissing or BlobDamaged where the picture itself is not there.
    """
    path = folder() / size / blob.sha256[:2] / f"{blob.sha256}.jpg"
    try:
        kept = path.read_bytes()
    except FileNotFoundError:
        kept = b""
    # A copy that a power cut left half on the disk is made again.
    if kept.startswith(b"\xff\xd8") and kept.endswith(b"\xff\xd9"):
        return kept
    content = _drawn(blob, LONG_SIDE[size])
    try:
        _write(path, content)
    except OSError as problem:
        # The page can do without the kept copy: it is drawn anew next time.
        _log.warning("The small copy %s could not be kept: %s", path, problem)
    return content


def _drawn(blob: Blob, long_side: int) -> bytes:
    with _at_work, store.opened(blob) as stream, Image.open(stream, formats=("JPEG", "PNG")) as image:
        # JPEG can be read at half, quarter or eighth size at once; twice the size wanted leaves the edges clean.
        image.draft("RGB", (2 * long_side, 2 * long_side))
        small = on_white(in_eight_bits(image))
        small.thumbnail((long_side, long_side), Image.Resampling.LANCZOS)
        small.info = {}
        out = BytesIO()
        small.save(out, "JPEG", quality=QUALITY)
    return out.getvalue()


def _write(path: Path, content: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    number, unfinished = tempfile.mkstemp(prefix=".unfinished-", dir=path.parent)
    try:
        with os.fdopen(number, "wb") as stream:
            stream.write(content)
        Path(unfinished).replace(path)
    except BaseException:
        Path(unfinished).unlink(missing_ok=True)
        raise
    if next(_made) % _SWEEP_EVERY == 0:
        sweep(MOST_BYTES)


def sweep(most_bytes: int) -> None:
    """Take the oldest copies out of the folder until four fifths of what it may hold are left, if it holds more."""
    found = []
    for path in folder().glob("*/*/*.jpg"):
        try:
            state = path.stat()
        except FileNotFoundError:
            continue  # another thread sweeps too
        found.append((state.st_mtime, state.st_size, path))
    held = sum(size for _, size, _ in found)
    if held <= most_bytes:
        return
    for _, size, path in sorted(found):
        path.unlink(missing_ok=True)
        held -= size
        if held <= 0.8 * most_bytes:
            return
