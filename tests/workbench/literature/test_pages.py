"""The shelf's pages: what is entered is kept, what is wrong is told with the input kept, what cites it is named."""

from __future__ import annotations

import html
import io
import re
from itertools import pairwise
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image
from pypdf import PdfWriter

from setwright.files import editing
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.literature.changes import add, entry_of
from setwright.workbench.literature.files import store
from setwright.workbench.literature.models import LiteratureRecord
from setwright.workbench.records import history, keeping
from setwright.workbench.services.imports import import_files
from setwright.workbench.services.records import family_of
from setwright.workbench.sets.models import SetRecord

pytestmark = pytest.mark.django_db

CAST = Path(__file__).parent.parent.parent / "cast"
SHELF = "/literature/"
ENTRY = "/literature/of/larkspur-service-data/"


@pytest.fixture(autouse=True)
def folder(settings, tmp_path: Path) -> None:
    settings.DATA_DIR = tmp_path


@pytest.fixture
def client() -> Client:
    return Client(raise_request_exception=True)


@pytest.fixture
def sheet() -> LiteratureRecord:
    return add({"title": "Service data", "maker": "Larkspur", "page": "", "owned": True, "where": "Binder 3"}, by=None)


def pdf(pages: int = 3, password: str = "") -> bytes:
    writer = PdfWriter()
    for _ in range(pages):
        writer.add_blank_page(200, 300)
    if password:
        writer.encrypt(password)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def picture(kind: str = "PNG") -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (30, 20), "white").save(out, kind)
    return out.getvalue()


def send(client: Client, *files: tuple[str, bytes]):
    uploads = [SimpleUploadedFile(name, content) for name, content in files]
    return client.post(f"{ENTRY}scans/", {"scan": uploads})


def words_of(response) -> str:
    text = html.unescape(re.sub(r"<[^>]+>", " ", response.content.decode()))
    return re.sub(r" (?=[,:.])", "", " ".join(text.split()))


def test_a_document_is_added_shown_changed_and_listed(client: Client) -> None:
    assert "The shelf is empty" in words_of(client.get(SHELF))
    response = client.post(f"{SHELF}add/", {"title": "Service data", "kind": "service data", "maker": "Larkspur"})
    assert (response.status_code, response["Location"]) == (302, ENTRY)
    assert "You do not own it, and nobody who does is written down" in words_of(client.get(ENTRY))
    form = {"title": "Service data", "kind": "bulletin", "maker": "Larkspur", "owned": "on", "where": "Binder 3"}
    assert client.post(f"{ENTRY}edit/", {**form, "seen": "1"}).status_code == 302
    record = LiteratureRecord.objects.get()
    assert (record.kind, record.owned, record.where_kept) == ("bulletin", True, "Binder 3")
    assert history.revisions_of(record)[0].what == "Changed: what it is, whether it is owned and where a copy is"
    assert "mine: Binder 3" in words_of(client.get(SHELF))


def test_the_same_title_twice_gets_another_id(sheet: LiteratureRecord) -> None:
    assert add({"title": "Service data", "maker": "Larkspur"}, by=None).key == "larkspur-service-data-2"


def test_what_is_wrong_is_told_and_the_input_kept(client: Client) -> None:
    response = client.post(f"{SHELF}add/", {"title": "", "kind": "book", "year": "12", "where": "the attic"})
    assert response.status_code == 422
    assert "Title: Every document needs one" in words_of(response)
    assert "Year: A year in digits, from 1800 to 2200" in words_of(response)
    assert 'value="the attic"' in response.content.decode()
    assert not LiteratureRecord.objects.exists()


def test_two_people_at_one_document(client: Client, sheet: LiteratureRecord) -> None:
    keeping.keep(sheet, sheet.text.replace("Binder 3", "Binder 4"), by=None, what="Moved")
    form = {"title": "Service data", "kind": "book", "where": "my bench", "seen": "1"}
    response = client.post(f"{ENTRY}edit/", form)
    assert response.status_code == 409
    assert "my bench" in words_of(response)
    assert LiteratureRecord.objects.get().where_kept == "Binder 4"


def test_choosing_and_sorting(client: Client, sheet: LiteratureRecord) -> None:
    add({"title": "A bulletin", "maker": "Heron", "model": "T-7", "kind": "bulletin", "year": 1950}, by=None)
    assert "A bulletin" not in words_of(client.get(SHELF, {"owned": "yes"}))
    assert "Service data" not in words_of(client.get(SHELF, {"maker": "Heron", "model": "t-"})).split("Sorted by")[-1]
    page = client.get(SHELF, {"order": "title"}).content.decode()
    assert page.index("A bulletin</a>") < page.index("Service data</a>")
    assert "No document on the shelf is all of that" in words_of(client.get(SHELF, {"maker": "Heron", "owned": "yes"}))
    assert client.get(SHELF, {"order": "x", "kind": "\0", "maker": "\0'", "page": "zzz"}).status_code == 200


