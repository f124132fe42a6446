"""What is saved in one place comes back in another; what is there already stays unless told otherwise."""

from __future__ import annotations

import io
from datetime import UTC, datetime

import photos_made as made
import pytest
from pypdf import PdfWriter

from setwright.files import FileProblems, editing
from setwright.files.casebook import open_casebook
from setwright.files.literature import new_literature
from setwright.files.survivors.editing import change_row
from setwright.workbench.casebook.saving import save_casebook
from setwright.workbench.casebook.taking import look_at, take_casebook
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.literature import files as scans
from setwright.workbench.literature.models import LiteratureRecord
from setwright.workbench.photos import store
from setwright.workbench.photos.cleaning import cleaned
from setwright.workbench.photos.models import Blob
from setwright.workbench.records import history, keeping
from setwright.workbench.records.models import Revision
from setwright.workbench.services.records import family_of, set_file_of
from setwright.workbench.sets.models import SetRecord
from setwright.workbench.survivors.models import SurvivorRegister

MODELS = (FamilyRecord, SurvivorRegister, SetRecord, LiteratureRecord)


def one_page() -> bytes:
    writer = PdfWriter()
    writer.add_blank_page(72, 72)
    stream = io.BytesIO()
    writer.write(stream)
    return stream.getvalue()


@pytest.fixture
def workshop(shelf, settings, tmp_path):
    """The cast with photos, a scan and a few changes."""
    settings.DATA_DIR = tmp_path / "here"
    first, second = (store.keep(cleaned(made.with_everything(kind), f"a.{kind}")) for kind in ("JPEG", "PNG"))
    bench = SetRecord.objects.get()
    family = family_of(bench.family)
    keeping.edit(
        bench,
        lambda file: editing.add_photo(file, family, {"sha256": first.sha256, "feature": "label"}),
        by=None,
        what="Photo added",
    )
    keeping.edit(bench, lambda file: editing.add_note(file, family, {"text": "a\nb"}), by=None, what="Note added")
    register = SurvivorRegister.objects.get()
    row = next(iter(register.text.splitlines()[1].split(",")))
    keeping.edit(
        register, lambda text: change_row(text, family, row, {"x-photos": second.sha256}), by=None, what="Photo added"
    )
    sha256 = scans.store().put(one_page(), ".pdf")
    scan = {"sha256": sha256, "name": "notes.pdf", "media_type": "application/pdf", "pages": 1}
    entry = new_literature({"id": "folder-7", "title": "Notes", "kind": "service data", "attachment": [scan]})
    keeping.create("literature", entry.text, by=None, what="Added", name="folder-7.toml")


def saved(**options) -> bytes:
    stream = io.BytesIO()
    save_casebook(stream, made_at=datetime(2024, 5, 2, tzinfo=UTC), **options)
    return stream.getvalue()


def texts():
    return {(record.record_kind, record.key): record.text for model in MODELS for record in model.objects.all()}


def entries():
    rows = Revision.objects.order_by("kind", "key", "number")
    return [(row.kind, row.key, row.number, row.at, row.by_name, row.what, row.text) for row in rows]


def another(settings, tmp_path):
    """Another instance: empty records, an empty folder."""
    Blob.objects.all().delete()
    for model in reversed(MODELS):
        model.everything.all().delete()
    Revision.objects.all()._raw_delete(Revision.objects.db)
    settings.DATA_DIR = tmp_path / "there"


def test_everything_comes_back_with_its_history(workshop, settings, tmp_path):
    content = saved()
    before, told = texts(), entries()
    pictures = {blob.sha256: store.content_of(blob.sha256) for blob in Blob.objects.all()}
    another(settings, tmp_path)
    with open_casebook(content, "workshop.zip") as book:
        assert not book.missing
        taken = take_casebook(book, by=None)
    assert len(taken.new) == 4
    assert (taken.photos, taken.scans) == (2, 1)
    assert texts() == before
    now = entries()
    assert [entry for entry in now if entry[5] != "Taken in from casebook workshop.zip"] == told
    assert len(now) == len(told) + 4
    assert {blob.sha256: store.content_of(blob.sha256) for blob in Blob.objects.all()} == pictures
    bench = SetRecord.objects.get()
    assert (bench.revision, bench.observation_count) == (4, 4)
    assert set_file_of(bench).case.notes[0].text == "a\nb"
    assert history.undo(bench, by=None, number=3).revision == 5
    document = LiteratureRecord.objects.get()
    assert (document.scan_count, len(list(scans.store().paths()))) == (1, 1)


