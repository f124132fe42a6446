"""The literature shelf of the demonstration, with scans of two of its documents."""

from __future__ import annotations

import hashlib
import json
from functools import cache
from importlib.resources import files

from setwright.demo.drawn import SCAN, developed, pdf_of
from setwright.demo.drawn.pages import bulletin, changes_page, layout_page

_MAKER = "OSSENBY RADIO   ·   TARN MILLS"
_SCANNED_ON = (2024, 5, 12)


@cache
def shelf() -> tuple[dict[str, str], dict[str, bytes]]:
    """The literature files by id, and the scans they name by file name, which is the SHA-256 of their content."""
    texts = {}
    scans: dict[str, bytes] = {}
    for path in sorted(files("setwright.demo.literature").iterdir(), key=lambda path: path.name):
        if not path.name.endswith(".toml"):
            continue
        key, text = path.name.removesuffix(".toml"), path.read_text(encoding="utf-8")
        if key in _SCANS:
            content, suffix, table = _SCANS[key]()
            sha256 = hashlib.sha256(content).hexdigest()
            scans[f"{sha256}{suffix}"] = content
            text += f'\n[[attachment]]\nsha256 = "{sha256}"\n{table}'
        texts[key] = text
    return texts, scans


def _attachment(name: str, media_type: str, pages: int = 1) -> str:
    return f'name = {json.dumps(name)}\nmedia_type = "{media_type}"\npages = {pages}\n'


def _service_notes() -> tuple[bytes, str, str]:
    """Two pages of the first printing."""
    first = layout_page(
        _MAKER,
        "Service Notes 1148",
        "2-7",
        (
            "Chassis 1148 is an eleven-tube receiver for AM, 540 to 1620 kilocycles, and FM, 88 to",
            "108 megacycles. Power supply 117 volts, 60 cycles, 85 watts. Serials begin with S.",
            "",
            "CAUTION. Unplug the receiver before the back is taken off. The filter capacitor C40",
            "holds its charge: let it down through a resistor, never through a screwdriver.",
        ),
        seed=2,
    )
    rows = (
        ("Dial glass, FM scale", "channels", "channels, megacycles"),
        ("IF transformer cans", "two screws", "spring clip"),
        ("Dial lamp bracket", "one lamp", "two lamps"),
        ("Output tube V9", "6K6GT", "6V6GT"),
        ("Cathode resistor R28", "470 ohms", "270 ohms"),
        ("Output transformer T3", "O-2207", "O-2218"),
        ("Tuning eye V11", "6E5", "6U5"),
        ("De-emphasis C29", ".001 mfd", ".0022 mfd"),
        ("Filter lead", "red", "red, white tracer"),
    )
    second = changes_page(_MAKER, "Changes in production", "2-8", rows, seed=3)
    pages = [developed(page, SCAN) for page in (first, second)]
    title = "Service Notes 1148, pages 2-7 and 2-8 (drawn)"
    table = _attachment("service notes 1148, 2-7 and 2-8 (drawn).pdf", "application/pdf", len(pages))
    return pdf_of(pages, title, _SCANNED_ON), ".pdf", table


def _bulletin_6() -> tuple[bytes, str, str]:
    """The whole of the bulletin."""
    sheet = bulletin(
        _MAKER,
        "Sets from the Lower Quay hall",
        "Bulletin 6",
        (
            "To all dealers.",
            "",
            "A second hall has opened at Lower Quay. Its sets carry serials that begin",
            "with T and start again at 1. They are the same receiver.",
            "",
            "Metalwork is now from new tools: the shelf under the tuning capacitor is",
            "ribbed, the antenna board has four screws, and the number in the rear",
            "apron reads 1148-1. Some chassis of the last weeks at Tarn Mills have one",
            "or two of these already. This is no fault and needs no adjustment.",
            "",
            "Resistor R9 is now 2.2 megohms. Where AM stations nearby overload, the",
            "older value of 1 megohm may be put back.",
            "",
            "Tube label: form 3102-A takes the place of form 3102.",
        ),
        seed=4,
    )
    return developed(sheet, SCAN).content, ".jpg", _attachment("bulletin 6 (drawn).jpg", "image/jpeg")


_SCANS = {"ossenby-1148-notes-1": _service_notes, "ossenby-bulletin-6": _bulletin_6}
"""Documents that have a scan, and what draws it: its content, its suffix and the rest of its table."""
