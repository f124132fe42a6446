"""Whatever is sent to whatever address is answered: nothing that a person or a program sends may break a page."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import photos_made as made
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver

from setwright.files import editing
from setwright.workbench.literature import changes
from setwright.workbench.literature.scans import checked
from setwright.workbench.photos import store
from setwright.workbench.photos.cleaning import cleaned
from setwright.workbench.records import keeping
from setwright.workbench.services.records import family_of
from setwright.workbench.sets.models import SetRecord

pytestmark = pytest.mark.django_db

HUGE = "9" * 400
ODD = (
    "\0",
    "\ud7ff\u202e\U0001f4fb é",
    "-1",
    HUGE,
    "1e999",
    "nan",
    "<b>&amp;'\"%s{{x}}",
    "a\r\nb",
    " ",
    "٣",
    "x" * 5000,
)
NAMES = re.findall(
    r"\S+",
    """q page order sort kind feature number seen undo back state maker owned line learned at level title year pages
    note text name id serial value date on caption left top width height part next opens_at role family theirs take sure
    how what about area quantity unit point meter code scheme columns rows cells source serviced col:id col:serial""",
)


def patterns(resolver: URLResolver, before: str = "") -> Iterator[tuple[str, URLPattern]]:
    for item in resolver.url_patterns:
        route = before + str(item.pattern)
        if isinstance(item, URLResolver):
            yield from patterns(item, route)
        else:
            yield route, item


ROUTES = sorted({route for route, _ in patterns(get_resolver()) if "<" in route or route})
LEFT_OUT = re.compile(r"/(start|stop)/$|serve-static|static/")
"""Computations go on in another thread; what they answer to is tried elsewhere."""


@pytest.fixture
def known(shelf: None, settings: Any, tmp_path: Path) -> dict[str, str]:
    """Something of everything; gives what may stand in an address, by the name of the part."""
    settings.DATA_DIR = tmp_path
    settings.PATIENCE_SECONDS = 0.0
    settings.SHARED = False
    record = SetRecord.objects.get()
    family = family_of(record.family)
    photo = store.keep(cleaned(made.encoded(made.drawing(90, 60), "JPEG"), "a.jpg"))
    table = {"sha256": photo.sha256, "name": "a.jpg", "feature": family.features[0].id}
    keeping.edit(record, lambda file: editing.add_photo(file, family, table), by=None, what="Photo")
    sheet = changes.add({"title": "Sheet"}, by=None)
    changes.attach(sheet, checked(made.encoded(made.drawing(92, 60), "PNG"), "s.png"), by=None)
    return {"sha256": photo.sha256, "number": "1", "size": "small", "feature": family.features[0].id}


def addresses(route: str, known: dict[str, str], odd: str | None) -> str:
    """An address of a route, with what is known in it, or something odd in its last part."""
    parts = list(re.finditer(r"<(?:(\w+):)?(\w+)>", route))
    made_of = route
    for number, part in enumerate(parts):
        kind, name = part[1] or "str", part[2]
        value = known.get(name)
        if value is None:
            value = (
                "1"
                if kind == "int"
                else "sheet"
                if "literature" in route
                else "bench-1"
                if route.startswith("sets/")
                else "heron-6"
            )
        if odd is not None and number == len(parts) - 1:
            value = odd if kind != "int" else HUGE[:25]
        made_of = made_of.replace(part[0], value, 1)
    return "/" + made_of.replace("^", "").replace("$", "")


def answered(client: Client, method: str, address: str, **sent: Any) -> str | None:
    """None for an answer that is no defect, else what went wrong."""
    try:
        response = getattr(client, method)(address, **sent)
        if response.streaming:
            b"".join(response.streaming_content)
    except Exception as error:  # noqa: BLE001 (whatever it is, it is told below with its address)
        return f"{method} {address[:100]!r} {str(sent)[:200]}: {type(error).__name__}: {error}"[:600]
    return (
        f"{method} {address[:100]!r} {str(sent)[:200]}: {response.status_code}" if response.status_code >= 500 else None
    )


@pytest.fixture
def client() -> Client:
    return Client(raise_request_exception=True)


def test_odd_parts_of_an_address(client: Client, known: dict[str, str]) -> None:
    wrong = []
    for route in ROUTES:
        if LEFT_OUT.search(route):
            continue
        for odd in (None, "\0", "..", "x" * 300, "é\u202e", "%s", "0" * 64):
            wrong.append(answered(client, "get", addresses(route, known, odd).replace("%", "%25").replace("\0", "%00")))
    assert [one for one in wrong if one] == []


@pytest.mark.parametrize("odd", ODD, ids=range(len(ODD)))
def test_odd_questions_behind_an_address(client: Client, known: dict[str, str], odd: str) -> None:
    asked = dict.fromkeys(NAMES, odd)
    wrong = [
        answered(client, "get", addresses(route, known, None), data=asked)
        for route in ROUTES
        if not LEFT_OUT.search(route)
    ]
    assert [one for one in wrong if one] == []


@pytest.mark.parametrize("odd", ["", *ODD], ids=range(len(ODD) + 1))
def test_odd_forms(client: Client, known: dict[str, str], odd: str) -> None:
    wrong = []
    for route in ROUTES:
        if LEFT_OUT.search(route):
            continue
        address = addresses(route, known, None)
        wrong.append(answered(client, "post", address, data=dict.fromkeys(NAMES, odd)))
    assert [one for one in wrong if one] == []


FILES = (
    ("empty.csv", b""),
    ("zeros.toml", b"\0" * 3000),
    ("\u202ebad.pdf", b"%PDF-1.7\n%%EOF"),
    ("x" * 300 + ".png", b"\x89PNG\r\n\x1a\n"),
    ("a.zip", b"PK\x03\x04" + b"\xff" * 200),
    ("t.csv", b"\xff\xfeid,serial\n"),
    ("q.csv", b'id,"serial\n1,2\n'),
    ("s.xlsx", b"PK\x05\x06" + b"\0" * 18),
    ("deep.toml", b"a = " + b"[" * 5000),
    ("h.heic", b"\0\0\0\x18ftypheic" + b"\0" * 40),
)


@pytest.mark.parametrize(("name", "content"), FILES, ids=range(len(FILES)))
def test_odd_files(client: Client, known: dict[str, str], name: str, content: bytes) -> None:
    wrong = []
    for route in ROUTES:
        if LEFT_OUT.search(route):
            continue
        address = addresses(route, known, None)
        sent: dict[str, Any] = {
            field: SimpleUploadedFile(name, content)
            for field in ("photos", "photo", "scan", "table", "casebook", "file", "files", "content", "picture")
        }
        wrong.append(answered(client, "post", address, data=sent))
    assert [one for one in wrong if one] == []