def test_scans_are_attached_opened_at_their_page_and_taken_off(client: Client, sheet: LiteratureRecord) -> None:
    assert send(client, ("sheet.pdf", pdf()), ("front.png", picture())).status_code == 302
    first, second = entry_of(LiteratureRecord.objects.get()).attachments
    assert (first.media_type, first.pages, second.media_type) == ("application/pdf", 3, "image/png")
    opened = {"name": "sheet.pdf", "opens_at": "2", "seen": "3"}
    assert client.post(f"{ENTRY}scans/{first.sha256}/change/", opened).status_code == 302
    page = client.get(ENTRY).content.decode()
    assert f"scans/{first.sha256}/#page=2" in page
    assert f'<img src="{ENTRY}scans/{second.sha256}/"' in page
    assert client.post(f"{ENTRY}scans/{second.sha256}/take-off/").status_code == 302
    assert client.get(f"{ENTRY}scans/{second.sha256}/").status_code == 404
    history.undo(LiteratureRecord.objects.get(), by=None, number=5)
    assert client.get(f"{ENTRY}scans/{second.sha256}/").status_code == 200


def test_a_scan_is_served_for_what_it_is_and_nothing_else(client: Client, sheet: LiteratureRecord) -> None:
    content = pdf()
    send(client, ('a b".pdf', content), ("p.png", picture()))
    first, second = entry_of(LiteratureRecord.objects.get()).attachments
    response = client.get(f"{ENTRY}scans/{first.sha256}/", HTTP_ACCEPT_ENCODING="gzip")
    assert b"".join(response.streaming_content) == content
    assert response["Content-Type"] == "application/pdf"
    assert response["Content-Disposition"].startswith("inline")
    assert response["X-Content-Type-Options"] == "nosniff"
    assert "script-src" not in response["Content-Security-Policy"]
    assert "default-src 'none'" in response["Content-Security-Policy"]
    assert client.get(f"{ENTRY}scans/{first.sha256}/", HTTP_IF_NONE_MATCH=response["ETag"]).status_code == 304
    assert "sandbox" in client.get(f"{ENTRY}scans/{second.sha256}/")["Content-Security-Policy"]
    assert client.get(f"/literature/of/other/scans/{first.sha256}/").status_code == 404


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("page.html", b"<script>alert(1)</script>", "page.html"),
        ("cut.pdf", pdf()[:-30], "cut.pdf is a PDF whose end is missing"),
        ("hollow.pdf", b"%PDF-1.7\nnothing at all\n%%EOF", "hollow.pdf is a damaged PDF"),
        ("locked.pdf", pdf(password="x"), "locked.pdf is locked with a password"),
        ("half.png", picture()[:40], "half.png"),
    ],
)
def test_what_is_no_scan_is_refused_and_the_others_taken(
    client: Client, sheet: LiteratureRecord, name: str, content: bytes, said: str
) -> None:
    response = send(client, (name, content), ("good.pdf", pdf(1)))
    assert response.status_code == 422
    assert said in words_of(response)
    assert [scan.name for scan in entry_of(LiteratureRecord.objects.get()).attachments] == ["good.pdf"]


def test_too_large_a_scan_is_refused(client: Client, sheet: LiteratureRecord, monkeypatch) -> None:
    for module in ("scans", "scan_views"):
        monkeypatch.setattr(f"setwright.workbench.literature.{module}.LARGEST_BYTES", 100)
    assert "has 0 MB; a scan may have 0 MB" in words_of(send(client, ("a.pdf", pdf())))


def test_a_full_disk_changes_nothing(client: Client, sheet: LiteratureRecord, monkeypatch) -> None:
    def full(*values: object) -> str:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("setwright.workbench.blobs.BlobStore.put", full)
    assert "the disk is full" in words_of(send(client, ("a.pdf", pdf())))
    assert LiteratureRecord.objects.get().revision == 1


def test_a_lost_or_damaged_file_is_told(client: Client, sheet: LiteratureRecord) -> None:
    send(client, ("a.pdf", pdf()))
    scan = entry_of(LiteratureRecord.objects.get()).attachments[0]
    path = store().path_of(scan.sha256, scan.suffix)
    path.write_bytes(b"%PDF-")
    assert client.get(f"{ENTRY}scans/{scan.sha256}/").status_code == 500
    path.unlink()
    assert client.get(f"{ENTRY}scans/{scan.sha256}/").status_code == 404
    assert "is not in the folder of scans" in words_of(client.get(ENTRY))


def test_what_cites_it_is_named_with_the_place(client: Client, sheet: LiteratureRecord) -> None:
    assert "Nothing cites it yet" in words_of(client.get(ENTRY))
    import_files([CAST / "plover.toml", CAST / "plover-bench.toml"])
    family, bench = FamilyRecord.objects.get(), SetRecord.objects.get()
    source = family_of(family).sources[0].id
    keeping.edit(
        family, lambda file: editing.change_in_family(file, "source", source, {"literature": sheet.key}),
        by=None, what="Cited",
    )  # fmt: skip
    keeping.edit(
        bench, lambda file: editing.change_observation(file, family_of(bench.family), 0, {"source": sheet.key}),
        by=None, what="Cited",
    )  # fmt: skip
    page = words_of(client.get(ENTRY)).partition("Cited by")[2]
    assert "Versions" in page
    assert family_of(family).versions[0].label in page
    assert "Observations" in page


