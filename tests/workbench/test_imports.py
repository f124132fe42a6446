"""Files become records: all of them, or none."""

from __future__ import annotations

import hashlib
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image

from setwright.files import FileProblems
from setwright.workbench.families.models import FamilyRecord
from setwright.workbench.literature import files as scans
from setwright.workbench.literature.models import LiteratureRecord
from setwright.workbench.photos import store as photos
from setwright.workbench.services.imports import Incoming, import_contents, import_files
from setwright.workbench.sets.models import SetRecord
from setwright.workbench.survivors.models import SurvivorRegister

pytestmark = pytest.mark.django_db


def test_families_come_before_what_needs_them(shelf: None) -> None:
    family = FamilyRecord.objects.get()
    assert (family.key, family.version_count, family.feature_count, family.line_count) == ("heron-6", 4, 6, 2)
    assert SetRecord.objects.get().family == family
    assert SurvivorRegister.objects.get().count == 8


def test_files_of_a_folder(tmp_path: Path, texts: dict[str, str]) -> None:
    for name, key in (("a.toml", "set"), ("b.csv", "survivors"), ("c.toml", "family")):
        (tmp_path / name).write_text(texts[key], encoding="utf-8")
    done = import_files([tmp_path / "a.toml", f"heron-6={tmp_path / 'b.csv'}", tmp_path / "c.toml"])
    assert [item.kind for item in done] == ["family", "survivors", "set"]
    assert done[2].address == "/sets/bench-1/"


def test_a_second_import_replaces(shelf: None, texts: dict[str, str]) -> None:
    changed = texts["set"].replace('state = "printed"', 'state = "stamped over"')
    import_contents([Incoming("bench-1.toml", changed.encode())])
    assert SetRecord.objects.get().text == changed


def test_what_is_replaced_is_said(texts: dict[str, str]) -> None:
    item = Incoming("heron.toml", texts["family"].encode())
    assert [str(one) for one in import_contents([item])] == ["heron.toml: family heron-6 taken in"]
    assert [str(one) for one in import_contents([item])] == [
        "heron.toml: family heron-6 taken in, in place of what was there"
    ]


def test_all_files_that_cannot_be_read_are_named(tmp_path: Path) -> None:
    with pytest.raises(FileProblems) as caught:
        import_files([tmp_path / "none.toml", tmp_path, "wren="])
    problems = str(caught.value)
    for words in ("none.toml: there is no such file", "this is a folder", "write FAMILY=FILE"):
        assert words in problems


def test_nothing_is_taken_in_when_one_file_is_wrong(texts: dict[str, str]) -> None:
    wrong = texts["set"].replace('"6BE6"', '"6BE7"')
    with pytest.raises(FileProblems) as caught:
        import_contents([Incoming("heron.toml", texts["family"].encode()), Incoming("bench-1.toml", wrong.encode())])
    assert "bench-1.toml" in str(caught.value)
    assert "6BE6" in str(caught.value)
    assert not FamilyRecord.objects.exists()


def test_a_family_that_no_longer_fits_its_sets_is_refused(shelf: None, texts: dict[str, str]) -> None:
    changed = texts["family"].replace("dial-lamp", "lamps")
    with pytest.raises(FileProblems, match="already here"):
        import_contents([Incoming("heron.toml", changed.encode())])
    assert FamilyRecord.objects.get().text == texts["family"]


@pytest.mark.parametrize(
    ("items", "words"),
    [
        ([("s.csv", "survivors", None)], "no family yet"),
        ([("s.csv", "survivors", "wren")], 'no family "wren" yet'),
        ([("set.toml", "set", None)], 'family "heron-6", which is not there yet'),
    ],
)
def test_a_missing_family_is_named(texts: dict[str, str], items: list, words: str) -> None:
    incoming = [Incoming(name, texts[key].encode(), family) for name, key, family in items]
    with pytest.raises(FileProblems, match=words):
        import_contents(incoming)


def test_survivors_of_several_families_must_say_whose(texts: dict[str, str]) -> None:
    other = texts["family"].replace("heron-6", "heron-7")
    families = [Incoming("a.toml", texts["family"].encode()), Incoming("b.toml", other.encode())]
    with pytest.raises(FileProblems, match="heron-6, heron-7"):
        import_contents([*families, Incoming("s.csv", texts["survivors"].encode())])
    import_contents([*families, Incoming("s.csv", texts["survivors"].encode(), "heron-7")])
    assert SurvivorRegister.objects.get().family.key == "heron-7"
    import_contents([*families, Incoming("folder/heron-6.survivors.csv", texts["survivors"].encode())])
    assert SurvivorRegister.objects.filter(family__key="heron-6").exists()


