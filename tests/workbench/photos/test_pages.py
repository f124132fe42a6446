"""Pages of photos: works, bad id 404, wrong method 405, odd input told with what was entered kept."""

from __future__ import annotations

import re
from io import BytesIO
from pathlib import Path
from typing import Any

import photos_made as made
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.test import Client
from PIL import Image

from setwright.workbench.photos import incoming, store
from setwright.workbench.photos.cleaning import cleaned
from setwright.workbench.photos.marks import PinForm
from setwright.workbench.photos.naming import photos_of_set
from setwright.workbench.records import history
from setwright.workbench.services.records import family_of
from setwright.workbench.sets.loading import set_record

pytestmark = pytest.mark.django_db

PHOTOS = "/sets/bench-1/photos/"
NO_SUM = "0" * 64


def upload(name: str = "IMG_1.jpg", kind: str = "JPEG", width: int = 900, height: int = 600) -> SimpleUploadedFile:
    return SimpleUploadedFile(name, made.with_everything(kind, image=made.drawing(width, height)))


@pytest.fixture
def client(shelf: None) -> Client:
    return Client(raise_request_exception=True)


def send(client: Client, *files: SimpleUploadedFile, **fields: str) -> Any:
    return client.post(f"{PHOTOS}add/", {"photos": list(files), **fields})


@pytest.fixture
def one(client: Client) -> str:
    """The hash of a photo of the converter on the set."""
    send(client, upload(), feature="converter", caption="seen from behind")
    return named()[0].sha256


def named() -> tuple[Any, ...]:
    return photos_of_set(set_record("bench-1"))


def words(response: HttpResponse) -> str:
    return re.sub(r"\s+", " ", response.content.decode())


def change(client: Client, sha256: str, number: int = 0, **fields: object) -> Any:
    seen = fields.pop("seen", set_record("bench-1").revision)
    return client.post(f"{PHOTOS}{sha256}/pins/{number}/", {"seen": seen, **fields})


def test_a_set_without_photos_says_so(client: Client) -> None:
    assert "No photo of this set yet" in words(client.get(PHOTOS))


def test_a_photo_is_added_and_shown(client: Client) -> None:
    response = send(client, upload(), feature="converter", caption="seen from behind")
    (photo,) = named()
    assert response.status_code == 302
    assert response["Location"] == f"{PHOTOS}{photo.sha256}/"
    assert (photo.name, photo.caption, photo.feature) == ("IMG_1.jpg", "seen from behind", "converter")
    assert photo.taken == "2024-05-02T19:04:00+01:00"
    assert photo.added_by == "you"
    page = words(client.get(response["Location"]))
    assert "<h1>Converter tube</h1>" in page
    assert "seen from behind" in page
    assert f'src="{PHOTOS}{photo.sha256}/large"' in page
    assert f'src="{PHOTOS}{photo.sha256}/small"' in words(client.get(PHOTOS))


def test_several_photos_are_one_change_of_the_set(client: Client) -> None:
    before = set_record("bench-1").revision
    response = send(client, upload("a.jpg"), upload("b.heic", "HEIF", 320, 200), upload("c.png", "PNG", 200, 300))
    assert response["Location"] == PHOTOS
    assert [photo.name for photo in named()] == ["a.jpg", "b.heic", "c.png"]
    record = set_record("bench-1")
    assert record.revision == before + 1
    assert history.revisions_of(record)[0].what == "3 photos added"


def test_a_photo_that_is_there_already_is_not_added_again(client: Client, one: str) -> None:
    response = send(client, upload("again.jpg"), feature="converter")
    assert "On this set already, not added again: again.jpg." in words(response)
    assert len(named()) == 1


def test_the_same_photo_may_show_something_else_too(client: Client, one: str) -> None:
    send(client, upload("again.jpg"), feature="label")
    assert [(photo.sha256, photo.feature) for photo in named()] == [(one, "converter"), (one, "label")]


def test_what_is_no_photo_is_told_and_the_others_are_taken(client: Client) -> None:
    response = send(client, SimpleUploadedFile("notes.txt", b"just words"), upload("b.jpg"))
    page = words(response)
    assert response.status_code == 422
    assert "notes.txt is not a photo in one of the formats JPEG, PNG, WebP and HEIC." in page
    assert "1 photo added" in page
    assert [photo.name for photo in named()] == ["b.jpg"]