def test_a_table_is_shown_before_it_is_taken(client: Client, sheet: LiteratureRecord) -> None:
    rows = ("larkspur-service-data,Service data,Larkspur,Binder 9,", ",Bulletin 4,Heron,,1951", ",X,,,abc")
    table = "\n".join(("id,title,maker,where,year", *rows, ""))
    upload = SimpleUploadedFile("shelf.csv", table.encode())
    shown = client.post(f"{SHELF}take-in/", {"table": upload})
    said = words_of(shown)
    assert "1 new, 1 changed, 1 mistake" in said
    assert 'row 4, column "year": "abc" is no whole number' in said
    assert "where a copy is: Binder 3 Binder 9" in said
    assert LiteratureRecord.objects.count() == 1
    text = html.unescape(
        re.search(r"<textarea name=\"text\" hidden>\n(.*?)</textarea>", shown.content.decode(), re.S)[1]
    )
    assert client.post(f"{SHELF}take-in/", {"text": text, "name": "shelf.csv", "take": "1"}).status_code == 302
    assert sorted(LiteratureRecord.objects.values_list("title", "where_kept", "owned")) == [
        ("Bulletin 4", "", False),
        ("Service data", "Binder 9", True),
    ]
    again = client.post(f"{SHELF}take-in/", {"text": text})
    assert "It would change nothing" in words_of(again)


def test_the_shelf_as_a_table_comes_back_the_same(client: Client, sheet: LiteratureRecord) -> None:
    out = client.get(f"{SHELF}literature.csv").content
    assert "It would change nothing" in words_of(
        client.post(f"{SHELF}take-in/", {"table": SimpleUploadedFile("x.csv", out)})
    )


@pytest.mark.parametrize("sent", [{}, {"text": "nothing,here\n1,2\n"}, {"text": "   "}])
def test_a_table_that_is_none_is_told(client: Client, sent: dict) -> None:
    assert client.post(f"{SHELF}take-in/", sent).status_code == 422


def test_removing_and_history(client: Client, sheet: LiteratureRecord) -> None:
    assert client.get(f"{ENTRY}history/").status_code == client.get(f"{ENTRY}history/1/").status_code == 200
    assert client.get(f"{ENTRY}remove/").status_code == 200
    assert client.post(f"{ENTRY}remove/", {"seen": "1"}).status_code == 302
    assert client.get(ENTRY).status_code == 404
    assert client.get(f"{ENTRY}history/").status_code == 200
    assert client.post("/removed/literature/larkspur-service-data/bring-back/").status_code == 302
    assert client.get(ENTRY).status_code == 200


@pytest.mark.parametrize(
    "address", ["", "add/", "take-in/", "of/larkspur-service-data/", "of/larkspur-service-data/edit/"]
)
def test_pages_are_sound(client: Client, sheet: LiteratureRecord, address: str) -> None:
    page = client.get(SHELF + address).content.decode()
    assert not re.search(r"\sstyle=|<style|<script|\son[a-z]+=", page)
    levels = [int(level) for level in re.findall(r"<h([1-6])[ >]", page)]
    assert levels[0] == 1
    assert all(later <= earlier + 1 for earlier, later in pairwise(levels))
    names = re.findall(r'\bid="([^"]+)"', page)
    assert len(names) == len(set(names))


def test_no_source_yet_is_seen_and_a_source_leads_to_its_document(
    client: Client, sheet: LiteratureRecord, plover_shelf: None
) -> None:
    family = FamilyRecord.objects.get()
    version = family_of(family).versions[0]
    assert "no source yet" in words_of(client.get("/sets/tall-shelf/identity/"))
    keeping.edit(
        family, lambda file: editing.change_in_family(file, "source", version.sources[0], {"literature": sheet.key}),
        by=None, what="Cited",
    )  # fmt: skip
    for address in (family.get_absolute_url(), f"{family.get_absolute_url()}versions/{version.id}/"):
        assert f'href="{ENTRY}"' in client.get(address).content.decode()
    keeping.edit(
        family, lambda file: editing.change_in_family(file, "version", version.id, {"sources": None}),
        by=None, what="Unsourced",
    )  # fmt: skip
    assert "No source yet" in words_of(client.get(family.get_absolute_url()))
    assert "No source yet" in words_of(client.get(f"{family.get_absolute_url()}versions/{version.id}/"))


def test_a_scan_that_somebody_took_off_meanwhile_is_told(client: Client, sheet: LiteratureRecord, monkeypatch) -> None:
    send(client, ("a.png", picture()))
    (scan,) = entry_of(LiteratureRecord.objects.get(key=sheet.key)).attachments
    assert client.post(f"{ENTRY}scans/{scan.sha256}/take-off/").status_code == 302
    # As this request saw it, a moment before.
    monkeypatch.setattr("setwright.workbench.literature.scan_views.scan_of", lambda record, sha256: scan)
    response = client.post(f"{ENTRY}scans/{scan.sha256}/take-off/")
    assert response.status_code == 422
    assert "somebody took it off meanwhile" in words_of(response)
