"""Saving a casebook and taking one in, on the pages."""

from __future__ import annotations

import io
import zipfile

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from setwright.files import editing
from setwright.files.casebook import open_casebook
from setwright.workbench.casebook.uploads import Uploads
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.incoming import NotKept
from setwright.workbench.records import keeping
from setwright.workbench.services.records import family_of
from setwright.workbench.sets.models import SetRecord


@pytest.fixture(autouse=True)
def folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    return tmp_path


def fetched(client, address="/casebook/casebook.zip") -> bytes:
    response = client.get(address)
    assert response.status_code == 200
    assert response.headers["Content-Disposition"].startswith("attachment")
    return b"".join(response.streaming_content)


def sent(client, content: bytes, name="book.zip"):
    return client.post("/casebook/take/", {"casebook": SimpleUploadedFile(name, content)}, follow=True)


def test_saved_looked_at_and_taken_in(shelf, client, folder):
    content = fetched(client)
    with open_casebook(content) as book:
        assert list(book.sets) == ["bench-1"]
    assert "Everything in it is here already" in sent(client, content).content.decode()
    keeping.remove(SetRecord.objects.get(), None)
    family = FamilyRecord.objects.get()
    keeping.keep(family, family.text.replace('name = "', 'name = "My ', 1), by=None, what="x")
    page = sent(client, content)
    text = page.content.decode()
    assert "What this casebook holds" in text
    assert "removed here; comes back" in text
    assert 'value="family:heron-6"' in text
    address = page.redirect_chain[0][0]
    done = client.post(address).content.decode()
    for line in ("1 record: new here", "1 record: left as yours is", "1 record: here already, the same"):
        assert line in done
    assert "replaced" not in done
    assert SetRecord.objects.count() == 1
    assert FamilyRecord.objects.get().name.startswith("My ")
    again = sent(client, content).redirect_chain[0][0]
    assert "1 record: replaced" in client.post(again, {"theirs": "family:heron-6"}).content.decode()
    assert not FamilyRecord.objects.get().name.startswith("My ")
    assert len(list((folder / "casebooks-sent").iterdir())) == 2  # the one that was only looked at


def test_only_some_families(shelf, client):
    with open_casebook(fetched(client, "/casebook/casebook.zip?family=heron-6&history=0")) as book:
        assert list(book.families) == ["heron-6"]
        assert not book.history
    with open_casebook(fetched(client, "/casebook/casebook.zip?family=nothing")) as book:
        assert not book.families


def test_left_and_asked_for_again(shelf, client):
    address = sent(client, fetched(client)).redirect_chain[0][0]
    assert client.post(address, {"leave": "1"}).status_code == 302
    gone = client.get(address)
    assert gone.status_code == 404
    assert "no longer here" in gone.content.decode()
    assert client.get("/casebook/take/..%2F..%2Fx/").status_code == 404


def test_what_is_no_casebook_is_told(db, client, folder):
    page = sent(client, b"PK\x03\x04 nothing")
    assert page.status_code == 422
    assert "book.zip: the file is not whole" in page.content.decode()
    assert not list((folder / "casebooks-sent").iterdir())
    assert client.post("/casebook/take/").status_code == 422
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as packed:
        packed.writestr("../x", b"")
    assert "leads outside the folder" in sent(client, stream.getvalue()).content.decode()


def test_a_casebook_that_does_not_go_with_what_is_here_is_told(shelf, client):
    content = fetched(client)
    bench = SetRecord.objects.get()
    keeping.edit(
        bench, lambda file: editing.change_set(file, family_of(bench.family), {"serial": "H 41"}), by=None, what="x"
    )
    page = sent(client, content)
    # What was ticked by hand and is not in the casebook is nothing.
    done = client.post(page.redirect_chain[0][0], {"theirs": ["set:none", "nothing"]})
    assert "1 record: left as yours is" in done.content.decode()


def test_others_do_not_find_what_one_has_sent(tmp_path):
    uploads = Uploads(tmp_path / "sent")
    token = uploads.keep("a\nb.zip", [b"1", b"2"], "account 1")
    name, path = uploads.find(token, "account 1")
    assert (name, path.read_bytes()) == ("a b.zip", b"12")
    for wrong, owner in ((token, "account 2"), ("../../etc/passwd", "account 1"), ("x" * 30, "account 1")):
        with pytest.raises(NotKept):
            uploads.find(wrong, owner)


def test_only_the_newest_are_kept_and_broken_ones_not(tmp_path):
    uploads = Uploads(tmp_path / "sent")
    tokens = [uploads.keep("x.zip", [b"1"], "a") for _ in range(8)]
    assert len(list(tmp_path.glob("sent/*.zip"))) == 5
    uploads.find(tokens[-1], "a")

    def breaks_off():
        yield b"1"
        raise OSError("No space left on device")

    with pytest.raises(OSError, match="No space"):
        uploads.keep("x.zip", breaks_off(), "a")
    assert not list(tmp_path.glob("sent/*.part"))