def test_without_any_photo_nothing_changes(client: Client) -> None:
    before = set_record("bench-1").digest
    assert send(client, SimpleUploadedFile("notes.txt", b"just words")).status_code == 422
    response = client.post(f"{PHOTOS}add/", {"feature": "label", "caption": "kept <words>"})
    assert response.status_code == 422
    assert "No photo was chosen" in words(response)
    assert 'value="kept &lt;words&gt;"' in words(response)
    assert '<option value="label" selected>' in words(response)
    assert set_record("bench-1").digest == before


def test_too_many_at_once_are_told(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("setwright.workbench.photos.views.MOST_AT_ONCE", 1)
    response = send(client, upload("a.jpg"), upload("b.jpg", width=80))
    assert "2 photos came at once; send up to 1 at a time." in words(response)
    assert named() == ()


def test_a_file_too_large_is_not_even_read() -> None:
    large = upload()
    large.size = 300_000_000
    large.file = None  # whoever reads it fails
    with pytest.raises(incoming.PhotoRefused, match=r"has 300.0 MB; a photo can have up to 40 MB"):
        incoming.cleaned_file(large)


def test_a_full_disk_is_told_and_nothing_is_entered(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    def no_room(photo: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(store, "keep", no_room)
    response = send(client, upload())
    assert response.status_code == 507
    assert "There is no room left on the disk" in words(response)
    assert named() == ()


def test_an_unknown_feature_is_told(client: Client) -> None:
    response = send(client, upload(), feature="antenna")
    assert response.status_code == 422
    assert "Choose one of the features of this family." in words(response)
    assert named() == ()


def test_odd_names_are_kept_as_words(client: Client) -> None:
    send(client, upload('dial "front" <b>.jpg'))
    assert named()[0].name == 'dial "front" <b>.jpg'
    assert "<b>.jpg" not in words(client.get(PHOTOS))


# Pins


def test_a_place_is_marked_by_percentages(client: Client, one: str) -> None:
    response = change(
        client, one, feature="label", caption="the label", left="10", top="20 %", width="30,5", height="25"
    )
    assert response.status_code == 302
    (photo,) = named()
    assert (photo.feature, photo.caption) == ("label", "the label")
    region = photo.region
    assert (region.x, region.y, region.width, region.height) == (0.1, 0.2, 0.305, 0.25)
    page = words(client.get(f"{PHOTOS}{one}/"))
    assert '<rect class="mark" x="90.0" y="120.0" width="274.5" height="150.0"/>' in page
    assert 'name="width" value="30.5"' in page


def test_a_place_is_marked_as_one_part_of_nine(client: Client, one: str) -> None:
    change(client, one, feature="converter", part="middle-right")
    region = named()[0].region
    assert (region.x, region.y, region.width, region.height) == pytest.approx((2 / 3, 1 / 3, 1 / 3, 1 / 3))


def test_percentages_count_before_the_part(client: Client, one: str) -> None:
    change(client, one, part="top-left", left="50", top="50", width="10", height="10")
    assert named()[0].region.x == 0.5


def test_a_mark_is_taken_back_by_leaving_all_empty(client: Client, one: str) -> None:
    change(client, one, feature="converter", part="top-left")
    change(client, one, feature="converter")
    assert named()[0].region is None
    assert named()[0].caption == ""


@pytest.mark.parametrize(
    ("sides", "told"),
    [
        (("10", "", "30", "25"), "All four belong together"),
        (("10", "x", "30", "25"), "not “x”"),
        (("nan", "0", "30", "25"), "not “nan”"),
        (("10", "0", "-3", "25"), "not “-3”"),
        (("80", "0", "30", "25"), "reaches beyond the picture"),
        (("10", "0", "0", "25"), "too small to be seen"),
    ],
)
def test_a_place_that_cannot_be_is_told_at_its_field(
    client: Client, one: str, sides: tuple[str, ...], told: str
) -> None:
    before = set_record("bench-1").digest
    entered = dict(zip(("left", "top", "width", "height"), sides, strict=True))
    response = change(client, one, caption="a new caption", **entered)
    assert response.status_code == 422
    assert told in words(response)
    assert 'value="a new caption"' in words(response)
    assert set_record("bench-1").digest == before


def test_two_features_are_marked_in_one_picture(client: Client, one: str) -> None:
    response = client.post(f"{PHOTOS}{one}/pins/", {"feature": "label", "part": "top-left"})
    assert response.status_code == 302
    assert [photo.feature for photo in named()] == ["converter", "label"]
    page = words(client.get(f"{PHOTOS}{one}/"))
    assert 'Remove this mark<span class="unseen">: Converter tube</span>' in page
    seen = set_record("bench-1").revision
    client.post(f"{PHOTOS}{one}/pins/0/remove/", {"seen": seen})
    assert [photo.feature for photo in named()] == ["label"]


def test_the_second_of_two_people_is_told(client: Client, one: str) -> None:
    seen = set_record("bench-1").revision
    change(client, one, caption="first", seen=seen)
    response = change(client, one, caption="second", seen=seen)
    assert response.status_code == 409
    assert named()[0].caption == "first"
    for address in ("pins/0/", "pins/0/remove/", "remove/"):
        assert client.post(f"{PHOTOS}{one}/{address}", {"caption": "unseen"}).status_code == 409
    assert named()[0].caption == "first"


def test_a_photo_is_removed_and_brought_back_by_the_history(client: Client, one: str) -> None:
    send(client, upload("other.jpg", width=300))
    client.post(f"{PHOTOS}{one}/pins/", {"feature": "label"})
    record = set_record("bench-1")
    response = client.post(f"{PHOTOS}{one}/remove/", {"seen": record.revision}, follow=True)
    assert "The photo was removed." in words(response)
    assert [photo.name for photo in named()] == ["other.jpg"]
    assert client.get(f"{PHOTOS}{one}/small").status_code == 404
    history.go_back(record, record.revision, by=None)
    assert [photo.name for photo in named()] == ["IMG_1.jpg", "other.jpg", "IMG_1.jpg"]
    assert client.get(f"{PHOTOS}{one}/small").status_code == 200


def test_removing_the_last_mark_removes_the_photo(client: Client, one: str) -> None:
    response = client.post(f"{PHOTOS}{one}/pins/0/remove/", {"seen": set_record("bench-1").revision})
    assert response["Location"] == f"{PHOTOS}?done=removed"
    assert named() == ()


# The pictures


def test_a_picture_is_served_to_be_kept(client: Client, one: str) -> None:
    response = client.get(f"{PHOTOS}{one}/whole", headers={"accept-encoding": "gzip"})
    content = b"".join(response.streaming_content)
    assert response["Content-Type"] == "image/jpeg"
    assert response["X-Content-Type-Options"] == "nosniff"
    assert set(response["Cache-Control"].split(", ")) == {"private", "max-age=31536000", "immutable"}
    assert response["Content-Disposition"].startswith("inline; filename=")
    assert response["Content-Length"] == str(len(content))
    assert "Content-Encoding" not in response
    assert "default-src 'none'" in response["Content-Security-Policy"]
    assert Image.open(BytesIO(content)).size == (900, 600)
    again = client.get(f"{PHOTOS}{one}/whole", headers={"if-none-match": response["ETag"]})
    assert (again.status_code, again.content) == (304, b"")


@pytest.mark.parametrize(("size", "width"), [("small", 320), ("large", 900)])
def test_small_copies_are_served(client: Client, one: str, size: str, width: int) -> None:
    response = client.get(f"{PHOTOS}{one}/{size}")
    assert response["Content-Type"] == "image/jpeg"
    assert Image.open(BytesIO(response.content)).width == width
    assert client.head(f"{PHOTOS}{one}/{size}").status_code == 200


def test_a_png_is_served_as_png(client: Client) -> None:
    send(client, upload("a.png", "PNG"))
    assert client.get(f"{PHOTOS}{named()[0].sha256}/whole")["Content-Type"] == "image/png"


def test_only_what_the_set_names_is_served(client: Client) -> None:
    blob = store.keep(cleaned(made.with_everything("PNG"), "a"))
    for size in ("small", "large", "whole"):
        assert client.get(f"{PHOTOS}{blob.sha256}/{size}").status_code == 404


def test_a_photo_named_but_not_kept_is_told(client: Client, one: str) -> None:
    store.Blob.objects.all().delete()
    assert "The picture itself is not kept here" in words(client.get(f"{PHOTOS}{one}/"))
    assert "The picture itself is not kept here" in words(client.get(PHOTOS))
    assert client.get(f"{PHOTOS}{one}/whole").status_code == 404


def test_a_damaged_picture_is_told(client: Client, one: str, data_folder: Path) -> None:
    (path,) = (data_folder / "photos").glob("*/*.jpg")
    path.write_bytes(b"something else")
    response = client.get(f"{PHOTOS}{one}/whole")
    assert response.status_code == 500
    assert "is damaged" in words(response)
    path.unlink()
    assert client.get(f"{PHOTOS}{one}/whole").status_code == 404


def test_survivors_photos_are_served_if_their_row_names_them(
    client: Client, texts: dict[str, str], tmp_path: Path
) -> None:
    from setwright.files.survivors.editing import change_row
    from setwright.workbench.records import keeping
    from setwright.workbench.services.records import family_of
    from setwright.workbench.survivors.models import SurvivorRegister

    blob = store.keep(cleaned(made.with_everything("PNG"), "a"))
    register = SurvivorRegister.objects.get()
    family = family_of(register.family)
    cell = f"{blob.sha256}@converter:0.1,0.1,0.2,0.2"
    keeping.edit(register, lambda text: change_row(text, family, "K-03", {"x-photos": cell}), by=None, what="Photo")
    start = "/families/heron-6/survivors/of"
    assert client.get(f"{start}/K-03/photos/{blob.sha256}/small").status_code == 200
    assert client.get(f"{start}/K-07/photos/{blob.sha256}/small").status_code == 404
    assert client.get(f"{start}/K-99/photos/{blob.sha256}/small").status_code == 404
    assert client.get(f"{start}/K-03/photos/{NO_SUM}/small").status_code == 404
    assert client.get(f"/families/wren/survivors/of/K-03/photos/{blob.sha256}/small").status_code == 404


# Two sets beside each other


@pytest.fixture
def two(client: Client, one: str, texts: dict[str, str]) -> Client:
    from setwright.workbench.services.imports import Incoming, import_contents

    text = texts["set"].replace('id = "bench-1"', 'id = "bench-2"').replace("H 2?50", "H 3?50")
    import_contents([Incoming("bench-2.toml", text.encode())])
    client.post("/sets/bench-2/photos/add/", {"photos": upload("b.jpg", width=1200), "feature": "converter"})
    (photo,) = photos_of_set(set_record("bench-2"))
    record = set_record("bench-2")
    client.post(
        f"/sets/bench-2/photos/{photo.sha256}/pins/0/",
        {"seen": record.revision, "feature": "converter", "part": "top-left"},
    )
    return client


def test_the_same_feature_on_two_sets_stands_side_by_side(two: Client, one: str) -> None:
    for page in (words(two.get(PHOTOS)), words(two.get(f"{PHOTOS}{one}/"))):
        assert f'href="{PHOTOS}compare/bench-2/?feature=converter"' in page
    page = words(two.get(f"{PHOTOS}compare/bench-2/?feature=converter"))
    assert "<h1>Converter tube</h1>" in page
    assert f'src="{PHOTOS}{one}/large"' in page
    assert '<svg class="close" viewBox="0.0 0.0 640.0 440.0"' in page
    assert page.count("6BE6 (likely)") == 2
    assert words(two.get(f"{PHOTOS}compare/bench-2/")) == page


def test_sets_without_a_common_feature_are_not_compared(two: Client) -> None:
    assert two.get(f"{PHOTOS}compare/bench-2/?feature=antenna").status_code == 404
    assert two.get(f"{PHOTOS}compare/bench-9/?feature=converter").status_code == 404
    assert "No photo of it on this set" in words(two.get(f"{PHOTOS}compare/bench-2/?feature=label"))


# What every address owes


def addresses(sha256: str) -> dict[str, list[str]]:
    one = f"{PHOTOS}{sha256}/"
    return {
        "GET": [PHOTOS, f"{PHOTOS}add/", one, *(f"{one}{size}" for size in ("small", "large", "whole"))],
        "POST": [f"{one}pins/", f"{one}pins/0/", f"{one}pins/0/remove/", f"{one}remove/"],
    }


def test_wrong_methods_are_refused(client: Client, one: str) -> None:
    for address in addresses(one)["POST"]:
        assert client.get(address).status_code == 405
    for address in addresses(one)["GET"]:
        if not address.endswith("add/"):
            assert client.post(address).status_code == 405


def test_what_is_not_there_is_404(client: Client, one: str) -> None:
    for method, listed in addresses(one).items():
        for address in listed:
            elsewhere = address.replace("bench-1", "bench-9")
            assert client.generic(method, elsewhere).status_code == 404, elsewhere
            if one in address:
                assert client.generic(method, address.replace(one, NO_SUM)).status_code == 404, address
    assert client.get(f"{PHOTOS}{one}/huge").status_code == 404
    assert client.post(f"{PHOTOS}{one}/pins/7/", {"seen": 1}).status_code == 404
    assert client.get(f"{PHOTOS}{one[:-1]}/").status_code == 404


def test_nothing_is_written_without_a_form_of_this_site(one: str) -> None:
    strict = Client(enforce_csrf_checks=True)
    for address in (*addresses(one)["POST"], f"{PHOTOS}add/"):
        assert strict.post(address).status_code == 403


@pytest.mark.parametrize("number", [1, 6])
def test_the_page_of_photos_asks_the_database_little(
    client: Client, number: int, django_assert_max_num_queries: Any
) -> None:
    send(client, *(upload(f"{i}.jpg", width=100 + i) for i in range(number)))
    client.get(PHOTOS)
    with django_assert_max_num_queries(5):
        client.get(PHOTOS)


@pytest.mark.parametrize(
    "caption", ["two\nlines", "a \x01 sign", "\u2028 odd", "x" * 500, "'''\"\"\"\\", "\ud83d\ude00"]
)
def test_odd_captions_are_kept_or_told(client: Client, one: str, caption: str) -> None:
    caption = caption.encode("utf-16", "surrogatepass").decode("utf-16")
    for response in (
        change(client, one, caption=caption),
        client.post(f"{PHOTOS}{one}/pins/", {"feature": "label", "caption": caption}),
        send(client, upload("b.jpg", width=333), caption=caption),
    ):
        assert response.status_code in {302, 422}
    assert client.get(f"{PHOTOS}{one}/").status_code == 200


def test_what_the_file_refuses_is_told_at_the_form(client: Client, one: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(PinForm, "clean_caption", lambda form: form.cleaned_data["caption"])
    before = set_record("bench-1").digest
    for response in (
        change(client, one, caption="a \x01 sign"),
        client.post(f"{PHOTOS}{one}/pins/", {"caption": "a \x01 sign"}),
        send(client, upload("b.jpg", width=333), caption="a \x01 sign"),
    ):
        assert response.status_code == 422
        assert "control characters" in words(response)
    assert set_record("bench-1").digest == before


def test_several_marks_are_numbered_and_told_below_the_picture(client: Client, one: str) -> None:
    change(client, one, feature="converter", caption="from behind", left="10", top="10", width="20", height="20")
    client.post(
        f"{PHOTOS}{one}/pins/",
        {"feature": "label", "caption": "torn", "left": "60", "top": "60", "width": "20", "height": "20"},
    )
    page = words(client.get(f"{PHOTOS}{one}/"))
    assert re.findall(r"<text[^>]*>(\d)</text>", page) == ["1", "2"]
    shown = re.search(r'<ol class="shows">(.*?)</ol>', page)
    assert shown is not None
    assert [re.sub(r"<[^>]+>", "", item) for item in re.findall(r"<li>(.*?)</li>", shown[1])] == [
        f"{label}: {caption}" for label, caption in zip(labels(), ("from behind", "torn"), strict=True)
    ]


def labels() -> list[str]:
    family = family_of(set_record("bench-1").family)
    return [family.feature(name).label for name in ("converter", "label")]