def test_what_is_none_of_our_files(texts: dict[str, str]) -> None:
    with pytest.raises(FileProblems, match="setwright-family/1"):
        import_contents([Incoming("x.toml", b'format = "recipe/1"\n')])
    with pytest.raises(FileProblems, match=r"x\.toml"):
        import_contents([Incoming("x.toml", b"\xff\xfe\x00nothing")])
    with pytest.raises(FileProblems, match="family is missing"):
        import_contents([Incoming("x.toml", b'format = "setwright-set/1"\nid = "a"\n')])


def test_survivors_in_an_older_encoding_keep_their_letters(texts: dict[str, str]) -> None:
    text = texts["survivors"].replace("dealer's window", "Café Zoë")
    families = [Incoming("a.toml", texts["family"].encode())]
    for encoding in ("cp1252", "utf-16", "utf-8-sig"):
        import_contents([*families, Incoming("s.csv", text.encode(encoding))])
        assert "Café Zoë" in SurvivorRegister.objects.get().text


def test_a_file_too_large_for_pages_is_refused(tmp_path: Path, texts: dict[str, str]) -> None:
    large = tmp_path / "large.csv"
    with large.open("wb") as file:
        file.truncate(60_000_000)
    with pytest.raises(FileProblems, match="60 MB"):
        import_files([large])


@pytest.fixture
def own_folder(settings, tmp_path: Path) -> Path:
    settings.DATA_DIR = tmp_path / "data"
    return settings.DATA_DIR


def picture(shade: int) -> bytes:
    out = BytesIO()
    Image.new("RGB", (40, 30), (shade, 90, 90)).save(out, "JPEG")
    return out.getvalue()


def sum_of(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def with_photo(text: str, content: bytes) -> bytes:
    return f'{text}\n[[photo]]\nsha256 = "{sum_of(content)}"\n'.encode()


def document(scan: bytes, media_type: str = "image/jpeg") -> bytes:
    return (
        'format = "setwright-literature/1"\nid = "heron-notes"\ntitle = "Heron notes"\n\n[[attachment]]\n'
        f'sha256 = "{sum_of(scan)}"\nname = "scan"\nmedia_type = "{media_type}"\n'
    ).encode()


def test_pictures_come_in_beside_what_names_them(own_folder: Path, texts: dict[str, str]) -> None:
    photo, scan = picture(10), picture(20)
    done = import_contents(
        [
            Incoming("photos/a.jpg", photo),
            Incoming("literature/files/b.jpg", scan),
            Incoming("heron.toml", texts["family"].encode()),
            Incoming("bench-1.toml", with_photo(texts["set"], photo)),
            Incoming("notes.toml", document(scan)),
        ]
    )
    assert [item.kind for item in done] == ["family", "set", "literature", "photo", "scan"]
    assert photos.content_of(sum_of(photo)) == photo
    assert scans.store().read_verified(sum_of(scan), ".jpg") == scan
    assert LiteratureRecord.objects.get().scan_count == 1
    assert str(done[3]) == f"photos/a.jpg: photo {sum_of(photo)[:12]} taken in"
    assert done[2].address == "/literature/of/heron-notes/"
    assert not scans.store().has(sum_of(photo), ".jpg"), "a photo is no scan"


def test_one_picture_may_be_a_photo_and_a_scan(own_folder: Path, texts: dict[str, str]) -> None:
    both = picture(30)
    done = import_contents(
        [
            Incoming("heron.toml", texts["family"].encode()),
            Incoming("bench-1.toml", with_photo(texts["set"], both)),
            Incoming("notes.toml", document(both)),
            Incoming("both.jpg", both),
        ]
    )
    assert done[-1].kind == "photo and scan"
    assert photos.content_of(sum_of(both)) == scans.store().read_verified(sum_of(both), ".jpg") == both


@pytest.mark.parametrize(
    ("content", "named", "words"),
    [
        (picture(40), picture(50), "names this picture"),
        (b"%PDF-1.4 broken off", b"%PDF-1.4 broken off", "whose end is missing"),
        (b"no picture at all", b"no picture at all", "is not a photo"),
    ],
    ids=["named by nothing", "broken PDF", "no picture"],
)
def test_a_picture_that_cannot_be_kept_keeps_everything_out(
    own_folder: Path, texts: dict[str, str], content: bytes, named: bytes, words: str
) -> None:
    with pytest.raises(FileProblems) as caught:
        import_contents(
            [
                Incoming("heron.toml", texts["family"].encode()),
                Incoming("notes.toml", document(named)),
                Incoming("odd.jpg", content),
            ]
        )
    assert words in str(caught.value)
    assert "odd.jpg" in str(caught.value)
    assert not FamilyRecord.objects.exists()
    assert not LiteratureRecord.objects.exists()


def test_a_document_that_is_there_is_replaced(own_folder: Path) -> None:
    first = document(picture(60))
    import_contents([Incoming("notes.toml", first)])
    (done,) = import_contents([Incoming("notes.toml", first.replace(b"Heron notes", b"Heron notes, whole"))])
    assert done.replaced
    assert LiteratureRecord.objects.get().title == "Heron notes, whole"