def test_taken_in_again_changes_nothing(workshop):
    content, before, told = saved(), texts(), entries()
    with open_casebook(content) as book:
        assert {coming.state for coming in look_at(book)} == {"same"}
        taken = take_casebook(book, by=None)
    assert (taken.same, taken.new, taken.replaced, taken.photos, taken.scans) == (4, (), (), 0, 0)
    assert (texts(), entries()) == (before, told)


def test_what_differs_stays_unless_it_is_named(workshop):
    content = saved(history=False)
    bench = SetRecord.objects.get()
    before = bench.text
    keeping.edit(
        bench, lambda file: editing.change_set(file, family_of(bench.family), {"name": "Mine"}), by=None, what="x"
    )
    mine = texts()
    with open_casebook(content, "/tmp/workshop.zip") as book:
        assert [coming.name for coming in look_at(book) if coming.state == "differs"] == [("set", "bench-1")]
        assert take_casebook(book, by=None).kept_mine == (("set", "bench-1"),)
        assert texts() == mine
        assert take_casebook(book, by=None, theirs=[("set", "bench-1")]).replaced == (("set", "bench-1"),)
    bench.refresh_from_db()
    assert (bench.text, bench.name) == (before, "")
    assert history.revisions_of(bench)[0].what == "Replaced by casebook workshop.zip"


def test_a_removed_record_comes_back(workshop):
    content = saved()
    keeping.remove(SetRecord.objects.get(), None)
    with open_casebook(content) as book:
        assert [coming.name for coming in look_at(book) if coming.state == "removed"] == [("set", "bench-1")]
        assert take_casebook(book, by=None).new == (("set", "bench-1"),)
    assert SetRecord.objects.get().key == "bench-1"


def test_records_that_do_not_fit_what_is_here_are_refused_whole(workshop, settings, tmp_path):
    content = saved()
    family = FamilyRecord.objects.get()
    keeping.remove(SetRecord.objects.get(), None)
    SurvivorRegister.everything.all().delete()
    text = family.text.replace('"dial-lamp"', '"dial-bulb"').replace("dial-lamp =", "dial-bulb =")
    keeping.keep(family, text, by=None, what="x")
    LiteratureRecord.everything.all().delete()
    before = texts()
    with open_casebook(content) as book, pytest.raises(FileProblems):
        take_casebook(book, by=None)
    assert texts() == before


def test_one_family_goes_with_what_it_cites(workshop):
    with open_casebook(saved(families=["heron-6"])) as book:
        assert list(book.families) == ["heron-6"]
        assert book.literature == {}
    family = FamilyRecord.objects.get()
    cited = family.text.replace("[[source]]", '[[source]]\nliterature = "folder-7"', 1)
    keeping.keep(family, cited, by=None, what="Cited")
    with open_casebook(saved(families=["heron-6"])) as book:
        assert list(book.literature) == ["folder-7"]
        assert len(book.attachments) == 1
    with open_casebook(saved(families=[])) as book:
        assert not book.families


def test_a_photo_that_is_damaged_is_named_and_left_out(workshop):
    blob = Blob.objects.first()
    path = store.files().path_of(blob.sha256, ".jpg" if blob.media_type == "image/jpeg" else ".png")
    path.write_bytes(b"x")
    with open_casebook(saved()) as book:
        assert book.missing == (f"photos/{path.name}",)
        assert len(book.photos) == 1


def test_what_is_no_picture_is_refused_and_nothing_taken_in(workshop, settings, tmp_path):
    content = saved()
    another(settings, tmp_path)
    with open_casebook(content) as book:
        # As a casebook made to deceive would do: the sum fits, the content is no picture.
        object.__setattr__(book, "photos", dict.fromkeys(["0" * 64], next(iter(book.attachments.values()))))
        with pytest.raises(FileProblems):
            take_casebook(book, by=None)
    assert texts() == {}
